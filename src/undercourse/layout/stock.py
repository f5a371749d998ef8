"""All pieces while they are being cut: what each covers, its size, and the head joints made so far."""

from __future__ import annotations

import bisect
import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from undercourse.layout.covers import Bar, Cell, is_barred
from undercourse.layout.outlines import SLIVER_M
from undercourse.layout.rolls import UNIT_M, Item, units
from undercourse.layout.sheets import Sheet
from undercourse.layout.strips import NEAR_M, Stretch

Geometries = npt.NDArray[Any]


@dataclass(frozen=True, slots=True)
class Part:
    """One piece on the floor: where it lies in its stretch, and the size to cut."""

    stretch: int
    left: float
    right: float
    turned: bool  # runs across the strip
    across_m: float  # extent across the strip
    width_m: float  # to cut, with trim
    length_m: float
    shape: Polygon | None  # None where the stretch's profile tells it


@dataclass
class Stock:
    """Every piece of every stretch, by key, and the head joints of every stretch."""

    sheet: Sheet
    stretches: Sequence[Stretch]
    neighbors: Sequence[Sequence[int]]
    joints: list[list[float]] = field(default_factory=list)
    parts: dict[int, Part] = field(default_factory=dict)
    crowded: list[int] = field(default_factory=list)  # stretches with a joint that could not keep the stagger
    _next: int = 0

    def add(self, part: Part) -> int:
        """Keep a part and return its key."""
        self.parts[self._next] = part
        self._next += 1
        return self._next - 1

    def item(self, key: int) -> Item:
        """The rectangle to cut for a part."""
        part = self.parts[key]
        return Item(key, min(units(part.width_m), units(self.sheet.width_m)), units(part.length_m))

    def near_joints(self, number: int) -> list[float]:
        """Head joints that a joint in this stretch must be staggered against. [m]"""
        return [joint for other in self.neighbors[number] for joint in self.joints[other]]

    def barred(self, number: int) -> list[Bar]:
        """From and to x between which no joint of this stretch is to lie: by neighbors and lines. [m]"""
        stagger = self.sheet.stagger_m
        spans = [(joint - stagger, joint + stagger) for joint in self.near_joints(number)]
        return [*spans, *self.stretches[number].barred]


def make_stock(
    sheet: Sheet,
    stretches: Sequence[Stretch],
    owners: Sequence[int],
    covers: Iterable[Sequence[Cell]],
) -> Stock:
    """Put the pieces of all covers in stock; ``owners`` tells the zone of each stretch."""
    stock = Stock(sheet, stretches, find_neighbors(stretches, owners))
    for number, (stretch, cells) in enumerate(zip(stretches, covers, strict=True)):
        joints = [(a[1] + b[0]) / 2 for a, b in itertools.pairwise(cells)]
        stock.joints.append(joints)
        for left, right, turned in cells:
            for part in make_parts(stretch, number, left, right, turned, sheet):
                stock.add(part)
    stock.crowded += [number for number in range(len(stretches)) if crowds(stock, number)]
    return stock


def crowds(stock: Stock, number: int) -> bool:
    """Whether a joint of a stretch does not keep the stagger."""
    joints, least = stock.joints[number], stock.sheet.stagger_m - NEAR_M
    near = stock.near_joints(number) if joints else ()
    return any(abs(joint - other) < least for joint in joints for other in near)


def make_parts(
    stretch: Stretch, number: int, left: float, right: float, turned: bool, sheet: Sheet
) -> list[Part]:
    """The pieces that cover a stretch between two x: one, or several around an obstacle."""
    if stretch.shape is None:
        deep, high = stretch.profile.span(left, right)
        return [_sized(stretch, number, (left, deep, right, high), turned, sheet, None)]
    if left <= stretch.left + NEAR_M and right >= stretch.right - NEAR_M:
        shapes = [stretch.shape]
    else:
        shapes = _cut(stretch.shape, shapely.box(left, stretch.low - 1, right, stretch.high + 1))
    boxes = [(shape, tuple(float(value) for value in shape.bounds)) for shape in shapes]
    return [
        _sized(stretch, number, (x0, y0, x1, y1), turned, sheet, shape)
        for shape, (x0, y0, x1, y1) in boxes
        if x1 - x0 > SLIVER_M and y1 - y0 > SLIVER_M
    ]


def _sized(
    stretch: Stretch,
    number: int,
    box: tuple[float, float, float, float],
    turned: bool,
    sheet: Sheet,
    shape: Polygon | None,
) -> Part:
    """A part with the size to cut: its extent, and trim where it meets a wall."""
    left, low, right, high = box
    along = right - left + (sheet.trim_m * stretch.ends(left, right) if sheet.trim_m else 0.0)
    across = stretch.trimmed(low, high, sheet.trim_m)
    width, length = (along, across) if turned else (across, along)
    return Part(number, left, right, turned, high - low, min(sheet.width_m, width), length, shape)


def _cut(shape: Polygon, box: Polygon) -> list[Polygon]:
    """Parts of a shape within a box, parted also where they hang together by less than rounding."""
    found = shapely.get_parts(shapely.intersection(shape, box))
    rounded = shapely.transform(found, lambda points: np.round(points, 5))
    pinched = ~shapely.is_valid(rounded)
    if pinched.any():
        found = np.append(found[~pinched], shapely.get_parts(shapely.set_precision(found[pinched], 1e-5)))
    return [part for part in found if isinstance(part, Polygon)]


