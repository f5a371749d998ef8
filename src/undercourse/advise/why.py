"""Why a verdict stands: the fewest stated facts that prove it, and what tells two products apart."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, islice
from typing import Any

from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.findings import finding_document, row_spec, show_text
from undercourse.advise.sentences import label, spec_text
from undercourse.advise.sweeps import concerned_facts, is_open
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Spec
from undercourse.facts.layers import DERIVED
from undercourse.judge.ranking import rank
from undercourse.judge.results import (
    EXCEEDS,
    NEEDS_FACTS,
    NEEDS_RULING,
    NOT_STATED,
    NOT_SUITABLE,
    NOT_VALID,
    OPEN,
    SUITABLE,
    SUITABLE_IF,
    VERDICT_WORDS,
    Finding,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

# The listed layers are one statement: they stand or fall together.
LAYERS = "layers"
# Sets tried by enumeration before the filter alone must do, and the largest of them.
MOST_SETS = 3000
LARGEST = 3
# Open facts named in a sentence.
MOST_NAMED = 8
_SINGULAR = ("ss", "is", "species")
_PLAIN = {
    SUITABLE: "suitable",
    SUITABLE_IF: "suitable, provided the listed things are made so",
    NEEDS_FACTS: "not settled: facts are needed",
    NEEDS_RULING: "not stated by the maker",
    NOT_SUITABLE: "not suitable",
}


def fact_units(names: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Stated facts as they can be left out one by one; the slots of the stack go together."""
    units: dict[str, tuple[str, ...]] = {}
    for name in names:
        key = LAYERS if name.startswith("layer_") and name[6:7].isdigit() else name
        units[key] = (*units.get(key, ()), name)
    return units


class Trial:
    """One area judged again on some of its stated facts, everything else unknown."""

    def __init__(self, evaluated: Evaluated, book: Rulebook, row: int, candidate: str) -> None:
        self.area = evaluated.areas[row]
        self.book = book
        self.date = evaluated.judge.date
        self.candidate = candidate
        self.units = fact_units(self.area.readings)

    def judged(self, sets: Sequence[Collection[str]]) -> tuple[Evaluated, Judgement]:
        """The candidate judged on each set of units."""
        areas = []
        for chosen in sets:
            names = [name for unit in self.units if unit in chosen for name in self.units[unit]]
            areas.append(replace(self.area, readings={name: self.area.readings[name] for name in names}))
        found = evaluate(areas, self.book, self.date, only={self.candidate})
        return found, of_candidate(found, 0, self.candidate)

    def verdicts(self, sets: Sequence[Collection[str]]) -> list[int]:
        """Its verdict on each set of units."""
        if not sets:
            return []
        _, judgement = self.judged(sets)
        return [int(judgement.verdict[place]) for place in range(len(sets))]


def of_candidate(evaluated: Evaluated, row: int, candidate: str) -> Judgement:
    """The judgement of a candidate by its id; KeyError where it is not judged here."""
    for judgement in evaluated.of_row(row):
        if judgement.candidate.id == candidate:
            return judgement
    raise KeyError(candidate)


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
        (false where facts are still needed), ``smallest`` (true where no smaller set exists among those
        tried: exact where every fact is indispensable, else up to three dispensable facts of one
        deciding limit; otherwise the set is only such that no fact can be left out).
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
    chosen, smallest = _prove(trial, evaluated, book, row, judgement)
    _, alone = trial.judged([chosen])
    because = _because(deciding(alone, 0), book, alone, 0) if verdict > NEEDS_FACTS else []
    count = len(chosen)
    lead = (
        "No fact is needed" if not count else f"{'One fact' if count == 1 else f'{count} facts'} alone prove"
    )
    lead = lead.replace("One fact alone prove", "One fact alone proves")
    sentence = f"{lead} that {name_of(judgement)} is {_PLAIN[verdict]}."
    if not count:
        sentence = f"Whatever the floor, {name_of(judgement)} is {_PLAIN[verdict]}."
    facts = [unit_document(trial.units[unit], unit, evaluated, book, row) for unit in chosen]
    return {**document, "smallest": smallest, "sentence": sentence, "facts": facts, "because": because}


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
    if wanted not in (NOT_SUITABLE, NEEDS_RULING):
        pools = [set(rest)]
    ordered = [[name for name in names if name in pool] for pool in pools]
    few, complete = _enumerate(trial, needed, ordered, wanted)
    if few is not None:
        return [name for name in names if name in few], True
    chosen = _filter(trial, needed, rest, wanted)
    # Where all sets of up to three failed, four are the fewest there can be.
    return [name for name in names if name in chosen], complete and len(chosen - needed) == LARGEST + 1


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


def _because(
    findings: Sequence[Finding], book: Rulebook, judgement: Judgement, row: int
) -> list[dict[str, str]]:
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
            return _capital(f"{called.removesuffix(' wanted')} is {'' if yes else 'not '}wanted.")
        if called.startswith(("a ", "an ")):
            bare = called.removeprefix("a ").removeprefix("an ")
            return f"There is {called}." if yes else f"There is no {bare}."
        return _capital(f"{called}: {'yes' if yes else 'no'}.")
    if fact.domain.kind == "flag":
        return _capital(f"{fact.label}: {show_text(fact.domain, spec)}.")
    text = spec_text(fact.domain, spec) if isinstance(spec, Choices) else show_text(fact.domain, spec)
    text = "unknown" if spec == fact.domain.everything else text
    plural = fact.label.endswith("s") and not fact.label.endswith(_SINGULAR) and " of " not in fact.label
    return _capital(f"{fact.label} {'are' if plural else 'is'} {text}.")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


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
        sentence = _capital(f"{names[0]} and {names[1]} get the same verdict here: {_PLAIN[codes[0]]}.")
        if codes[0] in (SUITABLE, SUITABLE_IF):
            sentence += f" {rank(evaluated.judgements, book.line.ranking, row).sentence}"
    else:
        worse = first if codes[0] > codes[1] else second
        better = 1 if codes[0] > codes[1] else 0
        facts = shortest_proof(evaluated, book, row, worse)["facts"]
        out, stays = names[1 - better], names[better]
        sentence = _capital(f"{out} is {_PLAIN[max(codes)]}; {stays} is {_PLAIN[min(codes)]}.")
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
        for document in _because([finding], book, judgement, row):
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
