"""Cutting of the plain ways of laying: rolls are cut across, then ripped, as the program must."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely import Polygon

from benchmarks.simple_floor import (
    NEAR_M,
    Cut,
    Offcut,
    Part,
    Segment,
    Trial,
    divide,
    size_of,
)
from undercourse.layout import Sheet


def fullest_first(trial: Trial) -> None:
    """Number the rolls so that the least used is the last."""
    order = sorted(range(len(trial.rolls)), key=lambda number: -trial.rolls[number])
    place = {number: new for new, number in enumerate(order)}
    for segment in {id(cut.segment): cut.segment for cut in trial.cuts}.values():
        segment.roll = place[segment.roll]
    trial.rolls = [trial.rolls[number] for number in order]


def put(segment: Segment, roll: int, rolls: list[float]) -> None:
    segment.roll, segment.along = roll, rolls[roll]
    rolls[roll] += segment.length


def _first_fit(segments: list[Segment], sheet: Sheet, trial: Trial) -> None:
    """Segments on rolls, longest first, each on the first that has room."""
    for segment in sorted(segments, key=lambda one: -one.length):
        room = sheet.roll_lengths_m[0] - segment.length + NEAR_M
        roll = next((number for number, used in enumerate(trial.rolls) if used <= room), len(trial.rolls))
        if roll == len(trial.rolls):
            trial.rolls.append(0.0)
        put(segment, roll, trial.rolls)


def _take(free: list[Offcut], offcut: Offcut, width: float, least: float) -> None:
    """Rip a piece from an offcut; what is left beside it stays, where it may be a piece."""
    free.remove(offcut)
    (x, y), segment = offcut.at, offcut.segment
    if offcut.width - width >= least:
        free.append(Offcut(segment, (x, y + width), offcut.width - width, offcut.length))


def in_rolls(parts: list[Part], sheet: Sheet, trial: Trial) -> list[tuple[Part, Polygon]]:
    """Every part in one piece, or in as few as the rolls allow."""
    known, found = _Joints(sheet), []
    for part in parts:
        lengths = _forced(part, sheet)
        xs = [float(x) for x in part.box[0] + np.cumsum(lengths)[:-1]]
        trial.close |= known.clash(part, xs)
        known.add(part, xs)
        found += [(part, shape) for shape in divide(part, lengths, sheet, trial) or [part.shape]]
    return found


def _forced(part: Part, sheet: Sheet) -> list[float]:
    """A strip's length, in parts where it is longer than a roll: every other strip from the other end."""
    roll, gap = sheet.roll_lengths_m[0], sheet.seam_gap_m
    lengths = [size_of(part.shape)[0]]
    while lengths[-1] > roll + NEAR_M:
        whole = min(roll, lengths[-1] - gap - sheet.smallest_piece_m)
        lengths[-1:] = [whole, lengths[-1] - whole - gap]
    return lengths[:: -1 if part.strip % 2 else 1]


def cut_whole(parts: list[Part], sheet: Sheet, trial: Trial) -> None:
    """Every part in one piece, longest first, from the narrowest offcut that holds it."""
    shapes = sorted(in_rolls(parts, sheet, trial), key=lambda entry: -size_of(entry[1])[0])
    free: list[Offcut] = []
    segments: list[Segment] = []
    for part, shape in shapes:
        length, width = size_of(shape)
        fit = [one for one in free if one.width >= width - NEAR_M and one.length >= length - NEAR_M]
        if fit:
            offcut = min(fit, key=lambda one: one.width * one.length - width * length)
        else:
            segments.append(Segment(length))
            offcut = Offcut(segments[-1], (0.0, 0.0), sheet.width_m, length)
            free.append(offcut)
        trial.cuts.append(Cut(part, shape, width, length, offcut.segment, offcut.at))
        _take(free, offcut, width, sheet.smallest_piece_m)
    _first_fit(segments, sheet, trial)


