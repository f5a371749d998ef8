"""Names on a chart: beside their line where there is room, else further off with a thin leader.

A name takes no room that a line, a point or another name has; among the free places the cheapest is taken.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from undercourse.drawings.chart_lines import Box, Piece, clip_segment, slab_extent, walk_back
from undercourse.drawings.lettering import ASCENT, DESCENT, SMALL, shorten, text_width, wrap_text
from undercourse.drawings.scene import Point
from undercourse.drawings.sheet import PENS, Disc, Mark, Stroke, Words, spread_tops

LINE_MM = SMALL * 1.2
OWN_GAP_MM = 0.5  # between a name and its own line
GAPS_MM = (2.2, 1.0)  # between a name and what is not its own: wished, least
MOST_LINES = 3


@dataclass(frozen=True)
class Block:
    """A name in one or several lines."""

    lines: tuple[str, ...]
    bold: bool = False

    @cached_property
    def width(self) -> float:
        """Width of the longest line. [mm]"""
        return max((text_width(line, SMALL, bold=self.bold) for line in self.lines), default=0.0)

    @property
    def height(self) -> float:
        """From the top of the first line to the foot of the last. [mm]"""
        return (len(self.lines) - 1) * LINE_MM + (ASCENT + DESCENT) * SMALL

    def box(self, left: float, top: float) -> Box:
        """Where the block lies with its upper left corner there."""
        return (left, top, left + self.width, top + self.height)

    def words(self, box: Box, anchor: str = "start") -> list[Mark]:
        """The block's lines in a box of its size."""
        x = {"start": box[0], "middle": (box[0] + box[2]) / 2, "end": box[2]}[anchor]
        base = box[1] + ASCENT * SMALL
        lines = enumerate(self.lines)
        return [Words((x, base + n * LINE_MM), line, SMALL, anchor, bold=self.bold) for n, line in lines]


def make_block(name: str, room: float, *, bold: bool = False, most: int = MOST_LINES) -> Block:
    """A name broken to a width, cut after ``most`` lines."""
    lines = wrap_text(name, room, SMALL, bold=bold)
    if len(lines) > most:
        lines = [*lines[: most - 1], shorten(" ".join(lines[most - 1 :]), room, SMALL, bold=bold)]
    # Lines of one length read better than a long one and a rest.
    for width in (room * k / 12 for k in range(5, 12)):
        even = wrap_text(name, width, SMALL, bold=bold)
        if len(lines) > 1 and len(even) == len(lines) and "…" not in lines[-1]:
            fits = all(text_width(line, SMALL, bold=bold) <= width for line in even)
            if fits and " ".join(even) == " ".join(name.split()):
                lines = even
                break
    return Block(tuple(lines), bold)


