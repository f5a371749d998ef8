"""How likely the values of an open fact are: what the vocabulary calls usual, and everything else.

All of it is assumed. It puts questions in order and weighs estimates; it never decides a verdict.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from undercourse.base.columns import Bits, Bools, ChoiceColumn, Column, Columns, Floats, NumberColumn, lies_in
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.facts.vocabulary import Fact, Usual

# A usual range whose ends are so many times apart (ages) is spread evenly over its orders of magnitude.
WIDE = 100.0
# Share of adversarial numbers that stand at or just beyond a written limit, where a verdict may turn.
AT_LIMITS = 0.5


def usual_here(fact: Fact, table: Columns, row: int) -> Usual | None:
    """What is usual for a fact in one row: the first that surely applies there."""
    for usual in fact.usuals:
        if all(bool(np.broadcast_to(t, (table.rows,))[row]) for t in _surely(usual, table)):
            return usual
    return None


def _surely(usual: Usual, table: Columns) -> list[Bools]:
    return [lies_in(table[name], spec).must for name, spec in usual.when]


def share_inside(fact: Fact, now: Spec, inside: Spec, usual: Usual | None) -> float:
    """The weight of the values left that lie in a set."""
    if isinstance(now, Span):
        assert isinstance(inside, Span)
        everywhere = _overlap(now, inside)
        if usual is None or not isinstance(usual.spec, Span):
            return everywhere
        common = Span(max(now.low, usual.spec.low), min(now.high, usual.spec.high))
        if common.low > common.high:
            return everywhere
        scale = _log_ends if _is_wide(usual.spec) else _ends
        near = _overlap(scale(common), scale(inside))
        return usual.share * near + (1.0 - usual.share) * everywhere
    assert isinstance(inside, Choices)
    places = len(fact.domain.choices)
    bits = np.array([now.bits], dtype=np.uint64)
    weights = choice_weights(bits, places, usual)[0]
    return float(sum(weight for place, weight in enumerate(weights) if inside.bits >> place & 1))


def _is_wide(span: Span) -> bool:
    return span.low > 0.0 and span.high >= WIDE * span.low


def _ends(span: Span) -> Span:
    return span


def _log_ends(span: Span) -> Span:
    return Span(*(math.log(max(end, 1e-300)) for end in span))


def _overlap(whole: Span, part: Span) -> float:
    """The share of a span that lies in another; of a single value, all or nothing."""
    low, high = max(whole.low, part.low), min(whole.high, part.high)
    if low > high:
        return 0.0
    return 1.0 if whole.high <= whole.low else (high - low) / (whole.high - whole.low)


def choice_weights(bits: Bits, places: int, usual: Usual | None) -> Floats:
    """Weights of each choice, [rows, places]: of those left the usual ones share most."""
    left = (bits[:, None] >> np.arange(places, dtype=np.uint64)) & np.uint64(1)
    weights = left.astype(np.float64)
    if usual is not None and isinstance(usual.spec, Choices):
        chosen = np.array([usual.spec.bits >> place & 1 for place in range(places)], dtype=np.float64)
        common, rare = weights * chosen, weights * (1.0 - chosen)
        many, few = common.sum(axis=1, keepdims=True), rare.sum(axis=1, keepdims=True)
        both = (many > 0) & (few > 0)
        shared = usual.share * common / np.maximum(many, 1.0)
        shared = shared + (1.0 - usual.share) * rare / np.maximum(few, 1.0)
        weights = np.where(both, shared, weights)
    found: Floats = weights / np.maximum(weights.sum(axis=1, keepdims=True), 1e-300)
    return found


def draw_column(fact: Fact, table: Columns, rng: np.random.Generator) -> Column:
    """One plausible value a row, out of those that the table leaves; where it means nothing, all of them."""
    spread = _draw_choices if isinstance(table[fact.name], ChoiceColumn) else _draw_numbers
    drawn = spread(fact, table, None, rng)
    waiting = np.ones(table.rows, dtype=np.bool_)
    for usual in fact.usuals:
        here = waiting.copy()
        for holds in _surely(usual, table):
            here &= holds
        if here.any():
            drawn = _merge(here, spread(fact, table, usual, rng), drawn)
            waiting &= ~here
    if fact.asked_where:
        means = np.ones(table.rows, dtype=np.bool_)
        for name, spec in fact.asked_where:
            means &= lies_in(table[name], spec).may
        drawn = _merge(means, drawn, table[fact.name])
    return drawn


def draw_evenly(fact: Fact, table: Columns, written: Sequence[float], rng: np.random.Generator) -> Column:
    """As ``draw_column`` with every value weighing the same, numbers often at the limits written for them."""
    column = table[fact.name]
    if isinstance(column, ChoiceColumn):
        return _draw_choices(fact, table, None, rng)
    drawn = _draw_numbers(fact, table, None, rng)
    low, high = (np.broadcast_to(end, (table.rows,)) for end in (column.low, column.high))
    near = [v for w in written for v in (w, w * (1 + 1e-4) + 1e-6, w * (1 - 1e-4) - 1e-6)]
    points = np.array([*near, -np.inf, np.inf])
    at = np.clip(rng.choice(points, table.rows), low, high)
    values = np.where(rng.random(table.rows) < AT_LIMITS, at, drawn.low)
    return NumberColumn(values, values)


def _draw_choices(fact: Fact, table: Columns, usual: Usual | None, rng: np.random.Generator) -> ChoiceColumn:
    bits = np.broadcast_to(table.choice(fact.name).bits, (table.rows,))
    running = choice_weights(bits, len(fact.domain.choices), usual).cumsum(axis=1)
    ask = rng.random(table.rows)[:, None] * running[:, -1:]
    places: NDArray[np.intp] = (running <= ask).sum(axis=1)
    # A row without any value left keeps none: it contradicts itself.
    return ChoiceColumn(np.where(bits == 0, bits, np.uint64(1) << places.astype(np.uint64)))


def _draw_numbers(fact: Fact, table: Columns, usual: Usual | None, rng: np.random.Generator) -> NumberColumn:
    column = table.number(fact.name)
    low, high = (np.broadcast_to(end, (table.rows,)) for end in (column.low, column.high))
    values = low + (high - low) * rng.random(table.rows)
    if usual is not None and isinstance(usual.spec, Span):
        near, far = np.maximum(low, usual.spec.low), np.minimum(high, usual.spec.high)
        share = rng.random(table.rows)
        common = near + (far - near) * share
        if _is_wide(usual.spec):
            ends = np.log(near), np.log(np.maximum(far, near))
            common = np.exp(ends[0] + (ends[1] - ends[0]) * share)
        values = np.where((near <= far) & (rng.random(table.rows) < usual.share), common, values)
    values = np.clip(_whole(fact.domain, values), low, high)
    return NumberColumn(values, values)


def _whole(domain: Domain, values: Floats) -> Floats:
    """Counts are whole."""
    if domain.unit is not None and domain.unit.symbol in ("count", "CSP"):
        return np.round(values)
    return values


def _merge(here: Bools, new: Column, old: Column) -> Column:
    if isinstance(new, ChoiceColumn):
        assert isinstance(old, ChoiceColumn)
        return ChoiceColumn(np.where(here, new.bits, old.bits))
    assert isinstance(old, NumberColumn)
    return NumberColumn(np.where(here, new.low, old.low), np.where(here, new.high, old.high))