@dataclass
class _Joints:
    """Head joints on the floor so far, to keep the stagger: strip and x."""

    sheet: Sheet
    found: list[tuple[int, float]] = field(default_factory=list)

    def clash(self, part: Part, xs: Sequence[float]) -> bool:
        """Whether joints of a part at these x lie too close to those of the strips beside it."""
        return any(
            abs(strip - part.strip) == 1 and abs(x - other) < self.sheet.stagger_m - NEAR_M
            for strip, other in self.found
            for x in xs
        )

    def add(self, part: Part, xs: Sequence[float]) -> None:
        """Note the joints of a part."""
        self.found += [(part.strip, x) for x in xs]


def cut_joined(parts: list[Part], sheet: Sheet, trial: Trial) -> None:
    """Narrow parts of offcuts and side by side from one width; full ones from the rolls end to end."""
    least = sheet.smallest_piece_m
    known = _Joints(sheet)
    for part, x in _given_joints(parts, sheet):
        trial.close |= known.clash(part, [x])
        known.add(part, [x])
    full = [part for part in parts if sheet.width_m - size_of(part.shape)[1] < least]
    narrow = [part for part in parts if sheet.width_m - size_of(part.shape)[1] >= least]
    narrow.sort(key=lambda part: (-size_of(part.shape)[1], -size_of(part.shape)[0]))
    free: list[Offcut] = []
    segments: list[Segment] = []
    for part in narrow:
        _cut_narrow(part, sheet, trial, free, segments, known)
    _first_fit(segments, sheet, trial)
    full.sort(key=lambda part: -size_of(part.shape)[0])
    for part in full:
        _cut_full(part, sheet, trial, known)


def _given_joints(parts: list[Part], sheet: Sheet) -> Iterator[tuple[Part, float]]:
    """Joints between parts of one strip that were divided at steps."""
    for one, other in itertools.combinations(parts, 2):
        if one.strip == other.strip:
            for a, b in ((one, other), (other, one)):
                if abs(b.box[0] - a.box[2] - sheet.seam_gap_m) < 1e-4:
                    yield b, b.box[0]


def _cut_narrow(
    part: Part,
    sheet: Sheet,
    trial: Trial,
    free: list[Offcut],
    segments: list[Segment],
    known: _Joints,
) -> None:
    """A part of offcuts first, then of lanes that lie side by side on a new segment."""
    length, width = size_of(part.shape)
    gap, least = sheet.seam_gap_m, sheet.smallest_piece_m
    taken: list[tuple[Offcut, float]] = []
    left, pool = length, list(free)
    while left > NEAR_M:
        fit = [one for one in pool if one.width >= width - NEAR_M]
        fit = [one for one in fit if _reach(one.length, left, gap, least) > 0]
        if not fit:
            break
        offcut = min(fit, key=lambda one: (one.width - width, -one.length))
        got = _reach(offcut.length, left, gap, least)
        taken.append((offcut, got))
        pool.remove(offcut)
        left -= got + (gap if left - got > NEAR_M else 0.0)
    lanes: list[float] = []
    if left > NEAR_M:
        count = max(1, int((sheet.width_m + NEAR_M) / width))
        while count > 1 and (left - (count - 1) * gap) / count < least:
            count -= 1
        roll = sheet.roll_lengths_m[0]
        rounds = math.ceil((left - (count - 1) * gap) / count / roll - 1e-9)
        lanes = [(left - (count * rounds - 1) * gap) / (count * rounds)] * (count * rounds)
    lengths = [got for _, got in taken] + lanes
    placed = _arrange(part, lengths, sheet, trial, known)
    if placed is None:
        taken, lanes = [], [length]
        placed = [(0, part.shape)]
    _cut_lanes(part, placed, taken, lanes, sheet, trial, free, segments)


