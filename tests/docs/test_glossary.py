"""One name per thing: what the answer calls a thing is in the glossary."""

from __future__ import annotations

import json
import re
from typing import Any

from typer.testing import CliRunner

from undercourse.cli.app import app
from undercourse.judge.results import SITE_WORDS, STATUS_WORDS, VERDICT_WORDS

from .reading import ROOT

TEXT = (ROOT / "GLOSSARY.md").read_text("utf-8")
WRITTEN = set(re.findall(r"`([a-z_0-9]+)`", TEXT))
TERMS = re.findall(r"^- \*\*([^*]+)\*\*", TEXT, re.M)
# Names for one of a list, and the id of the asker's own stack.
BESIDE = {"candidate", "finding", "proposed"}


def keys(schema: Any) -> set[str]:
    """Every property name of a schema."""
    found: set[str] = set()
    if isinstance(schema, dict):
        found |= set(schema["properties"]) if isinstance(schema.get("properties"), dict) else set()
        for part in schema.values():
            found |= keys(part)
    elif isinstance(schema, list):
        for part in schema:
            found |= keys(part)
    return found


def answer_keys() -> set[str]:
    """The keys of an answer, by its schema."""
    return keys(json.loads(CliRunner().invoke(app, ["schema", "answer"]).stdout))


def test_every_key_of_an_answer_is_in_the_glossary() -> None:
    """Who reads the JSON finds each key explained."""
    found = answer_keys()
    assert len(found) > 50
    assert sorted(found - WRITTEN) == []


def test_glossary_names_no_key_that_an_answer_does_not_have() -> None:
    """A key that was renamed does not linger."""
    assert sorted(WRITTEN - answer_keys() - BESIDE) == []


def test_words_of_outcomes_are_in_the_glossary() -> None:
    """Verdicts, statuses and site words are listed as they are."""
    for word in (*VERDICT_WORDS, *STATUS_WORDS, *SITE_WORDS):
        assert re.search(rf"\b{word}\b", TEXT), word


def test_terms_stand_once_and_the_main_ones_are_there() -> None:
    """One name, one entry."""
    assert len(TERMS) == len(set(TERMS))
    wanted = {"demand", "capacity", "utilisation", "governs", "basis", "provided", "depends on", "working"}
    wanted |= {"fix", "area", "candidate", "assembly", "evidence", "respect", "ruling", "not stated"}
    assert wanted | {"site stop", "made so", "reading", "slot"} <= set(TERMS)
