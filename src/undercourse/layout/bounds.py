"""Lower bounds: fewer rolls than these no plan can use."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from undercourse.layout.rolls import Item

Floats = npt.NDArray[np.float64]


def _threshold(sizes: Floats, whole: int, least: int) -> Floats:
    """Sizes above whole - least count as a whole, sizes below least as nothing."""
    return np.where(sizes > whole - least, 1.0, np.where(sizes >= least, sizes / whole, 0.0))


def _steps(sizes: Floats, whole: int, number: int) -> Floats:
    """Sizes count in whole parts of ``number`` plus one; exact multiples stay what they are."""
    product = (number + 1) * sizes
    return np.where(product % whole == 0, sizes / whole, (product // whole) / number)


def _scales(sizes: Floats, whole: int, most: int = 16) -> Floats:
    """Values of the dual feasible functions worth trying, one row a function, for whole-number sizes."""
    least = np.unique(np.where(2 * sizes <= whole, sizes, whole - sizes + 1))
    least = least[(least > 0) & (2 * least <= whole)]
    least = np.append(least[:: max(1, math.ceil(len(least) / most))], whole // 2)
    rows = [sizes / whole]
    rows += [_threshold(sizes, whole, int(size)) for size in least if size > 0]
    rows += [_steps(sizes, whole, number) for number in range(1, 8)]
    return np.array(rows)


def _count(items: Sequence[Item]) -> tuple[Floats, Floats, Floats]:
    """Different widths, different lengths, and how many items there are of each pair."""
    widths, row = np.unique([item.width for item in items], return_inverse=True)
    lengths, column = np.unique([item.length for item in items], return_inverse=True)
    counts = np.zeros((len(widths), len(lengths)))
    np.add.at(counts, (row, column), 1.0)
    return widths, lengths, counts


def roll_count_bound(items: Sequence[Item], roll_width: int, roll_length: int) -> int:
    """Rolls that any way of cutting these items needs at least.

    Items keep their direction. The cuts need not be guillotine cuts, so that the bound holds for ours.

    Parameters
    ----------
    items : sequence of Item
        Width at most ``roll_width``, length at most ``roll_length``. [0.1 mm]

    Notes
    -----
    For dual feasible functions f and g the sum of f(width) g(length) over the items of one roll is at most
    1, so that the total, rounded up, bounds the number of rolls.

    References
    ----------
    "A general framework for bounds for higher-dimensional orthogonal packing
    problems", Mathematical Methods of Operations Research 60 (2004), sections 3 and 4 (from memory).
    """
    if not items:
        return 0
    widths, lengths, counts = _count(items)
    totals = _scales(widths, roll_width) @ counts @ _scales(lengths, roll_length).T
    return max(1, math.ceil(float(totals.max()) - 1e-9))


def used_length_bound(items: Sequence[Item], roll_width: int) -> int:
    """Length of roll, all rolls together, that any way of cutting these items uses at least. [0.1 mm]"""
    if not items:
        return 0
    widths, lengths, counts = _count(items)
    total = float((_scales(widths, roll_width) @ counts @ lengths).max())
    return max(int(lengths.max()), math.ceil(total - 1e-6))


def least_sheet_area(covered_m2: float, seam_gap_m: float, smallest_piece_m: float, width_m: float) -> float:
    """Area of sheet that any layout needs for an area, whatever its strips. [m2]

    Parameters
    ----------
    covered_m2 : float
        Area within the edge gaps. [m2]
    seam_gap_m : float
        Gap between pieces, negative for a lap. [m]
    smallest_piece_m : float
        No piece is narrower or shorter than this. [m]

    Notes
    -----
    A piece of w by l with half a gap around it covers at most (w + g)(l + g), so that gaps stretch a
    sheet at most by (1 + g / s)^2 with s the smallest piece. Pieces under 20 mm are not considered.
    """
    if seam_gap_m <= 0:
        return covered_m2
    smallest = min(width_m, max(smallest_piece_m, 0.02))
    return covered_m2 / (1 + seam_gap_m / smallest) ** 2
