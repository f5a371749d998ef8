"""A limit row against a demand's column: three-valued, row by row."""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import (
    NEVER,
    SURE,
    ChoiceColumn,
    Column,
    NumberColumn,
    Truth,
    at_most,
    lies_in,
    some,
)
from undercourse.base.domains import Choices
from undercourse.base.frame import Frame
from undercourse.line.records import Condition, Limit


def holds(condition: Condition, frame: Frame) -> Truth:
    """Whether a condition holds."""
    return frame.all_of(condition.terms)


def applies(limit: Limit, frame: Frame) -> Truth:
    """Whether a limit applies: its ``when`` holds and its ``unless`` does not."""
    truth = frame.all_of(limit.when.terms)
    if limit.unless is not None and some(truth.may):
        truth = truth & ~frame.all_of(limit.unless.terms)
    return truth


def capacity_column(limit: Limit, frame: Frame) -> Column:
    """The capacity as a column, from the row itself or from where it points."""
    if limit.capacity.column:
        return frame[limit.capacity.column]
    return limit.capacity.fixed


def compare(limit: Limit, demand: Column, frame: Frame) -> Truth:
    """Whether the demand stays within the capacity."""
    if limit.comparison == "never":
        return NEVER
    if limit.comparison == "not_stated":
        return SURE
    capacity = capacity_column(limit, frame)
    if isinstance(demand, NumberColumn):
        if limit.comparison in ("one_of", "none_of"):
            assert limit.capacity.spec is not None
            inside = lies_in(demand, limit.capacity.spec)
            return inside if limit.comparison == "one_of" else ~inside
        assert isinstance(capacity, NumberColumn)
        if not limit.capacity.column:
            capacity = limit.capacity.end(limit.comparison == "at_most")
        return at_most(demand, capacity) if limit.comparison == "at_most" else at_most(capacity, demand)
    assert isinstance(capacity, ChoiceColumn)
    if limit.comparison in ("at_most", "at_least") or limit.capacity.column:
        return _ordered(limit.comparison, demand, capacity)
    spec = limit.capacity.spec
    assert isinstance(spec, Choices)
    inside = lies_in(demand, spec)
    return ~inside if limit.comparison == "none_of" else inside


def _ordered(comparison: str, demand: ChoiceColumn, capacity: ChoiceColumn) -> Truth:
    """Choices compared by their order in the domain (no before yes)."""
    low, high = demand, capacity
    if comparison == "at_least":
        low, high = capacity, demand
    may = _lowest(low.bits) <= _highest(high.bits)
    must = _highest(low.bits) <= _lowest(high.bits)
    return Truth(may, must)


def _lowest(
    bits: np.ndarray[tuple[int, ...], np.dtype[np.uint64]],
) -> np.ndarray[tuple[int, ...], np.dtype[np.uint64]]:
    return bits & (~bits + np.uint64(1))


def _highest(
    bits: np.ndarray[tuple[int, ...], np.dtype[np.uint64]],
) -> np.ndarray[tuple[int, ...], np.dtype[np.uint64]]:
    out = bits.copy()
    for shift in (1, 2, 4, 8, 16, 32):
        out |= out >> np.uint64(shift)
    return out ^ (out >> np.uint64(1))
