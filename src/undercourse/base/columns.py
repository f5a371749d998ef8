"""Columns of half-known values and three-valued truth over them.

A column holds one set of values a row: two float arrays for a number, one bit array for a
choice. A column that says the same in every row may have length 1 and broadcasts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from undercourse.base.domains import SLACK, Choices, Domain, Span, Spec

_LEAST = SLACK * 1e-6
Floats = NDArray[np.float64]
Bits = NDArray[np.uint64]
Bools = NDArray[np.bool_]


def some(array: NDArray[np.generic]) -> bool:
    """Whether any row is true; quicker than ``any`` for the one row of a single area."""
    return bool(array.item()) if array.size == 1 else bool(array.any())


class Truth:
    """Three-valued truth a row: surely true (``must``), possibly true (``may``)."""

    __slots__ = ("may", "must")

    def __init__(self, may: Bools, must: Bools) -> None:
        self.may = may
        self.must = must

    def __and__(self, other: Truth) -> Truth:
        return Truth(self.may & other.may, self.must & other.must)

    def __or__(self, other: Truth) -> Truth:
        return Truth(self.may | other.may, self.must | other.must)

    def __invert__(self) -> Truth:
        return Truth(~self.must, ~self.may)


SURE = Truth(np.array([True]), np.array([True]))
NEVER = Truth(np.array([False]), np.array([False]))


class NumberColumn:
    """Intervals: ``low <= value <= high`` a row. [SI]"""

    __slots__ = ("high", "low")

    def __init__(self, low: Floats, high: Floats) -> None:
        self.low = low
        self.high = high


class ChoiceColumn:
    """Sets of choices a row, as bits."""

    __slots__ = ("bits",)

    def __init__(self, bits: Bits) -> None:
        self.bits = bits


Column = NumberColumn | ChoiceColumn


def whole_column(domain: Domain) -> Column:
    """A column of length 1 that says nothing but the domain."""
    return spec_column(domain.everything)


def spec_column(spec: Spec) -> Column:
    """A column of length 1 that holds one set of values."""
    if isinstance(spec, Span):
        return NumberColumn(np.array([spec.low]), np.array([spec.high]))
    return ChoiceColumn(np.array([spec.bits], dtype=np.uint64))


class Columns:
    """Named columns of ``rows`` rows; what was never set is its whole domain."""

    def __init__(self, domains: Mapping[str, Domain], rows: int) -> None:
        self.domains = domains
        self.rows = rows
        self._columns: dict[str, Column] = {}
        self._whole: dict[str, Column] = {}

    def __contains__(self, name: str) -> bool:
        return name in self._columns

    def __iter__(self) -> Iterator[str]:
        return iter(self._columns)

    def __getitem__(self, name: str) -> Column:
        column = self._columns.get(name)
        if column is None:
            column = self._whole.get(name)
            if column is None:
                column = self._whole[name] = whole_column(self.domains[name])
        return column

    def __setitem__(self, name: str, column: Column) -> None:
        if name not in self.domains:
            raise KeyError(name)
        self._columns[name] = column

    def number(self, name: str) -> NumberColumn:
        """The number column of a name."""
        column = self[name]
        assert isinstance(column, NumberColumn), name
        return column

    def choice(self, name: str) -> ChoiceColumn:
        """The choice column of a name."""
        column = self[name]
        assert isinstance(column, ChoiceColumn), name
        return column

    def copy(self) -> Columns:
        """A copy that shares the (never mutated) arrays."""
        other = Columns(self.domains, self.rows)
        other._columns = dict(self._columns)
        return other

    def spec(self, name: str, row: int) -> Spec:
        """The set of values of one name in one row."""
        column = self[name]
        if isinstance(column, NumberColumn):
            return Span(float(pick(column.low, row)), float(pick(column.high, row)))
        return Choices(int(pick(column.bits, row)))


def pick(array: NDArray[np.generic], row: int) -> np.generic:
    """One row of an array that may have length 1."""
    found: np.generic = array[0] if array.shape[0] == 1 else array[row]
    return found


def narrow(column: Column, other: Column) -> Column:
    """The values that both columns leave possible; empty where low > high or bits = 0."""
    if isinstance(column, NumberColumn):
        assert isinstance(other, NumberColumn)
        return NumberColumn(np.maximum(column.low, other.low), np.minimum(column.high, other.high))
    assert isinstance(other, ChoiceColumn)
    return ChoiceColumn(column.bits & other.bits)


def is_empty(column: Column) -> Bools:
    """Where a column leaves no value possible."""
    if isinstance(column, NumberColumn):
        slack = SLACK * np.maximum(1e-6, np.abs(column.high))
        return np.asarray(column.low > column.high + slack)
    return np.asarray(column.bits == 0)


def lies_in(column: Column, spec: Spec) -> Truth:
    """Whether a row's value lies in a set of values."""
    if isinstance(spec, Span):
        assert isinstance(column, NumberColumn)
        below = spec.low - SLACK * max(1e-6, abs(spec.low))
        above = spec.high + SLACK * max(1e-6, abs(spec.high))
        may = (column.high >= below) & (column.low <= above)
        must = (column.low >= below) & (column.high <= above)
        return Truth(may, must & may)
    assert isinstance(column, ChoiceColumn)
    inside = np.uint64(spec.bits)
    return Truth((column.bits & inside) != 0, ((column.bits & ~inside) == 0) & (column.bits != 0))


def at_most(column: NumberColumn, limit: NumberColumn) -> Truth:
    """Whether a row's value is at or below another's."""
    upper, lower = (
        limit.high + (SLACK * np.abs(limit.high) + _LEAST),
        limit.low + (SLACK * np.abs(limit.low) + _LEAST),
    )
    return Truth(column.low <= upper, column.high <= lower)
