"""Why a verdict stands: the fewest stated facts that prove it, by single limits or by cases."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, islice
from typing import Any

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.proof_cases import cases_of, is_by_cases, reasons_by_cases
from undercourse.advise.proof_fewer import without_idle
from undercourse.advise.proof_trials import CaseTrial, Trial, fact_units, of_candidate
from undercourse.advise.proof_words import LAYERS, PLAIN, because, capital, joined, unit_document
from undercourse.advise.sentences import label
from undercourse.advise.sweeps import concerned_facts, is_open
from undercourse.base.columns import pick
from undercourse.facts.layers import DERIVED
from undercourse.judge.results import (
    EXCEEDS,
    NEEDS_FACTS,
    NEEDS_RULING,
    NOT_STATED,
    NOT_SUITABLE,
    NOT_VALID,
    OPEN,
    VERDICT_WORDS,
    Finding,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

# Sets tried by enumeration before the filter alone must do, and the largest of them.
MOST_SETS = 3000
LARGEST = 3
# Open facts named in a sentence.
MOST_NAMED = 8


def name_of(judgement: Judgement) -> str:
    """What people call a candidate."""
    candidate = judgement.candidate
    if candidate.proposed:
        return "the asker's own stack"
    return candidate.membrane.name if candidate.membrane is not None else candidate.id


def deciding(judgement: Judgement, row: int) -> list[Finding]:
    """The findings that make the verdict what it is; none for a plain yes."""
    verdict = int(judgement.verdict[row])
    codes = {NOT_SUITABLE: (EXCEEDS,), NEEDS_RULING: (NOT_STATED, NOT_VALID)}.get(verdict, (OPEN,))
    found = []
    for finding in judgement.findings:
        if int(pick(finding.status, row)) not in codes:
            continue
        if verdict == NEEDS_FACTS and bool(pick(finding.settled, row)):
            continue
        found.append(finding)
    return found


def shortest_proof(evaluated: Evaluated, book: Rulebook, row: int, candidate: str) -> dict[str, Any]:
    """The fewest stated facts that alone prove a candidate's verdict.

    Returns
    -------
    dict
        ``facts`` (each with its sentence), ``because`` (what decides on these facts alone), ``proved``
        (false where facts are still needed), ``smallest`` (true where no smaller set proves it by single
        limits among those tried: exact where every fact is indispensable, else up to three dispensable
        facts of one deciding limit; otherwise the set is only such that no fact can be left out). What
        only a proof by cases shows to be idle is left out and named in the sentence.
    """
    judgement = of_candidate(evaluated, row, candidate)
    verdict = int(judgement.verdict[row])
    document = {
        "candidate": candidate,
        "name": name_of(judgement),
        "verdict": VERDICT_WORDS[verdict],
        "proved": verdict != NEEDS_FACTS,
    }
    if verdict == NEEDS_FACTS:
        turns = _turns_on(judgement, evaluated, book, row)
        shown = ", ".join(turns[:MOST_NAMED]) + (
            f" and {len(turns) - MOST_NAMED} more" if len(turns) > MOST_NAMED else ""
        )
        sentence = f"Nothing is proved yet: {name_of(judgement)} turns on what is not known: {shown}."
        return {**document, "smallest": False, "sentence": sentence, "facts": [], "because": []}
    trial = Trial(evaluated, book, row, candidate)
    by_cases = is_by_cases(judgement, row)
    if by_cases:
        chosen, smallest = _prove_by_cases(trial, evaluated, book, row, judgement), False
        decides = reasons_by_cases(judgement, evaluated, book, row)
    else:
        proof, smallest = _prove(trial, evaluated, book, row, judgement)
        chosen = _lean(trial, proof, verdict)
        smallest = smallest and chosen == proof
        _, alone = trial.judged([chosen])
        decides = because(deciding(alone, 0), book, alone, 0) if verdict > NEEDS_FACTS else []
    needed = without_idle(trial, chosen, verdict)
    idle = [unit for unit in chosen if unit not in needed]
    chosen, smallest = needed, smallest and not idle
    count = len(chosen)
    lead = (
        "No fact is needed" if not count else f"{'One fact' if count == 1 else f'{count} facts'} alone prove"
    )
    lead = lead.replace("One fact alone prove", "One fact alone proves")
    sentence = f"{lead} that {name_of(judgement)} is {PLAIN[verdict]}."
    if not count:
        sentence = f"Whatever the floor, {name_of(judgement)} is {PLAIN[verdict]}."
    limit = "some limit fails" if verdict > NEEDS_FACTS else "every limit is kept"
    if by_cases:
        sentence += f" No limit tells by itself: in each case that is left {limit}."
    elif idle:
        called = ["the listed layers" if unit == LAYERS else label(unit, book.vocabulary) for unit in idle]
        sentence += f" {capital(joined(called))} need not be known for that: in each case {limit}."
    facts = [unit_document(trial.units[unit], unit, evaluated, book, row) for unit in chosen]
    return {**document, "smallest": smallest, "sentence": sentence, "facts": facts, "because": decides}


def _turns_on(judgement: Judgement, evaluated: Evaluated, book: Rulebook, row: int) -> list[str]:
    """The open facts behind the findings that keep a verdict open, the most concerned first."""
    counts: dict[str, int] = {}
    for finding in deciding(judgement, row):
        for name in concerned_facts(finding, book):
            if is_open(evaluated.facts[name], row):
                counts[name] = counts.get(name, 0) + 1
    return [label(name, book.vocabulary) for name in sorted(counts, key=lambda name: (-counts[name], name))]


def _prove(
    trial: Trial, evaluated: Evaluated, book: Rulebook, row: int, judgement: Judgement
) -> tuple[list[str], bool]:
    """Units that prove the verdict, in the order in which they were stated; whether none fewer do."""
    wanted = int(judgement.verdict[row])
    names = list(trial.units)
    everything = set(names)
    without = trial.verdicts([everything - {name} for name in names] + [set()])
    if without[-1] == wanted:
        return [], True
    needed = {name for name, verdict in zip(names, without, strict=False) if verdict != wanted}
    if needed and trial.verdicts([needed])[0] == wanted:
        return [name for name in names if name in needed], True
    rest = [name for name in names if name not in needed]
    pools = [_pool(finding, trial, book) & set(rest) for finding in deciding(judgement, row)]
    if wanted not in (NOT_SUITABLE, NEEDS_RULING) or not pools:
        pools = [set(rest)]
    ordered = [[name for name in names if name in pool] for pool in pools]
    few, complete = _enumerate(trial, needed, ordered, wanted)
    if few is not None:
        return [name for name in names if name in few], True
    chosen = _filter(trial, needed, rest, wanted)
    # Where all sets of up to three failed, four are the fewest there can be.
    return [name for name in names if name in chosen], complete and len(chosen - needed) == LARGEST + 1


def _prove_by_cases(
    trial: Trial, evaluated: Evaluated, book: Rulebook, row: int, judgement: Judgement
) -> list[str]:
    """Units that prove a verdict in the cases of its proof, which are all that there are."""
    proof = cases_of(judgement, evaluated, book, row)
    if proof is None:
        return list(trial.units)
    cases = [*(leaf.case for leaf in proof.leaves), *proof.voids]
    in_cases = CaseTrial(evaluated, book, row, judgement.candidate.id, cases)
    chosen, _ = _prove(in_cases, evaluated, book, row, judgement)
    divided = tuple(in_cases.divided)
    for unit in [one for one in chosen if set(trial.units[one]) & set(divided)]:
        # Known less well there are more cases, which may be closed just as well.
        rest = [one for one in chosen if one != unit]
        table, alone = trial.judged([rest])
        other = cases_of(alone, table, book, 0, divided)
        if other is not None and max(leaf.verdict for leaf in other.leaves) == int(judgement.verdict[row]):
            chosen = rest
    return chosen


def _pool(finding: Finding, trial: Trial, book: Rulebook) -> set[str]:
    """The units that a finding reads, or that imply what it reads."""
    read = set(concerned_facts(finding, book))
    if finding.demand in book.vocabulary:
        read.add(finding.demand)
    implied = set(read)
    for row in book.consistency.implies:
        if read & row.then.keys():
            implied |= row.when.keys()
        # Backwards, too: a consequence that fails rules the condition out.
        if read & row.when.keys():
            implied |= row.then.keys()
    for bound in book.consistency.at_most:
        if read & {bound.fact, bound.other}:
            implied |= {bound.fact, bound.other}
    units = {unit for unit, members in trial.units.items() if implied & set(members)}
    if LAYERS in trial.units and implied & set(DERIVED):
        units.add(LAYERS)
    return units


def _lean(trial: Trial, chosen: list[str], wanted: int) -> list[str]:
    """A proving set without what can go once others are gone.

    What is said of things that can be made so may stand in the way of a verdict that holds without it.
    """
    while chosen:
        rests = [[one for one in chosen if one != gone] for gone in chosen]
        shorter = [
            rest for rest, verdict in zip(rests, trial.verdicts(rests), strict=True) if verdict == wanted
        ]
        if not shorter:
            break
        chosen = shorter[0]
    return chosen


def _sets(pools: Sequence[Sequence[str]], size: int) -> Iterator[tuple[str, ...]]:
    seen = set()
    for pool in pools:
        for chosen in combinations(pool, size):
            if chosen not in seen:
                seen.add(chosen)
                yield chosen


def _enumerate(
    trial: Trial, needed: set[str], pools: Sequence[Sequence[str]], wanted: int
) -> tuple[set[str] | None, bool]:
    """The smallest proving set of up to three more units; whether all such sets were tried."""
    for size in range(1, LARGEST + 1):
        tried = list(islice(_sets(pools, size), MOST_SETS + 1))
        if len(tried) > MOST_SETS:
            return None, False
        verdicts = trial.verdicts([needed | set(chosen) for chosen in tried])
        for chosen, verdict in zip(tried, verdicts, strict=True):
            if verdict == wanted:
                return needed | set(chosen), True
    return None, True


def _filter(trial: Trial, needed: set[str], rest: Sequence[str], wanted: int) -> set[str]:
    """A proving set of which nothing can be left out.

    Each round judges every beginning of the remaining units at once; the last unit of the shortest
    one that proves is indispensable, and what comes after it is not needed.
    """
    kept, left = set(needed), list(rest)
    while True:
        begun = [kept | set(left[:size]) for size in range(len(left) + 1)]
        verdicts = trial.verdicts(begun)
        proving = [size for size, verdict in enumerate(verdicts) if verdict == wanted]
        if not proving or proving[0] == 0:
            return kept if proving else set(trial.units)
        kept.add(left[proving[0] - 1])
        left = left[: proving[0] - 1]


__all__ = [
    "LAYERS",
    "Trial",
    "deciding",
    "fact_units",
    "name_of",
    "of_candidate",
    "shortest_proof",
]
