"""Facts that a proof by single limits needs and a proof by cases does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from undercourse.advise.cases import Case, CaseJudge
from undercourse.advise.evaluating import evaluate, evaluate_columns
from undercourse.advise.proof_trials import Trial, of_candidate
from undercourse.advise.proving import Proof, Prover, kind_of
from undercourse.advise.rounds import run_together
from undercourse.advise.sweeps import breakpoints, trial_values
from undercourse.advise.witnesses import Budget
from undercourse.assembly.candidates import PROPOSED
from undercourse.base.columns import Columns
from undercourse.facts.jobs import Area, Reading, settle_facts
from undercourse.judge.results import NEEDS_FACTS

# What may be spent on one verdict, counted in judgements.
BUDGET = 60_000
# What one proof may have of waiting cases and of rounds: short proofs come first, so that long ones do not
# take all that there is. Long ones seldom show that something suits.
SHORT, LONG = (96, 30), (6_000, 100)


def without_idle(trial: Trial, chosen: Sequence[str], wanted: int) -> list[str]:
    """The units of a proof without those that go unmissed: on the rest every case has the verdict.

    Of those that can go one by one the first goes, then the next that still can. A fact whose date or method
    counts stays, and so does one that the budget does not decide about.
    """
    kept = list(chosen)
    budget = Budget(BUDGET)
    needed = _surely_needed(trial, chosen, wanted)
    doubtful = [unit for unit in chosen if unit not in needed and not _is_marked(trial, unit)]
    # A product of the line is out on no floor at all only by a fault of its file; a stack may well be.
    long = wanted > NEEDS_FACTS and (len(chosen) > 1 or trial.candidate == PROPOSED)
    for length in (SHORT, LONG) if long else (SHORT,):
        before: list[str] = []
        # Without one fact the cuts fall otherwise, and another may go.
        while kept != before:
            before = kept
            kept, doubtful = _reduced(trial, kept, doubtful, wanted, budget, length)
    return kept


def _reduced(
    trial: Trial, kept: list[str], asked: list[str], wanted: int, budget: Budget, length: tuple[int, int]
) -> tuple[list[str], list[str]]:
    """What is left of a proof, and the units that were not found idle."""
    doubtful = asked
    while doubtful:
        sets = [[one for one in kept if one != unit] for unit in doubtful]
        closed = _closed(trial, sets, wanted, budget, length)
        idle = [unit for unit, fine in zip(doubtful, closed, strict=True) if fine]
        kept = [unit for unit in kept if unit not in idle[:1]]
        doubtful = idle[1:]
    return kept, [unit for unit in asked if unit in kept]


def _is_marked(trial: Trial, unit: str) -> bool:
    readings = (trial.area.readings[name] for name in trial.units[unit])
    return any(one.on is not None or one.method or one.holds_for for one in readings)


def _surely_needed(trial: Trial, chosen: Sequence[str], wanted: int) -> set[str]:
    """Units of which another value gives the rest of the proof another verdict."""
    readings, domains = _with_units(trial, chosen).readings, trial.book.domains
    names, areas = [], []
    for name in (unit for unit in chosen if unit in readings):
        written = breakpoints(trial.book, name) if domains[name].kind == "number" else ()
        for value in trial_values(domains[name], domains[name].everything, written):
            names.append(name)
            areas.append(replace(trial.area, readings={**readings, name: Reading(value, "trial")}))
    if not areas:
        return set()
    table = evaluate(areas, trial.book, trial.date, only={trial.candidate})
    codes = of_candidate(table, 0, trial.candidate).verdict
    # Of cases of one kind the gentlest verdict holds: a plain yes beside one with conditions tells nothing.
    tells = [
        code != NEEDS_FACTS and (code > wanted or kind_of(code) != kind_of(wanted)) for code in codes.tolist()
    ]
    return {name for row, name in enumerate(names) if row not in table.problems and tells[row]}


def _closed(
    trial: Trial, sets: Sequence[Sequence[str]], wanted: int, budget: Budget, length: tuple[int, int]
) -> list[bool]:
    """Whether every case on each set of units, all else unknown, has the verdict."""
    areas = [_with_units(trial, chosen) for chosen in sets]
    table, problems = settle_facts(areas, trial.book.vocabulary, trial.book.consistency)
    unknown = Columns(trial.book.vocabulary.domains, 1)
    start = evaluate_columns([trial.area], unknown, {}, trial.book, trial.date, {trial.candidate})
    judgement = of_candidate(start, 0, trial.candidate)
    if problems or int(judgement.verdict[0]) != NEEDS_FACTS:
        return [False] * len(sets)
    cases: list[Case] = [
        {
            name: spec
            for name in table
            if (spec := table.spec(name, row)) != trial.book.domains[name].everything
        }
        for row in range(len(sets))
    ]
    most, rounds = length
    proofs = [Proof(trial.candidate, [case], most=most) for case in cases]
    judge = CaseJudge(start, trial.book, 0, [judgement])
    run_together(judge, budget, [Prover(trial.book, proofs, rounds).steps()])
    return [proof.closed and max(leaf.verdict for leaf in proof.leaves) == wanted for proof in proofs]


def _with_units(trial: Trial, chosen: Sequence[str]) -> Area:
    names = [name for unit in chosen for name in trial.units[unit]]
    return replace(trial.area, readings={name: trial.area.readings[name] for name in names})
