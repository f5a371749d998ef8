"""The vocabulary can be asked, found out and searched, and its domains are whole.

Bounds below are the widest values printed in the sources named beside them.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

import undercourse
from undercourse.base.domains import Choices, read_spec
from undercourse.facts.vocabulary import DECIDES, MADE_SO, read_vocabulary

DATA = Path(undercourse.__file__).parent / "data"
RAW: dict[str, dict[str, Any]] = tomllib.loads((DATA / "vocabulary.toml").read_text("utf-8"))
VOCABULARY = read_vocabulary(RAW, [])


@pytest.mark.parametrize("name", RAW)
def test_fact_can_be_asked_and_found_out(name: str) -> None:
    """Each fact has a question, a way to find out, other words, and a source for its domain's ends."""
    fact = VOCABULARY[name]
    assert fact.question.endswith("?")
    assert fact.find.endswith((".", "?"))
    assert fact.words
    assert fact.domain_source
    made = (bool(fact.by_whom), bool(fact.when_checked))
    assert made == ((True, True) if fact.role == MADE_SO else (False, False))
    assert fact.role in (DECIDES, MADE_SO)


def test_no_word_stands_for_two_facts() -> None:
    """A word that a person says leads to one fact."""
    counts = Counter(word.lower() for row in RAW.values() for word in row["words"])
    assert [word for word, times in counts.items() if times > 1] == []


@pytest.mark.parametrize("name", [name for name, row in RAW.items() if "value_words" in row])
def test_value_words_lead_to_values(name: str) -> None:
    """A word for a value is not itself a value, and narrows the fact."""
    domain = VOCABULARY.domains[name]
    everything = domain.everything
    assert isinstance(everything, Choices)
    for word in RAW[name]["value_words"]:
        assert word.lower() not in {choice.lower() for choice in domain.choices}
        spec = read_spec(domain, word)
        assert isinstance(spec, Choices)
        assert 0 < spec.bits < everything.bits


# Each value was printed as found on a real floor, or is the end of a printed scale.
PRINTED = [
    ("surface_profile", "1", "ICRI 310.2R, smoothest comparison chip"),
    ("surface_profile", "10", "ICRI 310.2R, roughest comparison chip"),
    ("live_load", "250 psf", "ASCE 7-16 Table 4.3-1, heavy storage"),
    ("live_load", "30 psf", "IRC 2018 Table R301.5, sleeping rooms"),
    ("point_load", "3000 lb", "ASCE 7-16 Table 4.3-1, passenger-car garage"),
    ("joist_spacing", "48 in", "PS 2 span rating 48oc, widest bay"),
    ("panel_total_thickness", "1/4 in", "PS 2 performance category 1/4"),
    ("panel_total_thickness", "1-1/8 in", "PS 2 performance category 1-1/8"),
    ("tile_absorption", "0.5 %", "ANSI A137.1, impervious tile"),
    ("tile_absorption", "20 %", "ANSI A137.1, non-vitreous tile"),
    ("membrane_fall", "2 %", "common practice, no source: 1/4 in per foot"),
    ("slab_mver", "25 lb/1000ft2/24h", "from memory: upper end of the ASTM F1869 dish"),
]


@pytest.mark.parametrize(("name", "value", "source"), PRINTED)
def test_domain_holds_what_was_printed(name: str, value: str, source: str) -> None:
    """No printed value lies outside a domain."""
    assert source
    read_spec(VOCABULARY.domains[name], value)
