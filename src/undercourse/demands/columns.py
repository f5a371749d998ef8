"""Columns of a frame by their kind, and the range that several ways of knowing one number leave."""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Bits, Bools, ChoiceColumn, Floats, NumberColumn
from undercourse.base.frame import Frame


def bits(frame: Frame, name: str) -> Bits:
    """The choices of a fact that are still possible."""
    column = frame[name]
    assert isinstance(column, ChoiceColumn)
    return column.bits


def number(frame: Frame, name: str) -> NumberColumn:
    """A number column."""
    column = frame[name]
    assert isinstance(column, NumberColumn)
    return column


def union(parts: list[tuple[Bools, Floats, Floats]], instead: float) -> NumberColumn:
    """The range that holds each part where it may be; ``instead`` where none may."""
    if all(may.size == 1 for may, _, _ in parts):
        parts = [part for part in parts if part[0].item()]
        if len(parts) == 1:
            return NumberColumn(np.asarray(parts[0][1]), np.asarray(parts[0][2]))
    low, high = np.array([np.inf]), np.array([-np.inf])
    for may, least, most in parts:
        low = np.minimum(low, np.where(may, least, np.inf))
        high = np.maximum(high, np.where(may, most, -np.inf))
    empty = low > high
    if empty.any():
        low, high = np.where(empty, instead, low), np.where(empty, instead, high)
    return NumberColumn(low, high)
