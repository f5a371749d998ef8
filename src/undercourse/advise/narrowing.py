"""Which open fact narrows an answer most, for its effort: from plausible ways the floor may turn out.

Facts that matter only together each narrow a little, so they are found too. All weights are
assumptions: usual values weigh 0.9 together, others the same among themselves.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.completions import Completions, draw_completions
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.sweeps import breakpoints, concerned_facts, is_open
from undercourse.base.columns import ChoiceColumn, Floats, NumberColumn, pick
from undercourse.facts.vocabulary import DECIDES, EFFORTS
from undercourse.judge.results import (
    EXCEEDS,
    NEEDS_FACTS,
    NOT_STATED,
    NOT_VALID,
    OPEN,
    SUITABLE,
    SUITABLE_IF,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

DRAWS = 256
# How near a floor is to suiting counts this much beside whether it suits: it tells the way where
# nearly every case still fails.
NEARNESS = 0.25
# Parts into which the range of a number is divided, beside the limits written for it.
_PARTS = 5
EFFORT = dict(zip(EFFORTS, (1.0, 1.5, 2.0, 4.0), strict=True))


@dataclass(frozen=True)
class Prospect:
    """Plausible completions of one area with the verdicts of the candidates still open."""

    drawn: Completions
    verdicts: dict[str, NDArray[np.int8]]
    failing: dict[str, Floats]


@dataclass(frozen=True)
class Gain:
    """What one fact is expected to narrow, for its effort."""

    fact: str
    gain: float
    settles: tuple[str, ...]


def deciding_facts(
    judgements: Collection[Judgement], evaluated: Evaluated, book: Rulebook, row: int
) -> list[str]:
    """Open facts that decide, of open findings, those that touch most findings first."""
    counts: dict[str, int] = {}
    for judgement in judgements:
        for finding in judgement.findings:
            if int(pick(finding.status, row)) != OPEN:
                continue
            for name in concerned_facts(finding, book):
                if book.vocabulary[name].role == DECIDES and is_open(evaluated.facts[name], row):
                    counts[name] = counts.get(name, 0) + 1
    return sorted(counts, key=lambda name: (-counts[name], name))


def undecided(evaluated: Evaluated, row: int) -> dict[str, Judgement]:
    """The candidates whose verdict is still open, by id."""
    found = evaluated.of_row(row)
    return {one.candidate.id: one for one in found if int(one.verdict[row]) == NEEDS_FACTS}


def prospect(evaluated: Evaluated, book: Rulebook, row: int) -> Prospect:
    """Plausible completions of a row, drawn and judged once."""
    found: Prospect = evaluated.facts.keep_here(f"prospect {row}", lambda: _draw(evaluated, book, row))
    return found


def _draw(evaluated: Evaluated, book: Rulebook, row: int) -> Prospect:
    waiting = undecided(evaluated, row)
    names = deciding_facts(waiting.values(), evaluated, book, row)
    drawn = draw_completions(evaluated, book, row, names, DRAWS, seed=1)
    again = drawn.judge(evaluated, book, row, list(waiting))
    judged = {one.candidate.id: one for one in (*again.own.values(), *again.judgements)}
    verdicts = {name: one.verdict for name, one in judged.items()}
    return Prospect(drawn, verdicts, {name: _failing(one) for name, one in judged.items()})


def _failing(judgement: Judgement) -> Floats:
    """How many findings fail, row by row."""
    count = np.zeros(DRAWS)
    for finding in judgement.findings:
        status = finding.status
        count += (status == EXCEEDS) | (status == NOT_STATED) | (status == NOT_VALID)
    return count


def rank_questions(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str] = ()) -> list[Gain]:
    """Open deciding facts by expected narrowing per effort, the best first; none where nothing can change."""
    if not undecided(evaluated, row):
        return []
    seen = prospect(evaluated, book, row)
    sound = seen.drawn.sound
    if not sound.any() or not seen.verdicts:
        return []
    suits = {
        name: ((code == SUITABLE) | (code == SUITABLE_IF)).astype(float)[sound]
        for name, code in seen.verdicts.items()
    }
    near = {name: 0.5 ** count[sound] for name, count in seen.failing.items()}
    any_suits = np.maximum.reduce(list(suits.values()))
    found = []
    for name in seen.drawn.names:
        if name in apart:
            continue
        groups = _groups(seen.drawn, name, book)[sound]
        by_sheet = {sheet: _explained(values, groups) for sheet, values in suits.items()}
        gain = _explained(any_suits, groups) + float(np.mean(list(by_sheet.values())))
        gain += NEARNESS * float(np.mean([_explained(values, groups) for values in near.values()]))
        settles = tuple(sheet for sheet, value in by_sheet.items() if value > 0)
        found.append(Gain(name, gain / EFFORT[book.vocabulary[name].effort], settles))
    # What the draws do not tell apart keeps the order of how many findings read it.
    found.sort(key=lambda one: -one.gain)
    return found


def _groups(drawn: Completions, name: str, book: Rulebook) -> NDArray[np.intp]:
    """The answer that each row gives to a question, as a small number."""
    column = drawn.columns[name]
    rows = drawn.columns.rows
    if isinstance(column, ChoiceColumn):
        return np.unique(np.broadcast_to(column.bits, (rows,)), return_inverse=True)[1]
    assert isinstance(column, NumberColumn)
    values = np.broadcast_to(column.low, (rows,))
    inside = [value for value in breakpoints(book, name) if values.min() < value < values.max()]
    edges = sorted({*inside, *np.linspace(values.min(), values.max(), _PARTS + 1)[1:-1].tolist()})
    return np.digitize(values, edges, right=True)


def _explained(values: Floats, groups: NDArray[np.intp]) -> float:
    """Variance that knowing the group takes away, less what chance alone would seem to take."""
    count = len(values)
    whole = float(values.var())
    if whole == 0.0:
        return 0.0
    sizes = np.bincount(groups).astype(float)
    sums = np.bincount(groups, weights=values)
    squares = np.bincount(groups, weights=values**2)
    filled = sizes > 0
    within = float((squares[filled] - sums[filled] ** 2 / sizes[filled]).sum()) / count
    kinds = int(filled.sum())
    if kinds < 2 or count <= kinds:
        return 0.0
    chance = within * (kinds - 1) / (count - kinds)
    return max(0.0, whole - within - chance)
