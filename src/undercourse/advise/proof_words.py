"""Proofs in words: stated facts as sentences, the limits that decide with their numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.findings import finding_document, show_text
from undercourse.advise.sentences import label, spec_text
from undercourse.base.domains import Choices, Spec
from undercourse.judge.results import (
    NEEDS_FACTS,
    NEEDS_RULING,
    NOT_SUITABLE,
    SUITABLE,
    SUITABLE_IF,
    Finding,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

# The listed layers are one statement: they stand or fall together.
LAYERS = "layers"
_SINGULAR = ("ss", "is", "species")
PLAIN = {
    SUITABLE: "suitable",
    SUITABLE_IF: "suitable, provided the listed things are made so",
    NEEDS_FACTS: "not settled: facts are needed",
    NEEDS_RULING: "not stated by the maker",
    NOT_SUITABLE: "not suitable",
}


def because(
    findings: Sequence[Finding], book: Rulebook, judgement: Judgement, row: int
) -> list[dict[str, str]]:
    """What decides, each reason once with its numbers and source."""
    found: dict[str, dict[str, str]] = {}
    for finding in findings:
        document = finding_document(finding, book, judgement, row)
        if document is None:
            continue
        needs, allows = document["value_text"], document["capacity_text"]
        numbers = f"site: {needs}; allowed: {allows}" if needs and allows else ""
        text = finding.reason or finding.label
        found.setdefault(
            text, {"limit": finding.label, "reason": text, "numbers": numbers, "source": document["source"]}
        )
    return list(found.values())


def fact_sentence(name: str, spec: Spec, book: Rulebook) -> str:
    """A stated fact as one sentence."""
    fact = book.vocabulary[name]
    if fact.domain.kind == "flag" and isinstance(spec, Choices) and spec.bits in (1, 2):
        yes = spec.bits == 2
        called = label(name, book.vocabulary)
        if called.endswith(" wanted"):
            return capital(f"{called.removesuffix(' wanted')} is {'' if yes else 'not '}wanted.")
        if called.startswith(("a ", "an ")):
            bare = called.removeprefix("a ").removeprefix("an ")
            return f"There is {called}." if yes else f"There is no {bare}."
        return capital(f"{called}: {'yes' if yes else 'no'}.")
    if fact.domain.kind == "flag":
        return capital(f"{fact.label}: {show_text(fact.domain, spec)}.")
    text = spec_text(fact.domain, spec) if isinstance(spec, Choices) else show_text(fact.domain, spec)
    text = "unknown" if spec == fact.domain.everything else text
    plural = fact.label.endswith("s") and not fact.label.endswith(_SINGULAR) and " of " not in fact.label
    return capital(f"{fact.label} {'are' if plural else 'is'} {text}.")


def capital(text: str) -> str:
    """A sentence with its first letter large."""
    return text[:1].upper() + text[1:]


def joined(names: Sequence[str]) -> str:
    """Names with commas, the last with an and."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def unit_document(
    members: Sequence[str], unit: str, evaluated: Evaluated, book: Rulebook, row: int
) -> dict[str, Any]:
    """A stated fact, or the stack of layers as one, with its sentence and where it was said."""
    readings = evaluated.areas[row].readings
    domains = book.vocabulary.domains
    if unit != LAYERS:
        spec = readings[unit].spec
        value, called = show_text(domains[unit], spec), book.vocabulary[unit].label
        sentence = fact_sentence(unit, spec, book)
    else:
        kinds = [name for name in sorted(members) if name.endswith("_kind")]
        texts = [show_text(domains[name], readings[name].spec) for name in kinds]
        value = ", ".join(text for text in texts if text != "nothing") or "nothing"
        called, sentence = "listed layers", f"Listed layers, top down: {value}."
    where = str(readings[members[0]].where)
    return {"fact": unit, "label": called, "value": value, "sentence": sentence, "where": where}
