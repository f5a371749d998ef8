"""Running strips on from roll to roll: a roll's end begins or ends a strip that has a head joint there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from undercourse.layout.rolls import UNIT_M, Cut, Roll, Segment, form_segments, fullest, units
from undercourse.layout.stock import Stock, split_off

MOST_FOR_SUMS = 120
"""Above this many segments a roll is filled longest first; exact sums would take too long."""


@dataclass
class _Pool:
    """Segments still to be cut, and parts too long for one roll."""

    segments: list[Segment]
    long: list[int]


def run_rolls(stock: Stock, capacity: int, optional: bool, site: Sequence[Roll] = ()) -> list[Roll] | None:
    """Fill rolls one after the other, those on site first; a strip runs on where that saves sheet.

    Parts longer than a roll are cut in any case; others only when ``optional``. None when a part is too long
    and cannot be cut.
    """
    sheet = stock.sheet
    width = units(sheet.width_m)
    _shorten_narrow(stock, capacity)
    items = [stock.item(key) for key in stock.parts]
    long = [item.key for item in items if item.length > capacity]
    pool = _Pool(form_segments([item for item in items if item.length <= capacity], width), long)
    worth = (sheet.seam_cost_m * sheet.width_m + sheet.cut_cost) / (sheet.least_price_m2 * sheet.width_m)
    smallest = units(sheet.shortest_cut_m)
    rolls: list[Roll] = []
    waiting = list(site)
    while pool.segments or pool.long:
        part = waiting.pop(0) if waiting else Roll(capacity, 0, ())
        total = sum(segment.length for segment in pool.segments)
        taken = _take(pool, part.length, leave=smallest if pool.long else 0)
        room = part.length - sum(segment.length for segment in taken)
        if pool.long and room >= smallest:
            piece = _cut_long(stock, pool, room, capacity, bool(taken))
            if piece is None and not taken and part.on_site < 0:
                return None
            taken += [piece] if piece else []
        elif optional and total > part.length and room * UNIT_M > worth:
            _give_back(pool, taken)
            taken = _take(pool, part.length, leave=smallest)
            room = part.length - sum(segment.length for segment in taken)
            piece = _cut_any(stock, pool, room) if room >= smallest else None
            if piece is None:
                _give_back(pool, taken)
                taken = _take(pool, part.length, leave=0)
            else:
                taken.append(piece)
        if taken:
            used = sum(segment.length for segment in taken)
            rolls.append(replace(part, used=used, segments=tuple(taken)))
        elif part.on_site < 0:
            return None
    return rolls


def _shorten_narrow(stock: Stock, capacity: int) -> None:
    """Cut narrow parts longer than a roll first, so that they lie side by side on it."""
    width = units(stock.sheet.width_m)
    waiting = [key for key in stock.parts if 2 * stock.item(key).width <= width]
    while waiting:
        key = waiting.pop()
        if stock.item(key).length > capacity:
            split = split_off(stock, key, capacity)
            waiting += split[1] if split is not None else []


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
            split = split_off(stock, key, room, keep_stagger)
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
    """Cut a piece that uses up the room from a strip that is still to come and lies alone on its segment."""
    alone = [segment for segment in pool.segments if len(segment.cuts) == 1 and segment.length > room]
    for segment in sorted(alone, key=lambda segment: (-segment.length, segment.cuts[0].key))[:40]:
        split = split_off(stock, segment.cuts[0].key, room, keep_stagger=True)
        if split is not None:
            pool.segments.remove(segment)
            pool.segments += [_lone(stock, key) for key in split[1]]
            return _lone(stock, split[0])
    return None
