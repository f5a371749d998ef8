"""Running strips on from roll to roll: a roll's end begins or ends a strip that has a head joint there."""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from dataclasses import dataclass, field

from undercourse.layout.rolls import UNIT_M, Cut, Item, Roll, Segment, form_segments, fullest, units
from undercourse.layout.sheets import Sheet
from undercourse.layout.strips import NEAR_M, Part, Strip, cut_strip

MOST_FOR_SUMS = 120
"""Above this many segments a roll is filled longest first; exact sums would take too long."""


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


def _split(stock: Stock, key: int, room: int, keep_stagger: bool) -> tuple[int, list[int]] | None:
    """Cut from a part the longest piece that fits in the room; return its key and those of the rest."""
    number, part = stock.parts[key]
    strip, sheet = stock.strips[number], stock.sheet
    near, half = stock.near_joints(number) if keep_stagger else [], sheet.seam_gap_m / 2
    best: tuple[int, float, list[Part], int] | None = None
    for spot in joint_spots(part, strip, room * UNIT_M, near, sheet):
        whole = Strip(strip.band, part.shape, strip.low_m, strip.high_m, strip.box_m)
        parts = cut_strip(whole, [spot], sheet)
        for index, piece in enumerate(parts):
            length = units(piece.length_m)
            at_an_end = piece.box_m[2] < spot - half + NEAR_M or piece.box_m[0] > spot + half - NEAR_M
            if length <= room and at_an_end and (best is None or length > best[0]):
                best = (length, spot, parts, index)
    if best is None:
        return None
    _, spot, parts, index = best
    small = sheet.smallest_piece_m - NEAR_M
    if any(min(piece.length_m, piece.width_m) < small for piece in parts) and keep_stagger:
        return None
    del stock.parts[key]
    bisect.insort(stock.joints[number], spot)
    if not keep_stagger and any(
        abs(spot - joint) < sheet.stagger_m - NEAR_M for joint in stock.near_joints(number)
    ):
        stock.crowded.append(number)
    keys = [stock.add(number, piece) for piece in parts]
    return keys[index], [other for other in keys if other != keys[index]]


@dataclass
class _Pool:
    """Segments still to be cut, and parts too long for one roll."""

    segments: list[Segment]
    long: list[int]


def run_rolls(stock: Stock, capacity: int, optional: bool) -> list[Roll] | None:
    """Fill rolls one after the other; a strip runs on in the next roll where that saves sheet.

    Parts longer than a roll are cut in any case; others only when ``optional``. None when a part is too long
    and cannot be cut.
    """
    sheet = stock.sheet
    width = units(sheet.width_m)
    long = [key for key in stock.parts if stock.item(key).length > capacity]
    short = [stock.item(key) for key in stock.parts if key not in long]
    pool = _Pool(form_segments(short, width), long)
    worth = (sheet.seam_cost_m * sheet.width_m + sheet.cut_cost) / (sheet.least_price_m2 * sheet.width_m)
    smallest = units(sheet.shortest_cut_m)
    rolls: list[Roll] = []
    while pool.segments or pool.long:
        total = sum(segment.length for segment in pool.segments)
        taken = _take(pool, capacity, leave=smallest if pool.long else 0)
        room = capacity - sum(segment.length for segment in taken)
        if pool.long and room >= smallest:
            piece = _cut_long(stock, pool, room, capacity, bool(taken))
            if piece is None and not taken:
                return None
            taken += [piece] if piece else []
        elif optional and total > capacity and room * UNIT_M > worth:
            _give_back(pool, taken)
            taken = _take(pool, capacity, leave=smallest)
            room = capacity - sum(segment.length for segment in taken)
            piece = _cut_any(stock, pool, room) if room >= smallest else None
            if piece is None:
                _give_back(pool, taken)
                taken = _take(pool, capacity, leave=0)
            else:
                taken.append(piece)
        rolls.append(Roll(capacity, sum(segment.length for segment in taken), tuple(taken)))
    return rolls


def _give_back(pool: _Pool, taken: list[Segment]) -> None:
    pool.segments = [*pool.segments, *taken]


def _take(pool: _Pool, capacity: int, leave: int) -> list[Segment]:
    """Take the segments that fill a roll best, exactly or with at least ``leave`` of it left."""
    segments = sorted(pool.segments, key=lambda segment: (-segment.length, segment.cuts[0].key))
    lengths = [segment.length for segment in segments]
    if len(lengths) > MOST_FOR_SUMS:
        chosen, room = [], capacity - leave
        for index, length in enumerate(lengths):
            if length <= room:
                chosen.append(index)
                room -= length
            if room < lengths[-1]:
                break
    else:
        chosen = fullest(lengths, capacity)
        if leave and 0 < capacity - sum(lengths[index] for index in chosen) < leave:
            chosen = fullest(lengths, capacity - leave)
    picked = set(chosen)
    pool.segments = [segment for index, segment in enumerate(segments) if index not in picked]
    return [segments[index] for index in chosen]


def _lone(stock: Stock, key: int) -> Segment:
    return Segment(stock.item(key).length, (Cut(key, 0, 0),))


def _cut_long(stock: Stock, pool: _Pool, room: int, capacity: int, can_wait: bool) -> Segment | None:
    """Cut a piece from a part longer than a roll; forget the stagger only when nothing else helps."""
    for keep_stagger in (True, False):
        for key in sorted(pool.long):
            split = _split(stock, key, room, keep_stagger)
            if split is not None:
                pool.long.remove(key)
                _put_back(stock, pool, split[1], capacity)
                return _lone(stock, split[0])
        if can_wait:
            return None
    return None


def _put_back(stock: Stock, pool: _Pool, keys: list[int], capacity: int) -> None:
    for key in keys:
        if stock.item(key).length > capacity:
            pool.long.append(key)
        else:
            pool.segments.append(_lone(stock, key))


def _cut_any(stock: Stock, pool: _Pool, room: int) -> Segment | None:
    """Cut a piece that uses up the room from a full strip that is still to come."""
    width = units(stock.sheet.width_m)
    alone = [
        segment
        for segment in pool.segments
        if len(segment.cuts) == 1 and segment.length > room and stock.item(segment.cuts[0].key).width == width
    ]
    for segment in sorted(alone, key=lambda segment: (-segment.length, segment.cuts[0].key))[:40]:
        split = _split(stock, segment.cuts[0].key, room, keep_stagger=True)
        if split is not None:
            pool.segments.remove(segment)
            pool.segments += [_lone(stock, key) for key in split[1]]
            return _lone(stock, split[0])
    return None
