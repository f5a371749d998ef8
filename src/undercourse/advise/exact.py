"""The verdicts of one area as tight as they can be: two ways it may turn out, or a proof over all of them.

Limit by limit, three-valued logic never says too much, but it may leave a verdict open that is not: where
every possible case fails, each by another limit. Here an open verdict is shown to be truly open by two
completions that differ, one that suits and one that does not; or it is closed by cutting the area into
cases until none is left open.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.completions import draw_completions, one_row, settle_table
from undercourse.advise.evaluating import Evaluated, evaluate_columns
from undercourse.advise.narrowing import deciding_facts, prospect
from undercourse.advise.sweeps import breakpoints
from undercourse.advise.witnesses import Budget, Search
from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn
from undercourse.base.domains import Choices, Span, Spec
from undercourse.judge.results import (
    NEEDS_FACTS,
    NEEDS_RULING,
    NOT_SUITABLE,
    SUITABLE,
    SUITABLE_IF,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

# Completions drawn to find two that differ, plausible ones first, then adversarial ones.
DRAWS = 192
# Cases judged at once in a proof.
BATCH = 256


@dataclass(frozen=True)
class Exact:
    """What is known of one candidate beyond limit by limit.

    ``verdict`` is proven where ``exact``; where cases of several kinds are possible it stays open.
    ``cases`` counts the cases of a proof.
    """

    verdict: int
    exact: bool
    cases: int = 0


def exact_verdicts(
    evaluated: Evaluated, book: Rulebook, row: int, budget: Budget | None = None
) -> dict[str, Exact]:
    """The verdict of every candidate of one area, proven where the budget allows.

    Parameters
    ----------
    budget : Budget, optional
        How much may be judged; counted in judgements, not in seconds, so that an answer comes out the same
        on every machine.

    Returns
    -------
    dict
        Candidate id to Exact. A verdict other than "need facts" is proven by the limits alone.
    """
    budget = budget or Budget()
    found: dict[str, Exact] = {}
    undecided: dict[str, Judgement] = {}
    for judgement in evaluated.of_row(row):
        verdict = int(judgement.verdict[row])
        if verdict == NEEDS_FACTS:
            undecided[judgement.candidate.id] = judgement
        else:
            found[judgement.candidate.id] = Exact(verdict, True)
    if not undecided:
        return found
    names = deciding_facts(undecided.values(), evaluated, book, row)
    kinds = _drawn_kinds(evaluated, book, row, names, undecided, budget)
    lacking = [name for name in undecided if kinds[name] and "suits" not in kinds[name]]
    if lacking:
        for name in Search(evaluated, book, row, names).run(lacking, budget):
            kinds[name].add("suits")
    for name in list(undecided):
        if len(kinds[name]) > 1:
            # Two completions differ, so it truly depends on what is open.
            found[name] = Exact(NEEDS_FACTS, True)
            del undecided[name]
    found.update(_prove(evaluated, book, row, names, undecided, budget))
    return found


def tighten(evaluated: Evaluated, book: Rulebook, row: int) -> dict[str, Exact]:
    """Exact verdicts of a row, written into its judgements where a proof closed what was open."""
    found = exact_verdicts(evaluated, book, row)
    for judgement in evaluated.of_row(row):
        exact = found[judgement.candidate.id]
        if exact.exact and int(judgement.verdict[row]) != exact.verdict:
            judgement.verdict[row] = exact.verdict
    return found


def kind_of(verdict: int) -> str:
    """Verdicts that people act on alike; empty for one that is still open."""
    if verdict in (SUITABLE, SUITABLE_IF):
        return "suits"
    return {NEEDS_RULING: "ruling", NOT_SUITABLE: "fails"}.get(verdict, "")


def _drawn_kinds(
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
    names: Sequence[str],
    undecided: Collection[str],
    budget: Budget,
) -> dict[str, set[str]]:
    """The kinds of verdict that drawn completions reach, candidate by candidate."""
    kinds: dict[str, set[str]] = {name: set() for name in undecided}
    plausible = prospect(evaluated, book, row)
    budget.spend(plausible.drawn.columns.rows, len(plausible.verdicts))
    for name, verdict in plausible.verdicts.items():
        if name in kinds:
            found = np.unique(verdict[plausible.drawn.sound])
            kinds[name] |= {kind_of(int(code)) for code in found} - {""}
    for seed in (2, 3):
        left = [name for name in undecided if len(kinds[name]) < 2]
        if not left or not budget.spend(DRAWS, len(left)):
            break
        drawn = draw_completions(evaluated, book, row, names, DRAWS, seed, adversarial=True)
        for judgement in _judged(drawn.judge(evaluated, book, row, left)):
            verdicts = np.unique(judgement.verdict[drawn.sound])
            kinds[judgement.candidate.id] |= {kind_of(int(code)) for code in verdicts} - {""}
    return kinds


def _judged(again: Evaluated) -> list[Judgement]:
    own = list({id(one): one for one in again.own.values()}.values())
    return [*own, *again.judgements]


def _prove(
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
    names: Sequence[str],
    undecided: Collection[str],
    budget: Budget,
) -> dict[str, Exact]:
    """Cut the area into cases until each is closed, for every candidate that is left."""
    found: dict[str, Exact] = {}
    for name in undecided:
        found[name] = _prove_one(evaluated, book, row, names, name, budget)
    return found


def _prove_one(
    evaluated: Evaluated, book: Rulebook, row: int, names: Sequence[str], candidate: str, budget: Budget
) -> Exact:
    cases: list[dict[str, Spec]] = [{}]
    seen: set[int] = set()
    closed = 0
    while cases:
        batch, cases = cases[:BATCH], cases[BATCH:]
        if not budget.spend(len(batch), 1):
            return Exact(NEEDS_FACTS, False, closed)
        table = _lay(evaluated.facts.columns, row, batch)
        sound = settle_table(table, book)
        areas = [evaluated.areas[row]] * len(batch)
        again = evaluate_columns(areas, table, {}, book, evaluated.judge.date, [candidate])
        judgement = next(one for one in _judged(again) if one.candidate.id == candidate)
        for place, case in enumerate(batch):
            if not sound[place]:
                continue
            verdict = int(judgement.verdict[place])
            if verdict != NEEDS_FACTS:
                closed += 1
                seen.add(verdict)
                if len({kind_of(code) for code in seen}) > 1:
                    return Exact(NEEDS_FACTS, True, closed)
                continue
            parts = _cut(judgement, again, book, place, case)
            if not parts:
                # What is open turns on what can be made so, which cases do not settle.
                return Exact(NEEDS_FACTS, False, closed)
            cases += parts
    # The gentlest verdict that holds in every case: conditions where any case has them.
    return Exact(max(seen), True, closed) if seen else Exact(NEEDS_FACTS, False, closed)


def _lay(facts: Columns, row: int, cases: Sequence[dict[str, Spec]]) -> Columns:
    """One row a case."""
    table = one_row(facts, row, len(cases))
    for name in dict.fromkeys(name for case in cases for name in case):
        whole = facts.spec(name, row)
        specs = [case.get(name, whole) for case in cases]
        if isinstance(whole, Span):
            low = np.array([spec.low for spec in specs if isinstance(spec, Span)])
            high = np.array([spec.high for spec in specs if isinstance(spec, Span)])
            table[name] = NumberColumn(low, high)
        else:
            bits: NDArray[np.uint64] = np.array(
                [spec.bits for spec in specs if isinstance(spec, Choices)], dtype=np.uint64
            )
            table[name] = ChoiceColumn(bits)
    return table


def _cut(
    judgement: Judgement, again: Evaluated, book: Rulebook, place: int, case: dict[str, Spec]
) -> list[dict[str, Spec]]:
    """A case cut in two or more by the deciding fact that most of its open findings read."""
    for name in deciding_facts([judgement], again, book, place):
        spec = again.facts.columns.spec(name, place)
        parts = cut_spec(spec, breakpoints(book, name) if isinstance(spec, Span) else ())
        if len(parts) > 1:
            return [{**case, name: part} for part in parts]
    return []


def cut_spec(spec: Spec, written: Sequence[float]) -> list[Spec]:
    """A set of values in parts: each choice; a range at the written limit nearest its middle, or there."""
    if isinstance(spec, Choices):
        return [Choices(1 << place) for place in range(spec.bits.bit_length()) if spec.bits >> place & 1]
    if spec.high - spec.low <= 1e-6 * max(1.0, abs(spec.high)):
        return [spec]
    middle = (spec.low + spec.high) / 2
    inside = [value for value in written if spec.low < value < spec.high]
    at = min(inside, key=lambda value: abs(value - middle)) if inside else middle
    # Comparisons allow for rounding, so a limit belongs to the lower part with a little beyond it.
    edge = at + 3e-9 * max(1e-6, abs(at))
    if edge >= spec.high:
        return [spec] if not inside else [Span(spec.low, middle), Span(middle, spec.high)]
    return [Span(spec.low, edge), Span(edge, spec.high)]
