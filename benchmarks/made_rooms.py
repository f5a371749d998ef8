"""Rooms drawn by chance, so that the figures of laying do not hang on one set of plans.

Three kinds in turn: one with wings (a rectangle with others joined to it), the same with one wall askew, and
one with columns; one in four is turned against the axes. All sizes are drawn evenly, by one seed.
"""

from __future__ import annotations

import math
import random

from shapely import Polygon, box, get_parts, set_precision, union_all
from shapely.affinity import rotate

SEED = 7


def made_rooms(count: int, seed: int = SEED) -> dict[str, Polygon]:
    """So many rooms, from closets to halls, by name."""
    chance = random.Random(seed)
    kinds = (_winged, _askew, _columned)
    found: dict[str, Polygon] = {}
    while len(found) < count:
        kind = kinds[len(found) % len(kinds)]
        room = kind(chance)
        if chance.random() < 0.25:
            room = rotate(room, chance.uniform(0, 90), origin=(0, 0))
        # The second call takes the grid off again: what is made of a shape on a grid lies on it, too.
        snapped = set_precision(set_precision(room, 1e-4), 0.0)
        room = max(get_parts(snapped), key=lambda part: part.area)
        # A shape that is all necks and corners is no room.
        if room.buffer(-0.4).area > 0.3 * room.area:
            found[f"{kind.__name__.strip('_')} {len(found) + 1}"] = room
    return found


def _side(chance: random.Random, low: float, high: float) -> float:
    """A length between two, as many short as long on a scale of ratios, to the centimetre. [m]"""
    return round(math.exp(chance.uniform(math.log(low), math.log(high))), 2)


def _winged(chance: random.Random) -> Polygon:
    long, wide = _side(chance, 1.8, 30.0), _side(chance, 1.4, 20.0)
    parts = [box(0, 0, long, wide)]
    for _ in range(chance.randint(0, 3)):
        deep, broad = _side(chance, 0.3, wide), _side(chance, 0.6, long)
        x = round(chance.uniform(0, max(0.0, long - broad)), 2)
        parts.append(
            box(x, wide, x + broad, wide + deep) if chance.random() < 0.5 else box(x, -deep, x + broad, 0)
        )
    joined = union_all(parts)
    assert isinstance(joined, Polygon)
    return joined


def _askew(chance: random.Random) -> Polygon:
    room = _winged(chance)
    left, low, right, high = room.bounds
    slope = math.tan(math.radians(chance.uniform(2, 25)))
    drop = min(slope * (right - left), 0.5 * (high - low))
    under = Polygon([(left, low - 1), (right, low - 1), (right, high - drop), (left, high)])
    return max(get_parts(room.intersection(under)), key=lambda part: part.area)


def _columned(chance: random.Random) -> Polygon:
    room = _winged(chance)
    left, low, right, high = room.bounds
    size = round(chance.uniform(0.2, 0.6), 2)
    bay = chance.uniform(2.5, 5.0)
    columns = [
        box(x, y, x + size, y + size) for x in _every(left, right, bay) for y in _every(low, high, bay)
    ]
    # Columns that stand clear of walls by less than a sheet can lie in are walls.
    clear = room.buffer(-0.35)
    columns = [column for column in columns[:12] if clear.contains(column)]
    left_over = room.difference(union_all(columns))
    assert isinstance(left_over, Polygon)
    return left_over


def _every(low: float, high: float, step: float) -> list[float]:
    count = int((high - low) / step)
    return [low + step * (number + 0.6) for number in range(count)]
