"""The verdicts of one area as tight as they can be: two ways it may turn out, or a proof over all of them.

Limit by limit, three-valued logic never says too much, but it may leave a verdict open that is not: where
every possible case fails, each by another limit. Here an open verdict is shown to be truly open by two
completions that differ, one that suits and one that does not; or it is closed by cutting the area into
cases until none is left open.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.cases import Case, all_judgements, judge_cases
from undercourse.advise.completions import Completions, draw_completions
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.narrowing import deciding_facts, prospect
from undercourse.advise.sweeps import breakpoints
from undercourse.advise.witnesses import Budget, Search
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
    ``cases`` counts the cases of a proof. ``witness`` is a completion that suits, where one was seen:
    a value for each open fact that decides.
    """

    verdict: int
    exact: bool
    cases: int = 0
    witness: Case | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True)
class Leaf:
    """A case of a proof in which a verdict is closed."""

    case: Case
    verdict: int


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
    seen = _drawn_kinds(evaluated, book, row, names, undecided, budget)
    lacking = [name for name in undecided if seen.kinds[name] and "suits" not in seen.kinds[name]]
    if lacking:
        for name, case in Search(evaluated, book, row, names).run(lacking, budget).items():
            seen.kinds[name].add("suits")
            seen.witnesses[name] = case
    for name in undecided:
        witness = seen.witnesses.get(name)
        if len(seen.kinds[name]) > 1:
            # Two completions differ, so it truly depends on what is open.
            found[name] = Exact(NEEDS_FACTS, True, witness=witness)
        else:
            found[name] = replace(prove(evaluated, book, row, name, budget)[0], witness=witness)
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


@dataclass
class _Seen:
    """What drawn completions reach, candidate by candidate."""

    kinds: dict[str, set[str]]
    witnesses: dict[str, Case] = field(default_factory=dict)

    def note(self, name: str, verdict: NDArray[np.int8], drawn: Completions) -> None:
        """Keep the kinds of verdict of one candidate, and one completion that suits."""
        verdict = np.broadcast_to(verdict, drawn.sound.shape)
        found = np.unique(verdict[drawn.sound])
        self.kinds[name] |= {kind_of(int(code)) for code in found} - {""}
        good = np.flatnonzero((verdict <= SUITABLE_IF) & drawn.sound)
        if len(good) and name not in self.witnesses:
            place = int(good[0])
            self.witnesses[name] = {fact: drawn.columns.spec(fact, place) for fact in drawn.names}


def _drawn_kinds(
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
    names: Sequence[str],
    undecided: Collection[str],
    budget: Budget,
) -> _Seen:
    """The kinds of verdict that drawn completions reach, candidate by candidate."""
    seen = _Seen({name: set() for name in undecided})
    plausible = prospect(evaluated, book, row)
    budget.spend(plausible.drawn.columns.rows, len(plausible.verdicts))
    for name, verdict in plausible.verdicts.items():
        if name in seen.kinds:
            seen.note(name, verdict, plausible.drawn)
    for seed in (2, 3):
        left = [name for name in undecided if len(seen.kinds[name]) < 2]
        if not left or not budget.spend(DRAWS, len(left)):
            break
        drawn = draw_completions(evaluated, book, row, names, DRAWS, seed, adversarial=True)
        for judgement in all_judgements(drawn.judge(evaluated, book, row, left)):
            seen.note(judgement.candidate.id, judgement.verdict, drawn)
    return seen


def prove(
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
    candidate: str,
    budget: Budget,
    start: Sequence[Case] = ({},),
) -> tuple[Exact, list[Leaf]]:
    """Cut an area into cases until a candidate's verdict is closed in each.

    Parameters
    ----------
    start : sequence of Case, optional
        The part of the area to look at; all of it when left out.

    Returns
    -------
    Exact
        Open where two cases differ in kind, and not exact where the budget or the cuts end first.
    list of Leaf
        The cases of the proof.
    """
    cases: list[Case] = list(start)
    leaves: list[Leaf] = []
    while cases:
        batch, cases = cases[:BATCH], cases[BATCH:]
        if not budget.spend(len(batch), 1):
            return Exact(NEEDS_FACTS, False, len(leaves)), leaves
        judged = judge_cases(evaluated, book, row, batch, [candidate])
        judgement = judged.judgements[candidate]
        for place, case in enumerate(batch):
            if not judged.sound[place]:
                continue
            verdict = int(judgement.verdict[place])
            if verdict != NEEDS_FACTS:
                leaves.append(Leaf(case, verdict))
                if kind_of(verdict) != kind_of(leaves[0].verdict):
                    return Exact(NEEDS_FACTS, True, len(leaves)), leaves
                continue
            parts = _cut(judgement, judged.table, book, place, case)
            if not parts:
                # What is open turns on what can be made so, which cases do not settle.
                return Exact(NEEDS_FACTS, False, len(leaves)), leaves
            cases += parts
    if not leaves:
        return Exact(NEEDS_FACTS, False), leaves
    # The gentlest verdict that holds in every case: conditions where any case has them.
    return Exact(max(leaf.verdict for leaf in leaves), True, len(leaves)), leaves


def _cut(judgement: Judgement, again: Evaluated, book: Rulebook, place: int, case: Case) -> list[Case]:
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
