"""Outlines as people type them: ``11 ft x 9 ft 2 in``, or corners in metres, ``0, 0; 3.35, 0; 3.35, 2.8``."""

from __future__ import annotations

import re
from typing import Any

from undercourse.base.units import UNITS, read_quantity

Ring = list[list[float]]
_CROSS = re.compile(r"\s*(?:\bx\b|×|\bby\b)\s*", re.I)
MOST_CORNERS = 400


def read_ring(text: str) -> Ring:
    """One outline.

    Raises
    ------
    ValueError
        With what is wrong and, after a semicolon, how to mend it.
    """
    fix = 'write "11 ft x 9 ft", or corners in metres as "0, 0; 3.35, 0; 3.35, 2.8"'
    sides = _CROSS.split(text.strip())
    if len(sides) == 2:
        try:
            width, depth = (read_quantity(side, "length", UNITS["m"]) for side in sides)
        except ValueError as error:
            raise ValueError(f"{error}; {fix}") from None
        if width <= 0 or depth <= 0:
            raise ValueError(f"a side of the outline is not above zero; {fix}")
        return [[0.0, 0.0], [_round(width), 0.0], [_round(width), _round(depth)], [0.0, _round(depth)]]
    corners = [corner for corner in text.split(";") if corner.strip()]
    if len(corners) > MOST_CORNERS:
        raise ValueError(f"{len(corners)} corners are more than an outline has; {fix}")
    return [_corner(corner, fix) for corner in corners]


def _corner(text: str, fix: str) -> list[float]:
    parts = text.replace(",", " ").split()
    try:
        x, y = (float(part) for part in parts)
    except ValueError:
        raise ValueError(f'"{text.strip()}" is not a corner; {fix}') from None
    return [x, y]


def _round(value: float) -> float:
    return round(value, 6)


def read_rings(text: str) -> list[Ring]:
    """One outline a line."""
    return [read_ring(line) for line in text.splitlines() if line.strip()]


def show_ring(ring: Any) -> str:
    """An outline as it is typed."""
    try:
        return "; ".join(f"{float(x):g}, {float(y):g}" for x, y in ring or ())
    except (TypeError, ValueError):
        return ""


def show_rings(rings: Any) -> str:
    """Outlines, one a line."""
    return "\n".join(show_ring(ring) for ring in rings or ())