def find_neighbors(stretches: Sequence[Stretch], owners: Sequence[int]) -> list[list[int]]:
    """Stretches in the next bands of the same zone that run beside each stretch."""
    by_band: dict[tuple[int, int], list[int]] = {}
    for number, stretch in enumerate(stretches):
        by_band.setdefault((owners[number], stretch.band), []).append(number)
    found: list[list[int]] = []
    for number, stretch in enumerate(stretches):
        beside = [
            other
            for band in (stretch.band - 1, stretch.band + 1)
            for other in by_band.get((owners[number], band), ())
            if stretches[other].left < stretch.right and stretches[other].right > stretch.left
        ]
        found.append(beside)
    return found


def joint_spots(
    part: Part, stretch: Stretch, room_m: float, near: Sequence[Bar], sheet: Sheet
) -> list[float]:
    """Joints that cut a piece of at most ``room_m`` from either end of a part. [m]

    A joint lies in none of the spans ``near``, and leaves no piece under the smallest.
    """
    half, small = sheet.seam_gap_m / 2, sheet.shortest_cut_m
    left_trim = sheet.trim_m if part.left < stretch.left + NEAR_M else 0.0
    right_trim = sheet.trim_m if part.right > stretch.right - NEAR_M else 0.0
    low, high = part.left + small + half, part.right - small - half
    spots = []
    for start, stop in (
        (low, min(high, part.left + room_m - left_trim + half)),
        (max(low, part.right - room_m + right_trim - half), high),
    ):
        if stop < start - NEAR_M:
            continue
        tries = [start, stop]
        tries += [x for span in near for x in span]
        spots += [x for x in tries if start - NEAR_M <= x <= stop + NEAR_M and not is_barred(x, near)]
    return spots


def _halves(stock: Stock, part: Part, spot: float) -> list[Part]:
    """What a part becomes when it is cut at a joint."""
    stretch, half = stock.stretches[part.stretch], stock.sheet.seam_gap_m / 2
    sides = [(part.left, spot - half), (spot + half, part.right)]
    if part.shape is None:
        return [one for a, b in sides for one in make_parts(stretch, part.stretch, a, b, False, stock.sheet)]
    low, high = stretch.low - 1, stretch.high + 1
    shapes = [one for a, b in sides if b > a for one in _cut(part.shape, shapely.box(a, low, b, high))]
    boxes = [(shape, tuple(float(value) for value in shape.bounds)) for shape in shapes]
    return [
        _sized(stretch, part.stretch, (x0, y0, x1, y1), False, stock.sheet, shape)
        for shape, (x0, y0, x1, y1) in boxes
        if x1 - x0 > SLIVER_M and y1 - y0 > SLIVER_M
    ]


def is_small(part: Part, sheet: Sheet) -> bool:
    """Whether a piece covers less than the smallest."""
    along, across = part.right - part.left, part.across_m
    width, length = (along, across) if part.turned else (across, along)
    return length < sheet.smallest_piece_m - NEAR_M or width < sheet.smallest_width_m - NEAR_M


def split_at(stock: Stock, key: int, spot: float, keep_stagger: bool = True) -> list[int] | None:
    """Make a head joint in a part; return the keys of what it becomes, None where the rules forbid it."""
    part = stock.parts[key]
    if part.turned:
        return None
    crowded = is_barred(spot, stock.barred(part.stretch))
    parts = _halves(stock, part, spot)
    if len(parts) < 2 or (crowded and keep_stagger):
        return None
    if keep_stagger and not is_small(part, stock.sheet) and any(is_small(p, stock.sheet) for p in parts):
        return None
    del stock.parts[key]
    bisect.insort(stock.joints[part.stretch], spot)
    if crowded and crowds(stock, part.stretch):
        stock.crowded.append(part.stretch)
    return [stock.add(piece) for piece in parts]


def split_off(stock: Stock, key: int, room: int, keep_stagger: bool = True) -> tuple[int, list[int]] | None:
    """Cut from a part the longest piece that fits in the room; return its key and those of the rest."""
    part = stock.parts[key]
    if part.turned:
        return None
    near, half = stock.barred(part.stretch) if keep_stagger else [], stock.sheet.seam_gap_m / 2
    stretch = stock.stretches[part.stretch]
    best: tuple[int, float, float] | None = None
    for spot in joint_spots(part, stretch, room * UNIT_M, near, stock.sheet):
        for piece in _halves(stock, part, spot):
            length = units(piece.length_m)
            at_an_end = piece.right < spot - half + NEAR_M or piece.left > spot + half - NEAR_M
            if length <= room and at_an_end and (best is None or length > best[0]):
                best = (length, spot, piece.left)
    if best is None:
        return None
    keys = split_at(stock, key, best[1], keep_stagger)
    if keys is None:
        return None
    taken = next(one for one in keys if stock.parts[one].left == best[2])
    return taken, [one for one in keys if one != taken]


def joint_length(stock: Stock, number: int, joints: Sequence[float]) -> list[float]:
    """Length of head joints of one stretch. [m]"""
    stretch, found = stock.stretches[number], []
    for joint in joints:
        if stretch.shape is None:
            deep, high = stretch.profile.span(joint, joint)
            found.append(high - deep)
        else:
            line = shapely.LineString([(joint, stretch.low - 1), (joint, stretch.high + 1)])
            found.append(float(stretch.shape.intersection(line).length))
    return found