def _cut_lanes(
    part: Part,
    placed: list[tuple[int, Polygon]],
    taken: list[tuple[Offcut, float]],
    lanes: list[float],
    sheet: Sheet,
    trial: Trial,
    free: list[Offcut],
    segments: list[Segment],
) -> None:
    """Cut what was decided: pieces of offcuts, then lanes of new segments."""
    width = size_of(part.shape)[1]
    across = max(1, int((sheet.width_m + NEAR_M) / width))
    offcut: Offcut | None = None
    waiting = 0
    for which, shape in sorted(placed, key=lambda entry: entry[0]):
        if which < len(taken):
            source, length = taken[which]
        else:
            length = lanes[0]
            if waiting == 0:
                waiting = min(across, len(lanes) - (which - len(taken)))
                segments.append(Segment(length))
                offcut = Offcut(segments[-1], (0.0, 0.0), sheet.width_m, length)
                free.append(offcut)
            else:
                assert offcut is not None
                x, y = offcut.at
                offcut = Offcut(offcut.segment, (x, y + width), offcut.width - width, offcut.length)
            waiting -= 1
            source = offcut
        trial.cuts.append(Cut(part, shape, width, length, source.segment, source.at))
        if source not in free:  # too narrow to be kept, but wide enough for the next lane
            free.append(source)
        _take(free, source, width, sheet.smallest_piece_m)


def _reach(offered: float, left: float, gap: float, least: float) -> float:
    """How much of what is left an offered length can be, so that no piece is under the smallest; or 0."""
    if offered >= left - NEAR_M:
        return left
    reach = min(offered, left - gap - least)
    return reach if reach >= least else 0.0


def _arrange(
    part: Part, lengths: list[float], sheet: Sheet, trial: Trial, known: _Joints
) -> list[tuple[int, Polygon]] | None:
    """Pieces end to end in an order that keeps the stagger, else in any that can be cut, else None."""
    fallback: tuple[tuple[int, ...], list[float]] | None = None
    numbers = range(len(lengths))
    orders = itertools.islice(itertools.permutations(numbers), 24)
    for order in itertools.chain(orders, [tuple(reversed(numbers))]):
        ends = part.box[0] + np.cumsum([lengths[which] + sheet.seam_gap_m for which in order])[:-1]
        xs = [float(end) for end in ends]
        if not known.clash(part, xs):
            shapes = divide(part, [lengths[which] for which in order], sheet, trial)
            if shapes:
                known.add(part, xs)
                return list(zip(order, shapes, strict=True))
        elif fallback is None:
            fallback = order, xs
    if fallback is None:
        return None
    order, xs = fallback
    shapes = divide(part, [lengths[which] for which in order], sheet, trial)
    if not shapes:
        return None
    trial.close = True
    known.add(part, xs)
    return list(zip(order, shapes, strict=True))


def _cut_full(part: Part, sheet: Sheet, trial: Trial, known: _Joints) -> None:
    """A part of full width from the end of the fullest roll that holds it, or of two rolls."""
    length, width = size_of(part.shape)
    roll, gap, least = sheet.roll_lengths_m[0], sheet.seam_gap_m, sheet.smallest_piece_m
    rests = [roll - used for used in trial.rolls]
    fit = [number for number, rest in enumerate(rests) if rest >= length - NEAR_M]
    if fit:
        lengths, rolls = [length], [min(fit, key=lambda number: rests[number])]
    else:
        open_rolls = sorted((n for n, rest in enumerate(rests) if rest >= least), key=lambda n: -rests[n])
        got = _reach(rests[open_rolls[0]], length, gap, least) if open_rolls else 0.0
        lengths = [got, length - got - gap] if got else [length]
        rolls = [open_rolls[0], len(rests)] if got else [len(rests)]
    while lengths[-1] > roll + NEAR_M:
        whole = min(roll, lengths[-1] - gap - least)
        lengths[-1:] = [whole, lengths[-1] - whole - gap]
        rolls.append(rolls[-1] + 1)
    placed = _arrange(part, lengths, sheet, trial, known)
    if placed is None:
        lengths, rolls = [length], [len(rests)]
        placed = [(0, part.shape)]
    for which, shape in placed:
        while len(trial.rolls) <= rolls[which]:
            trial.rolls.append(0.0)
        segment = Segment(lengths[which])
        put(segment, rolls[which], trial.rolls)
        trial.cuts.append(Cut(part, shape, width, lengths[which], segment, (0.0, 0.0)))
