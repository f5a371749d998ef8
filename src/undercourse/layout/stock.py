"""All strips and the pieces that they are in, while head joints are being made."""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from dataclasses import dataclass, field

from undercourse.layout.rolls import UNIT_M, Item, units
from undercourse.layout.sheets import Sheet
from undercourse.layout.strips import NEAR_M, Part, Strip, cut_strip


@dataclass
class Stock:
    """Every piece of every strip, by key, and the head joints made so far."""

    sheet: Sheet
    strips: Sequence[Strip]
    neighbors: Sequence[Sequence[int]]
    joints: list[list[float]] = field(default_factory=list)
    parts: dict[int, tuple[int, Part]] = field(default_factory=dict)  # key: strip number, part
    crowded: list[int] = field(default_factory=list)  # strips whose joint could not keep the stagger
    _next: int = 0

    def __post_init__(self) -> None:
        self.joints = [[] for _ in self.strips]
        for number, strip in enumerate(self.strips):
            for part in cut_strip(strip, (), self.sheet):
                self.add(number, part)

    def add(self, number: int, part: Part) -> int:
        """Keep a part and return its key."""
        self.parts[self._next] = (number, part)
        self._next += 1
        return self._next - 1

    def item(self, key: int) -> Item:
        """The rectangle to cut for a part."""
        part = self.parts[key][1]
        return Item(key, min(units(part.width_m), units(self.sheet.width_m)), units(part.length_m))

    def near_joints(self, number: int) -> list[float]:
        """Head joints that a joint in this strip must be staggered against. [m]"""
        return [joint for other in self.neighbors[number] for joint in self.joints[other]]


def find_neighbors(strips: Sequence[Strip], owners: Sequence[int]) -> list[list[int]]:
    """Strips in the next bands of the same area that run beside each strip."""
    by_band: dict[tuple[int, int], list[int]] = {}
    for number, strip in enumerate(strips):
        by_band.setdefault((owners[number], strip.band), []).append(number)
    found: list[list[int]] = []
    for number, strip in enumerate(strips):
        beside = [
            other
            for band in (strip.band - 1, strip.band + 1)
            for other in by_band.get((owners[number], band), [])
            if strips[other].box_m[0] < strip.box_m[2] and strips[other].box_m[2] > strip.box_m[0]
        ]
        found.append(beside)
    return found


def joint_spots(part: Part, strip: Strip, room_m: float, near: Sequence[float], sheet: Sheet) -> list[float]:
    """Joints that cut a piece of at most ``room_m`` from either end of a part, best first. [m]

    A joint keeps the stagger to the joints ``near``, and leaves no piece under the smallest.
    """
    left, _, right, _ = part.box_m
    half, small = sheet.seam_gap_m / 2, sheet.shortest_cut_m
    trims = [
        sheet.trim_m if abs(end - wall) < NEAR_M else 0.0
        for end, wall in zip((left, right), strip.box_m[::2], strict=True)
    ]
    low, high = left + small + half, right - small - half
    spots = []
    for start, stop in (
        (low, min(high, left + room_m - trims[0] + half)),
        (max(low, right - room_m + trims[1] - half), high),
    ):
        if stop < start - NEAR_M:
            continue
        tries = [start, stop]
        tries += [joint + side * sheet.stagger_m for joint in near for side in (-1, 1)]
        spots += [
            x
            for x in tries
            if start - NEAR_M <= x <= stop + NEAR_M
            and all(abs(x - joint) >= sheet.stagger_m - NEAR_M for joint in near)
        ]
    return spots


def split_at(stock: Stock, key: int, spot: float, keep_stagger: bool = True) -> list[int] | None:
    """Make a head joint in a part; return the keys of what it becomes, None where the rules forbid it."""
    number, part = stock.parts[key]
    near = stock.near_joints(number)
    crowded = any(abs(spot - joint) < stock.sheet.stagger_m - NEAR_M for joint in near)
    parts = _parts_at(stock, key, spot)
    small = stock.sheet.smallest_piece_m - NEAR_M
    was_small = min(part.width_m, part.length_m) < small
    if len(parts) < 2 or (crowded and keep_stagger):
        return None
    if keep_stagger and not was_small and any(min(p.length_m, p.width_m) < small for p in parts):
        return None
    del stock.parts[key]
    bisect.insort(stock.joints[number], spot)
    if crowded:
        stock.crowded.append(number)
    return [stock.add(number, piece) for piece in parts]


def _parts_at(stock: Stock, key: int, spot: float) -> list[Part]:
    number, part = stock.parts[key]
    strip = stock.strips[number]
    whole = Strip(strip.band, part.shape, strip.low_m, strip.high_m, strip.box_m)
    return cut_strip(whole, [spot], stock.sheet)


def split_off(stock: Stock, key: int, room: int, keep_stagger: bool = True) -> tuple[int, list[int]] | None:
    """Cut from a part the longest piece that fits in the room; return its key and those of the rest."""
    number, part = stock.parts[key]
    near, half = stock.near_joints(number) if keep_stagger else [], stock.sheet.seam_gap_m / 2
    best: tuple[int, float, tuple[float, float, float, float]] | None = None
    for spot in joint_spots(part, stock.strips[number], room * UNIT_M, near, stock.sheet):
        for piece in _parts_at(stock, key, spot):
            length = units(piece.length_m)
            at_an_end = piece.box_m[2] < spot - half + NEAR_M or piece.box_m[0] > spot + half - NEAR_M
            if length <= room and at_an_end and (best is None or length > best[0]):
                best = (length, spot, piece.box_m)
    if best is None:
        return None
    keys = split_at(stock, key, best[1], keep_stagger)
    if keys is None:
        return None
    taken = next(one for one in keys if stock.parts[one][1].box_m == best[2])
    return taken, [one for one in keys if one != taken]