def grow(box: Box, by: float) -> Box:
    """A box with so much more on every side."""
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def boxes_touch(one: Box, other: Box) -> bool:
    """Whether two boxes have anything in common."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@dataclass
class Ground:
    """What is already drawn inside the frame; lines know whose they are."""

    frame: Box
    segments: list[tuple[Point, Point, str]] = field(default_factory=list)
    boxes: list[tuple[Box, str]] = field(default_factory=list)
    leaders: list[tuple[Point, Point]] = field(default_factory=list)

    def add_line(self, piece: Piece, owner: str) -> None:
        """A line of an owner."""
        self.segments += [(a, b, owner) for a, b in zip(piece, piece[1:] or piece, strict=False)]

    def is_free(self, box: Box, owner: str, gap: float) -> bool:
        """Whether a name of the owner may stand in the box."""
        if box[0] < self.frame[0] or box[1] < self.frame[1]:
            return False
        if box[2] > self.frame[2] or box[3] > self.frame[3]:
            return False
        if any(boxes_touch(grow(box, 0.2 if whose == owner else 0.6), b) for b, whose in self.boxes):
            return False
        own, others = grow(box, OWN_GAP_MM - 0.1), grow(box, gap)
        left, top, right, bottom = (pick(own[k], others[k]) for k, pick in enumerate((min, min, max, max)))
        for a, b, whose in self.segments:
            # Most lines are far away: the quick look comes first, for there are many boxes to try.
            if (a[0] < left and b[0] < left) or (a[0] > right and b[0] > right):
                continue
            if (a[1] < top and b[1] < top) or (a[1] > bottom and b[1] > bottom):
                continue
            if _meets(a, b, own if whose == owner else others):
                return False
        return not any(_meets(a, b, grow(box, 0.5)) for a, b in self.leaders)

    def crossings(self, start: Point, end: Point, owner: str) -> int:
        """How many lines of others a leader crosses; a name in its way counts as very many."""
        if any(_meets(start, end, grow(box, 0.4)) for box, whose in self.boxes if whose != owner):
            return 1000
        lines = [(a, b) for a, b, whose in self.segments if whose != owner] + self.leaders
        return sum(_cross(start, end, a, b) for a, b in lines)


def _meets(start: Point, end: Point, box: Box) -> bool:
    if max(start[0], end[0]) < box[0] or min(start[0], end[0]) > box[2]:
        return False
    if max(start[1], end[1]) < box[1] or min(start[1], end[1]) > box[3]:
        return False
    return clip_segment(start, end, box) is not None


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


@dataclass(frozen=True)
class Spot:
    """A place for a name: its box, and the leader that ties it to its line where it stands apart."""

    box: Box
    anchor: str = "start"
    leader: tuple[Point, Point] | None = None
    dot: bool = True

    def marks(self, block: Block) -> list[Mark]:
        """The name and its leader."""
        tied: list[Mark] = []
        if self.leader:
            tied = [Stroke(self.leader, PENS["fine"], name="leader")]
            tied += [Disc(self.leader[0], 0.45)] if self.dot else []
        return [*tied, *block.words(self.box, self.anchor)]


def find_spot(
    block: Block, pieces: Sequence[Piece], owner: str, ground: Ground, ties: Sequence[Piece] = ()
) -> Spot | None:
    """A free place for the name of a line: along it, or apart with a leader to a line of ``ties``."""
    along = sorted(_spots_along(block, pieces), key=lambda found: found[0])
    for gap in GAPS_MM:
        for _, spot in along:
            if ground.is_free(spot.box, owner, gap):
                return spot
    ends = [spot for piece in ties for spot, _ in walk_back(piece, 2.0)]
    return _spot_apart(block, ends, owner, ground, 0.0) if ends else None


def find_spot_beside(block: Block, at: Point, owner: str, ground: Ground) -> Spot | None:
    """A free place for the name of a point: around it, or apart with a leader."""
    width, height, gap = block.width, block.height, 2.4
    x, y = at
    sides = [
        (x + gap, y - height / 2, "start"),
        (x + gap * 0.7, y - gap * 0.7 - height, "start"),
        (x + gap * 0.7, y + gap * 0.7, "start"),
        (x - gap - width, y - height / 2, "end"),
        (x - gap * 0.7 - width, y - gap * 0.7 - height, "end"),
        (x - gap * 0.7 - width, y + gap * 0.7, "end"),
        (x - width / 2, y - gap - height, "middle"),
        (x - width / 2, y + gap, "middle"),
    ]
    for left, top, anchor in sides:
        if ground.is_free(block.box(left, top), owner, GAPS_MM[1]):
            return Spot(block.box(left, top), anchor)
    return _spot_apart(block, [at], owner, ground, 1.7)


def _spots_along(block: Block, pieces: Sequence[Piece]) -> Iterator[tuple[float, Spot]]:
    """Places above, below and beside a line with their cost: far from its end and far from it cost most."""
    width, height = block.width, block.height
    for number, piece in enumerate(reversed(pieces)):
        if number == 0:
            x, y = piece[-1]
            yield 0.0, Spot(block.box(x + 1.4, y - height / 2))
        for (x, y), way in walk_back(piece, 2.5):
            cost = 1.0 + way * 0.06 + number * 3
            for left, anchor in ((x - width, "end"), (x - width / 2, "middle"), (x, "start")):
                reach = slab_extent(piece, left, left + width, 0)
                if reach and reach[1] - reach[0] < 0.8 * height + 1.5:
                    bend = (reach[1] - reach[0]) * 0.7
                    yield cost + bend, Spot(block.box(left, reach[0] - OWN_GAP_MM - height), anchor)
                    yield cost + bend + 0.7, Spot(block.box(left, reach[1] + OWN_GAP_MM), anchor)
            top = y - height / 2
            reach = slab_extent(piece, top, top + height, 1)
            if reach and reach[1] - reach[0] < 4.0:
                bend = (reach[1] - reach[0]) * 0.7 + 0.5
                yield cost + bend, Spot(block.box(reach[1] + 1.0, top), "start")
                yield cost + bend + 0.2, Spot(block.box(reach[0] - 1.0 - width, top), "end")


def _spot_apart(
    block: Block, ends: Sequence[Point], owner: str, ground: Ground, start_gap: float
) -> Spot | None:
    """The free place with the shortest leader to one of ``ends``, crossings counting as extra length."""
    left, top, right, bottom = ground.frame
    columns = int((right - left - block.width) / 2.0) + 1
    rows = int((bottom - top - block.height) / 1.6) + 1
    found: list[tuple[float, Box, tuple[Point, Point]]] = []
    for column, row in itertools.product(range(max(columns, 0)), range(max(rows, 0))):
        box = block.box(left + column * 2.0, top + row * 1.6)
        end = min(ends, key=lambda p: _way_to(p, box))
        way = _way_to(end, box)
        if way >= 2.0:
            found.append((way, box, (end, _nearest(end, box))))
    found.sort(key=lambda one: one[0])
    best: tuple[float, Spot] | None = None
    for way, box, leader in found:
        if best and way >= best[0]:
            break
        if not ground.is_free(box, owner, GAPS_MM[1]):
            continue
        cost = way + 9.0 * ground.crossings(leader[0], leader[1], owner)
        if cost < 900 and (best is None or cost < best[0]):
            best = (cost, Spot(box, "start", _shortened(leader, start_gap), start_gap == 0))
    return best[1] if best else None


def _nearest(point: Point, box: Box) -> Point:
    """Where a leader from a point meets a name: the middle of its near side, just off it."""
    middle = (box[1] + box[3]) / 2
    if point[0] < box[0]:
        return (box[0] - 0.5, middle)
    if point[0] > box[2]:
        return (box[2] + 0.5, middle)
    return (min(max(point[0], box[0]), box[2]), box[1] - 0.3 if point[1] < box[1] else box[3] + 0.3)


def _way_to(point: Point, box: Box) -> float:
    return math.dist(point, _nearest(point, box))


def _shortened(leader: tuple[Point, Point], by: float) -> tuple[Point, Point]:
    """The leader without its first bit, which a point's own sign covers."""
    (x, y), end = leader
    length = math.dist((x, y), end)
    share = min(by / length, 0.9) if length else 0.0
    return ((x + share * (end[0] - x), y + share * (end[1] - y)), end)


