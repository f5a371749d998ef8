"""Cutting pieces from rolls: cross cuts make segments, rips make lanes, one piece a lane.

All lengths here are whole tenths of a millimetre, rounded up, so that fits are exact.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass

UNIT_M = 1e-4
"""Length of one unit. [m]"""


def units(length_m: float) -> int:
    """A length in whole units, rounded up but for a tenth of a nanometre of rounding."""
    return math.ceil(length_m / UNIT_M - 1e-6)


@dataclass(frozen=True)
class Item:
    """A rectangle to cut; ``key`` is the caller's."""

    key: int
    width: int
    length: int


@dataclass(frozen=True)
class Cut:
    """Where an item lies: along and across its segment or roll."""

    key: int
    along: int
    across: int


@dataclass(frozen=True)
class Segment:
    """A stretch of roll between two cross cuts, with the items in its lanes."""

    length: int
    cuts: tuple[Cut, ...]


@dataclass(frozen=True)
class Roll:
    """A roll and what is cut from it, from its start on; ``on_site`` is the number of a part roll, or -1."""

    length: int
    used: int
    segments: tuple[Segment, ...]
    on_site: int = -1

    def cuts(self) -> list[Cut]:
        """All items with their place on the roll."""
        start, placed = 0, []
        for segment in self.segments:
            placed += [Cut(cut.key, cut.along + start, cut.across) for cut in segment.cuts]
            start += segment.length
        return placed


def form_segments(items: Sequence[Item], roll_width: int) -> list[Segment]:
    """Group items into segments so that offcuts of wide ones serve narrow ones.

    Longest first; each item goes beside the items of the segment where it wastes least, or opens a segment of
    its own length.
    """
    order = sorted(items, key=lambda item: (-item.length, -item.width, item.key))
    narrowest = min((item.width for item in items), default=0)
    lengths: list[int] = []
    cuts: list[list[Cut]] = []
    free: list[tuple[int, int]] = []  # width left, segment; those too narrow for any item left out
    for item in order:
        best, least = -1, 0
        for place, (left, number) in enumerate(free):
            if left >= item.width:
                waste = (lengths[number] - item.length) * item.width + (left - item.width) * item.length
                if best < 0 or waste < least:
                    best, least = place, waste
        if best < 0:
            cuts.append([Cut(item.key, 0, 0)])
            lengths.append(item.length)
            left, number = roll_width - item.width, len(cuts) - 1
        else:
            left, number = free.pop(best)
            cuts[number].append(Cut(item.key, 0, roll_width - left))
            left -= item.width
        if left >= narrowest:
            free.append((left, number))
    return [Segment(length, tuple(lanes)) for length, lanes in zip(lengths, cuts, strict=True)]


def fullest(lengths: Sequence[int], capacity: int) -> list[int]:
    """Indices of the lengths whose sum comes nearest below the capacity; exact subset sum."""
    if sum(lengths) <= capacity:
        return list(range(len(lengths)))
    mask = (1 << (capacity + 1)) - 1
    sums = [1]
    for length in lengths:
        sums.append((sums[-1] | sums[-1] << length) & mask)
    target = sums[-1].bit_length() - 1
    chosen = []
    for index in range(len(lengths) - 1, -1, -1):
        if not sums[index] >> target & 1:
            chosen.append(index)
            target -= lengths[index]
    return chosen[::-1]


MOST_FOR_SUMS = 250
"""Above this many segments rolls are filled by best fit; sums would take too long."""


def fill_by_sums(lengths: Sequence[int], capacity: int) -> list[list[int]]:
    """Fill one roll after another as full as can be, always with the longest that is left in it."""
    left = sorted(range(len(lengths)), key=lambda index: (-lengths[index], index))
    bins: list[list[int]] = []
    while left:
        first, rest = left[0], left[1:]
        chosen = {rest[i] for i in fullest([lengths[i] for i in rest], capacity - lengths[first])}
        bins.append([first, *(index for index in rest if index in chosen)])
        left = [index for index in rest if index not in chosen]
    return bins


def fill_by_best_fit(lengths: Sequence[int], capacity: int) -> list[list[int]]:
    """Longest first, each into the fullest roll that still takes it."""
    bins: list[list[int]] = []
    free: list[tuple[int, int]] = []  # sorted (room left, bin)
    for index in sorted(range(len(lengths)), key=lambda index: (-lengths[index], index)):
        spot = bisect.bisect_left(free, (lengths[index], -1))
        if spot < len(free):
            room, number = free.pop(spot)
            bins[number].append(index)
        else:
            room, number = capacity, len(bins)
            bins.append([index])
        bisect.insort(free, (room - lengths[index], number))
    return bins


def fill_rolls(lengths: Sequence[int], capacity: int) -> list[list[int]]:
    """Indices of the lengths on each roll: fewest rolls found, then one roll as empty as found.

    The emptiest roll comes last.
    """
    plans = [fill_by_best_fit(lengths, capacity)]
    pair = 2 * min(lengths, default=0) <= capacity  # else no two share a roll
    if len(lengths) <= MOST_FOR_SUMS and sum(lengths) > capacity and pair:
        plans.append(fill_by_sums(lengths, capacity))
        plans.append(_fill_free(lengths, capacity))

    def least(plan: list[list[int]]) -> int:
        return min(sum(lengths[index] for index in roll) for roll in plan)

    plan = min(plans, key=lambda plan: (len(plan), least(plan)))
    return sorted(plan, key=lambda roll: -sum(lengths[index] for index in roll))


def _fill_free(lengths: Sequence[int], capacity: int) -> list[list[int]]:
    """Fill one roll after another as full as can be, with any of those left."""
    left = sorted(range(len(lengths)), key=lambda index: (-lengths[index], index))
    bins: list[list[int]] = []
    while left:
        chosen = {left[i] for i in fullest([lengths[i] for i in left], capacity)}
        bins.append([index for index in left if index in chosen])
        left = [index for index in left if index not in chosen]
    return bins


def take_fullest(segments: Sequence[Segment], capacity: int) -> tuple[list[Segment], list[Segment]]:
    """Segments that fill a roll best, and those that are left."""
    if len(segments) > MOST_FOR_SUMS:
        chosen, room = set(), capacity
        for index in sorted(range(len(segments)), key=lambda index: -segments[index].length):
            if segments[index].length <= room:
                chosen.add(index)
                room -= segments[index].length
    else:
        chosen = set(fullest([segment.length for segment in segments], capacity))
    return (
        [segment for index, segment in enumerate(segments) if index in chosen],
        [segment for index, segment in enumerate(segments) if index not in chosen],
    )


def make_rolls(segments: Sequence[Segment], plan: Sequence[Sequence[int]], capacity: int) -> list[Roll]:
    """Turn a plan of segment indices into rolls of one length."""
    rolls = []
    for chosen in plan:
        held = tuple(segments[index] for index in chosen)
        rolls.append(Roll(capacity, sum(segment.length for segment in held), held))
    return rolls
