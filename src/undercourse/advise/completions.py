"""Plausible, consistent ways in which an area may turn out, drawn by chance and judged in bulk."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from undercourse.advise.evaluating import Evaluated, evaluate_columns
from undercourse.advise.plausible import draw_column, draw_evenly
from undercourse.advise.sweeps import breakpoints
from undercourse.base.columns import Bools, Columns, spec_column
from undercourse.facts.consistency import make_consistent, narrow_by_rows
from undercourse.judge.rulebook import Rulebook


@dataclass(frozen=True)
class Completions:
    """Rows of an area with some open facts settled; ``sound`` marks those without contradiction."""

    columns: Columns
    names: tuple[str, ...]
    sound: Bools

    def judge(self, evaluated: Evaluated, book: Rulebook, row: int, only: Collection[str]) -> Evaluated:
        """The candidates named in ``only``, judged in every row."""
        area = evaluated.areas[row]
        areas = [area] * self.columns.rows
        return evaluate_columns(areas, self.columns, {}, book, evaluated.judge.date, only)


def one_row(facts: Columns, row: int, rows: int) -> Columns:
    """A table in which every row is one row of another."""
    table = Columns(facts.domains, rows)
    for name in facts:
        table[name] = spec_column(facts.spec(name, row))
    return table


def settle_table(table: Columns, book: Rulebook) -> Bools:
    """Make a table consistent; true where no contradiction was found."""
    sound = np.ones(table.rows, dtype=np.bool_)
    for contradiction in make_consistent(table, book.consistency):
        sound &= ~contradiction.rows
    return sound


def draw_completions(
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
    names: Sequence[str],
    count: int,
    seed: int = 0,
    adversarial: bool = False,
) -> Completions:
    """Draw values for open facts, everything else left as it stands.

    Facts on which others hang are drawn first, and what follows from them narrows the others, so that
    few draws contradict themselves.

    Parameters
    ----------
    names : sequence of str
        The facts to settle.
    adversarial : bool, optional
        Every value weighs the same and numbers like the limits written for them, so that rare ways
        to fail or to pass are found; otherwise what is usual weighs most: an assumption.
    """
    rng = np.random.default_rng(seed)
    table = one_row(evaluated.facts.columns, row, count)
    for name in _in_drawing_order(names, book):
        fact = book.vocabulary[name]
        narrow_by_rows(table, book.consistency, name)
        if adversarial:
            written = breakpoints(book, name) if fact.domain.kind == "number" else []
            table[name] = draw_evenly(fact, table, written, rng)
        else:
            table[name] = draw_column(fact, table, rng)
    return Completions(table, tuple(names), settle_table(table, book))


def _in_drawing_order(names: Sequence[str], book: Rulebook) -> list[str]:
    """Choices and counts that others hang on, other choices, numbers, numbers at most another one."""
    leading = {name for row in book.consistency.implies for name in row.when}
    leading |= {
        name for fact in book.vocabulary.facts.values() for usual in fact.usuals for name, _ in usual.when
    }
    lesser = {bound.fact for bound in book.consistency.at_most}
    places = {name: place for place, name in enumerate(book.vocabulary.facts)}

    def order(name: str) -> tuple[int, int]:
        domain = book.vocabulary[name].domain
        counted = domain.unit is not None and domain.unit.symbol == "count"
        if domain.kind != "number" or counted:
            return 0 if name in leading else 1, places[name]
        return 3 if name in lesser else 2, places[name]

    return sorted(names, key=order)