def spread_within(wanted: list[float], sizes: list[float], low: float, high: float) -> list[float]:
    """Starts of blocks in order, near to where they are wanted, apart, and between ``low`` and ``high``."""
    starts = spread_tops(wanted, sizes, low, high)
    for number in range(len(starts) - 1, -1, -1):
        high = starts[number] = min(starts[number], high - sizes[number])
    return starts


def column_spots(
    entries: Sequence[tuple[Block, Point]], starts: Sequence[float], column: float, top: float, bottom: float
) -> tuple[list[Spot], bool]:
    """Names one under another right of the frame, as near to the height of their line's end as they fit.

    ``starts`` is how far from each end its leader begins, where a sign stands there.
    Returns the places in the order of the entries, and whether any had to move away from its height.
    """
    order = sorted(range(len(entries)), key=lambda k: (entries[k][1][1], k))
    heights = [entries[k][0].height + 0.7 for k in order]
    wanted = [entries[k][1][1] - h / 2 for k, h in zip(order, heights, strict=True)]
    tops = spread_within(wanted, heights, top, bottom)
    moved = any(abs(t - w) > 0.9 for t, w in zip(tops, wanted, strict=True))
    spots: dict[int, Spot] = {}
    for k, place in zip(order, tops, strict=True):
        block, end = entries[k]
        box = block.box(column, place + 0.35)
        middle = (box[1] + box[3]) / 2
        far = abs(middle - end[1]) > 0.9 or column - end[0] > 8
        tied = _shortened((end, (column - 0.8, middle)), starts[k]) if far else None
        spots[k] = Spot(box, "start", tied, dot=False)
    return [spots[k] for k in range(len(entries))], moved
