"""Plausible, consistent ways in which an area may turn out, drawn by chance and judged in bulk."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from undercourse.advise.evaluating import Evaluated, evaluate_columns
from undercourse.advise.sweeps import breakpoints
from undercourse.base.columns import Bools, ChoiceColumn, Column, Columns, Floats, NumberColumn, spec_column
from undercourse.base.domains import Choices, Domain, Span
from undercourse.facts.consistency import make_consistent
from undercourse.facts.vocabulary import Fact
from undercourse.judge.rulebook import Rulebook

# Weight of what the vocabulary calls usual, together: an assumption, here as everywhere in asking.
USUAL = 0.9
# Share of drawn numbers that stand at or just beyond a written limit, where a verdict may turn.
AT_LIMITS = 0.5


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

    Parameters
    ----------
    names : sequence of str
        The facts to settle.
    adversarial : bool, optional
        Every value weighs the same and numbers like the limits written for them, so that rare ways
        to fail or to pass are found; otherwise usual values weigh 0.9 together: an assumption.
    """
    rng = np.random.default_rng(seed)
    facts = evaluated.facts.columns
    table = one_row(facts, row, count)
    for name in names:
        fact = book.vocabulary[name]
        spec = facts.spec(name, row)
        if isinstance(spec, Choices):
            table[name] = _draw_choice(fact, spec, count, rng, adversarial)
        else:
            written = breakpoints(book, name) if adversarial else []
            table[name] = _draw_number(fact, spec, written, count, rng, adversarial)
    return Completions(table, tuple(names), settle_table(table, book))


def _draw_choice(fact: Fact, spec: Choices, count: int, rng: np.random.Generator, even: bool) -> Column:
    places = [place for place in range(spec.bits.bit_length()) if spec.bits >> place & 1]
    usual = fact.usual.bits if isinstance(fact.usual, Choices) and not even else 0
    common = np.array([bool(usual >> place & 1) for place in places])
    weights = np.full(len(places), 1.0)
    if common.any() and not common.all():
        weights = np.where(common, USUAL / common.sum(), (1 - USUAL) / (~common).sum())
    drawn = rng.choice(places, count, p=weights / weights.sum())
    return ChoiceColumn(np.uint64(1) << drawn.astype(np.uint64))


def _draw_number(
    fact: Fact, spec: Span, written: Sequence[float], count: int, rng: np.random.Generator, even: bool
) -> Column:
    values = rng.uniform(spec.low, spec.high, count)
    usual = fact.usual
    if isinstance(usual, Span) and not even:
        low, high = max(usual.low, spec.low), min(usual.high, spec.high)
        if low <= high:
            values = np.where(rng.random(count) < USUAL, rng.uniform(low, high, count), values)
    values = _snap(fact.domain, values)
    near = [v for w in written for v in (w, w * (1 + 1e-4) + 1e-6, w * (1 - 1e-4) - 1e-6)]
    points = np.array([spec.low, spec.high, *(v for v in near if spec.low <= v <= spec.high)])
    if even:
        values = np.where(rng.random(count) < AT_LIMITS, rng.choice(points, count), values)
    values = np.clip(values, spec.low, spec.high)
    return NumberColumn(values, values)


def _snap(domain: Domain, values: Floats) -> Floats:
    """Counts are whole."""
    if domain.unit is not None and domain.unit.symbol in ("count", "CSP"):
        return np.round(values)
    return values
