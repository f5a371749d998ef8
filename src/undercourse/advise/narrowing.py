"""Which open fact narrows an answer most, for its effort: from plausible ways the floor may turn out.

A verdict falls by whatever first fails, and of a floor of which little is known nearly every plausible
case fails somewhere. So narrowing is measured at what the verdict is made of: how much less uncertain each
demand's failing becomes once the fact is known. Facts that matter only together each narrow a little, so
they are found too. All weights are assumptions: usual values weigh 0.9 together, others the same.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.completions import Completions, draw_completions
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.sweeps import breakpoints, concerned_facts, is_open
from undercourse.base.columns import Bools, ChoiceColumn, Floats, NumberColumn, pick
from undercourse.facts.vocabulary import DECIDES, EFFORTS
from undercourse.judge.results import (
    EXCEEDS,
    NEEDS_FACTS,
    NOT_STATED,
    NOT_VALID,
    OPEN,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

DRAWS = 256
# People tell what they worry about: facts of the groups that they spoke of weigh this much more. An
# assumption, and only for the order of asking. Where, what and why a floor is are told with any worry.
SPOKEN_OF = 2.0
COMMON_GROUPS = ("place", "service", "finish", "wanted", "limits")
# Parts into which the range of a number is divided, beside the limits written for it.
_PARTS = 5
EFFORT = dict(zip(EFFORTS, (1.0, 1.5, 2.0, 4.0), strict=True))


@dataclass(frozen=True)
class Failure:
    """Where one demand fails some candidates: in which rows, by which facts it may."""

    demand: str
    rows: Bools
    facts: frozenset[str]
    sheets: tuple[str, ...]


@dataclass(frozen=True)
class Prospect:
    """Plausible completions of one area with the verdicts of the candidates still open."""

    drawn: Completions
    verdicts: dict[str, NDArray[np.int8]]
    failures: tuple[Failure, ...]


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
    return Prospect(drawn, verdicts, _failures(judged, book, set(names)))


def _failures(judged: Mapping[str, Judgement], book: Rulebook, names: set[str]) -> tuple[Failure, ...]:
    """Demand by demand, the rows that fail; what fails several candidates alike stands once."""
    found: dict[tuple[str, bytes], tuple[Bools, set[str], list[str]]] = {}
    for sheet, judgement in judged.items():
        by_demand: dict[str, tuple[Bools, set[str]]] = {}
        for finding in judgement.findings:
            status = finding.status
            fails = (status == EXCEEDS) | (status == NOT_STATED) | (status == NOT_VALID)
            if not fails.any():
                continue
            rows, facts = by_demand.get(finding.demand, (np.zeros(DRAWS, dtype=np.bool_), set()))
            by_demand[finding.demand] = (rows | fails, facts | set(concerned_facts(finding, book)))
        for demand, (rows, facts) in by_demand.items():
            kept = found.setdefault((demand, rows.tobytes()), (rows, set(), []))
            kept[1].update(facts & names)
            kept[2].append(sheet)
    return tuple(
        Failure(key[0], rows, frozenset(facts), tuple(sheets)) for key, (rows, facts, sheets) in found.items()
    )


def rank_questions(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str] = ()) -> list[Gain]:
    """Open deciding facts by expected narrowing per effort, the best first; none where nothing can change."""
    if not undecided(evaluated, row):
        return []
    seen = prospect(evaluated, book, row)
    sound = seen.drawn.sound
    if not sound.any() or not seen.failures:
        return []
    spoken = _spoken_of(evaluated, book, row)
    fails = np.array([one.rows[sound] for one in seen.failures], dtype=np.float64)
    weights = np.array([len(one.sheets) for one in seen.failures]) / len(seen.verdicts)
    found = []
    for name in seen.drawn.names:
        if name in apart:
            continue
        read = np.array([name in one.facts for one in seen.failures])
        if not read.any():
            continue
        told = _explained(fails[read], _groups(seen.drawn, name, book)[sound])
        gain = float((told * weights[read]).sum())
        gain *= SPOKEN_OF if book.vocabulary[name].group in spoken else 1.0
        by_sheet: dict[str, float] = {}
        for value, one in zip(told, (f for f in seen.failures if name in f.facts), strict=True):
            for sheet in one.sheets:
                by_sheet[sheet] = by_sheet.get(sheet, 0.0) + float(value)
        settles = sorted(
            (sheet for sheet, value in by_sheet.items() if value > 0), key=lambda s: -by_sheet[s]
        )
        found.append(Gain(name, gain / EFFORT[book.vocabulary[name].effort], tuple(settles)))
    # What the draws do not tell apart keeps the order of how many findings read it.
    found.sort(key=lambda one: -one.gain)
    return found


def _spoken_of(evaluated: Evaluated, book: Rulebook, row: int) -> set[str]:
    """Groups of facts in which something was told."""
    told = {book.vocabulary[name].group for name in evaluated.areas[row].readings if name in book.vocabulary}
    return told - set(COMMON_GROUPS)


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


def _explained(fails: Floats, groups: NDArray[np.intp]) -> Floats:
    """Variance of each failing that knowing the group takes away, less what chance alone would take.

    ``fails`` is [demands, rows] of 0 and 1.
    """
    count = fails.shape[1]
    sizes = np.bincount(groups).astype(np.float64)
    filled = sizes > 0
    kinds = int(filled.sum())
    if kinds < 2 or count <= kinds:
        return np.zeros(len(fails))
    member = (groups[:, None] == np.flatnonzero(filled)).astype(np.float64)
    sums = fails @ member
    whole = fails.mean(axis=1) * (1.0 - fails.mean(axis=1))
    within = (sums - sums**2 / sizes[filled]).sum(axis=1) / count
    chance = within * (kinds - 1) / (count - kinds)
    found: Floats = np.maximum(0.0, whole - within - chance)
    return found
