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

from undercourse.advise.cases import Case, CaseJudge, all_judgements
from undercourse.advise.completions import Completions, draw_completions
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.narrowing import deciding_facts, prospect, undecided
from undercourse.advise.proving import Proof, Prover, kind_of
from undercourse.advise.rounds import run_together
from undercourse.advise.witnesses import Budget, Search
from undercourse.judge.results import NEEDS_FACTS, SUITABLE_IF
from undercourse.judge.rulebook import Rulebook

# Completions drawn to find two that differ, plausible ones first, then adversarial ones.
DRAWS = 192


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
    waiting = undecided(evaluated, row)
    for judgement in evaluated.of_row(row):
        verdict = int(judgement.verdict[row])
        if verdict != NEEDS_FACTS:
            found[judgement.candidate.id] = Exact(verdict, True)
    if not waiting:
        return found
    names = deciding_facts(waiting.values(), evaluated, book, row)
    seen = _drawn_kinds(evaluated, book, row, names, waiting, budget)
    lacking = [name for name in waiting if seen.kinds[name] and "suits" not in seen.kinds[name]]
    if lacking:
        for name, case in Search(evaluated, book, row, names).run(lacking, budget).items():
            seen.kinds[name].add("suits")
            seen.witnesses[name] = case
    for name in waiting:
        witness = seen.witnesses.get(name)
        if len(seen.kinds[name]) > 1:
            # Two completions differ, so it truly depends on what is open.
            found[name] = Exact(NEEDS_FACTS, True, witness=witness)
        else:
            found[name] = replace(prove(evaluated, book, row, name, budget), witness=witness)
    return found


def tighten(evaluated: Evaluated, book: Rulebook, row: int) -> dict[str, Exact]:
    """Exact verdicts of a row, written into its judgements where a proof closed what was open."""
    found = exact_verdicts(evaluated, book, row)
    for judgement in evaluated.of_row(row):
        exact = found[judgement.candidate.id]
        if exact.exact and int(judgement.verdict[row]) != exact.verdict:
            judgement.verdict[row] = exact.verdict
    return found


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
    waiting: Collection[str],
    budget: Budget,
) -> _Seen:
    """The kinds of verdict that drawn completions reach, candidate by candidate."""
    seen = _Seen({name: set() for name in waiting})
    plausible = prospect(evaluated, book, row)
    budget.spend(plausible.drawn.columns.rows, len(plausible.verdicts))
    for name, verdict in plausible.verdicts.items():
        if name in seen.kinds:
            seen.note(name, verdict, plausible.drawn)
    for seed in (2, 3):
        left = [name for name in waiting if len(seen.kinds[name]) < 2]
        if not left or not budget.spend(DRAWS, len(left)):
            break
        drawn = draw_completions(evaluated, book, row, names, DRAWS, seed, adversarial=True)
        for judgement in all_judgements(drawn.judge(evaluated, book, row, left)):
            seen.note(judgement.candidate.id, judgement.verdict, drawn)
    return seen


def prove(evaluated: Evaluated, book: Rulebook, row: int, candidate: str, budget: Budget) -> Exact:
    """Cut an area into cases until the verdict of a candidate, open so far, is closed in each.

    The result is open where cases differ in kind, and not exact where the budget or the cuts end first.
    """
    judge = CaseJudge(evaluated, book, row, [undecided(evaluated, row)[candidate]])
    proof = Proof(candidate)
    run_together(judge, budget, [Prover(book, [proof]).steps()])
    count = len(proof.leaves)
    if proof.closed:
        # The gentlest verdict that holds in every case: conditions where any case has them.
        return Exact(max(leaf.verdict for leaf in proof.leaves), True, count)
    return Exact(NEEDS_FACTS, proof.differs, count)


__all__ = ["Exact", "exact_verdicts", "kind_of", "prove", "tighten"]
