"""One open fact after another at each value that it may still have, in rows of one table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.completions import Completions, one_row, settle_table
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.plausible import usual_here
from undercourse.advise.sweeps import Sweep, breakpoints, trial_values
from undercourse.base.columns import Bools, ChoiceColumn, Column, Columns, NumberColumn
from undercourse.base.domains import Choices, Span, Spec
from undercourse.judge.results import NEEDS_FACTS, Codes
from undercourse.judge.rulebook import Rulebook

# Numbers tried within what is usual.
USUAL_GRID = 5

Number = TypeVar("Number", np.float64, np.uint64)


@dataclass(frozen=True)
class Trials:
    """Tried values of several facts: one a row, everything else as it stands."""

    columns: Columns
    sound: Bools
    places: Mapping[str, slice]
    values: Mapping[str, Sequence[Spec]]

    def sweeps(self, verdicts: Mapping[str, Codes]) -> dict[str, Sweep]:
        """The verdicts of each candidate, [rows,], fact by fact; impossible values are left out."""
        found = {}
        for name, place in self.places.items():
            kept = np.flatnonzero(self.sound[place])
            codes = {sheet: tuple(int(code) for code in one[place][kept]) for sheet, one in verdicts.items()}
            found[name] = Sweep(name, tuple(self.values[name][int(at)] for at in kept), codes)
        return found


def trials(
    evaluated: Evaluated, book: Rulebook, row: int, names: Sequence[str], most: int = 10_000
) -> Trials:
    """Lay out the values to try, for the first of the facts whose values fit into so many rows."""
    facts = evaluated.facts.columns
    tried: dict[str, list[Spec]] = {}
    places: dict[str, slice] = {}
    start = 0
    for name in names:
        domain = book.vocabulary.domains[name]
        written = breakpoints(book, name) if domain.kind == "number" else []
        values = trial_values(domain, facts.spec(name, row), written, _usual_numbers(book, facts, row, name))
        if start + len(values) > most:
            break
        tried[name] = values
        places[name] = slice(start, start + len(values))
        start += len(values)
    table = one_row(facts, row, start)
    for name, values in tried.items():
        table[name] = _laid(facts.spec(name, row), values, places[name], start)
    sound = settle_table(table, book) if start else np.ones(0, dtype=np.bool_)
    return Trials(table, sound, places, tried)


def _usual_numbers(book: Rulebook, facts: Columns, row: int, name: str) -> list[float]:
    """Numbers over the range in which a fact usually lies; it may be a small part of what it can be."""
    usual = usual_here(book.vocabulary[name], facts, row)
    if usual is None or not isinstance(usual.spec, Span):
        return []
    return [float(value) for value in np.linspace(usual.spec.low, usual.spec.high, USUAL_GRID)]


def sweep_alone(evaluated: Evaluated, book: Rulebook, row: int, names: Sequence[str]) -> list[Sweep]:
    """The candidates still open judged for each value of each fact."""
    waiting = [one.candidate.id for one in evaluated.of_row(row) if int(one.verdict[row]) == NEEDS_FACTS]
    laid = trials(evaluated, book, row, names)
    if not waiting or not laid.columns.rows:
        return []
    again = Completions(laid.columns, tuple(names), laid.sound).judge(evaluated, book, row, waiting)
    judged = {one.candidate.id: one.verdict for one in (*again.own.values(), *again.judgements)}
    return list(laid.sweeps(judged).values())


def stacked(first: Columns, second: Columns) -> Columns:
    """The rows of two tables, one below the other."""
    table = Columns(first.domains, first.rows + second.rows)
    for name in dict.fromkeys((*first, *second)):
        above, below = first[name], second[name]
        if isinstance(above, ChoiceColumn) and isinstance(below, ChoiceColumn):
            table[name] = ChoiceColumn(_joined(above.bits, first.rows, below.bits, second.rows))
        elif isinstance(above, NumberColumn) and isinstance(below, NumberColumn):
            low = _joined(above.low, first.rows, below.low, second.rows)
            table[name] = NumberColumn(low, _joined(above.high, first.rows, below.high, second.rows))
    return table


def _joined(above: NDArray[Number], rows: int, below: NDArray[Number], more: int) -> NDArray[Number]:
    if above.size == below.size == 1 and above[0] == below[0]:
        return above
    return np.concatenate([np.broadcast_to(above, (rows,)), np.broadcast_to(below, (more,))])


def _laid(now: Spec, values: Sequence[Spec], place: slice, count: int) -> Column:
    """A column that says what is known, and one tried value a row in its place."""
    if isinstance(now, Choices):
        bits = np.full(count, now.bits, dtype=np.uint64)
        bits[place] = [spec.bits for spec in values if isinstance(spec, Choices)]
        return ChoiceColumn(bits)
    low, high = np.full(count, now.low), np.full(count, now.high)
    low[place] = [spec.low for spec in values if isinstance(spec, Span)]
    high[place] = [spec.high for spec in values if isinstance(spec, Span)]
    return NumberColumn(low, high)
