"""What tells two products apart in an area."""

from __future__ import annotations

from typing import Any

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.findings import row_spec
from undercourse.advise.proof_words import PLAIN, because, capital, fact_sentence
from undercourse.advise.sweeps import concerned_facts
from undercourse.advise.why import deciding, name_of, of_candidate, shortest_proof
from undercourse.judge.ranking import rank
from undercourse.judge.results import (
    NEEDS_FACTS,
    NEEDS_RULING,
    NOT_SUITABLE,
    SUITABLE,
    SUITABLE_IF,
    VERDICT_WORDS,
    Finding,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook


def telling_apart(evaluated: Evaluated, book: Rulebook, row: int, first: str, second: str) -> dict[str, Any]:
    """The facts of an area by which two candidates differ in verdict.

    ``facts`` is the shortest proof of the worse verdict: on these alone the one is out and the other
    is not. ``against_first`` and ``against_second`` list what decides about the one and does not
    decide about the other, each with the facts that it reads here.
    """
    one, two = (of_candidate(evaluated, row, name) for name in (first, second))
    codes = [int(judgement.verdict[row]) for judgement in (one, two)]
    names = [name_of(one), name_of(two)]
    if codes[0] == codes[1]:
        facts: list[dict[str, Any]] = []
        sentence = capital(f"{names[0]} and {names[1]} get the same verdict here: {PLAIN[codes[0]]}.")
        if codes[0] in (SUITABLE, SUITABLE_IF):
            sentence += f" {rank(evaluated.judgements, book.line.ranking, row).sentence}"
    else:
        worse = first if codes[0] > codes[1] else second
        better = 1 if codes[0] > codes[1] else 0
        facts = shortest_proof(evaluated, book, row, worse)["facts"]
        out, stays = names[1 - better], names[better]
        sentence = capital(f"{out} is {PLAIN[max(codes)]}; {stays} is {PLAIN[min(codes)]}.")
        if max(codes) == NEEDS_FACTS:
            sentence = f"{sentence} {shortest_proof(evaluated, book, row, worse)['sentence']}"
    return {
        "first": first,
        "second": second,
        "first_verdict": VERDICT_WORDS[codes[0]],
        "second_verdict": VERDICT_WORDS[codes[1]],
        "sentence": sentence,
        "facts": facts,
        "against_first": _against(one, two, evaluated, book, row),
        "against_second": _against(two, one, evaluated, book, row),
    }


def _against(
    judgement: Judgement, other: Judgement, evaluated: Evaluated, book: Rulebook, row: int
) -> list[dict[str, Any]]:
    """What decides about a candidate that does not decide about the other in the same way."""
    if int(judgement.verdict[row]) not in (NOT_SUITABLE, NEEDS_RULING):
        return []
    shared = {finding.reason or finding.label for finding in deciding(other, row)}
    found: list[dict[str, Any]] = []
    for finding in deciding(judgement, row):
        if (finding.reason or finding.label) in shared:
            continue
        for document in because([finding], book, judgement, row):
            if document["reason"] not in {item["reason"] for item in found}:
                found.append({**document, "facts": _facts_here(finding, evaluated, book, row)})
    return found


def _facts_here(finding: Finding, evaluated: Evaluated, book: Rulebook, row: int) -> list[str]:
    """The facts that a finding reads, as sentences; what is unknown says so."""
    found = []
    names = dict.fromkeys([finding.demand, *concerned_facts(finding, book)])
    for name in names:
        if name not in book.vocabulary or name == "jurisdiction":
            continue
        spec = row_spec(evaluated.facts[name], row)
        found.append(fact_sentence(name, spec, book))
    return found
