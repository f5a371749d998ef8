"""From a scene in metres to marks on paper in millimetres: scale, lettering, dimensions, leaders.

Scales are those of ISO 5455, widths of lines those of ISO 128 (wide and narrow, 2 : 1), arrows and running
dimensions after ISO 129-1 (all three from memory; the tests state what is asserted).
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

from undercourse.drawings import lettering
from undercourse.drawings.hatches import hatch_outline
from undercourse.drawings.scene import (
    Dimension,
    Leader,
    Point,
    Polygon,
    Polyline,
    Primitive,
    RunningDimension,
    Scene,
    Text,
)

# Widths of lines on paper. [mm]
PENS: dict[str, float] = {
    "fine": 0.13,
    "narrow": 0.25,
    "medium": 0.35,
    "wide": 0.5,
    "heavy": 0.7,
    "none": 0.0,
}
# Dash patterns on paper, in millimetres: hidden edges, axes and chalk lines, limits.
DASHES: dict[str, str] = {
    "solid": "",
    "dashed": "2.4 0.9",
    "chain": "6 1 0.6 1",
    "double chain": "7 1.2 1 1.2 1 1.2",
}
SCALES: tuple[float, ...] = tuple(sorted(step * 10.0**power for power in range(-2, 5) for step in (1, 2, 5)))
ARROW_MM, ARROW_HALF_MM = 2.2, 0.4


@dataclass(frozen=True)
class Stroke:
    """A line on paper."""

    points: tuple[Point, ...]
    width: float
    dash: str = ""
    closed: bool = False
    soft: bool = False
    name: str = ""


@dataclass(frozen=True)
class Fill:
    """A filled outline on paper; ``tone`` is ink, soft, paper or accent."""

    points: tuple[Point, ...]
    tone: str = "ink"
    name: str = ""


@dataclass(frozen=True)
class Disc:
    """A filled circle on paper."""

    at: Point
    radius: float
    soft: bool = False
    hollow: bool = False


@dataclass(frozen=True)
class Tangle:
    """Many thin lines of one hatch."""

    lines: tuple[tuple[Point, ...], ...]
    width: float
    soft: bool = False


@dataclass(frozen=True)
class Dots:
    """Many dots of one hatch."""

    points: tuple[Point, ...]
    radius: float
    soft: bool = False


@dataclass(frozen=True)
class Words:
    """One line of text on paper; ``at`` is on its base line, ``turn_deg`` is counterclockwise."""

    at: Point
    text: str
    size: float = lettering.NORMAL
    anchor: str = "start"
    bold: bool = False
    soft: bool = False
    turn_deg: float = 0.0

    def width(self) -> float:
        """Length of the line of text. [mm]"""
        return lettering.text_width(self.text, self.size, bold=self.bold)

    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of the text on paper (y downwards). [mm]"""
        width = self.width()
        left = {"start": 0.0, "middle": -width / 2, "end": -width}[self.anchor]
        top, bottom = -lettering.ASCENT * self.size, lettering.DESCENT * self.size
        turn = -math.radians(self.turn_deg)
        corners = [
            (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
            for x in (left, left + width)
            for y in (top, bottom)
        ]
        xs, ys = zip(*corners, strict=True)
        return (self.at[0] + min(xs), self.at[1] + min(ys), self.at[0] + max(xs), self.at[1] + max(ys))


Mark = Stroke | Fill | Disc | Tangle | Dots | Words


@dataclass
class Sheet:
    """Marks on paper (y downwards, millimetres) with the words that say what they show."""

    title: str
    description: str
    width: float
    height: float = 0.0
    scale: float | None = None
    marks: list[Mark] = field(default_factory=list)

    def add(self, *marks: Mark) -> None:
        """Put marks on top of what is there."""
        self.marks.extend(marks)

    def texts(self) -> list[Words]:
        """All words on the sheet."""
        return [mark for mark in self.marks if isinstance(mark, Words)]


def choose_scale(width_m: float, height_m: float, room_width_mm: float, room_height_mm: float) -> float:
    """The largest ISO 5455 scale at which the drawing fits: 50.0 stands for 1 : 50, 0.5 for 2 : 1."""
    needed = max(width_m * 1000 / room_width_mm, height_m * 1000 / room_height_mm)
    return next((scale for scale in SCALES if scale >= needed * (1 - 1e-9)), SCALES[-1])


def scale_text(scale: float) -> str:
    """A scale as it is written on a drawing: ``1 : 50`` or ``2 : 1``."""
    return f"1 : {scale:g}" if scale >= 1 else f"{1 / scale:g} : 1"


@dataclass(frozen=True)
class Placing:
    """Where the scene's origin lies on the sheet and how much smaller it is drawn."""

    scale: float
    origin: Point  # sheet position of the scene's (0, 0)

    def __call__(self, point: Point) -> Point:
        """Millimetres on the sheet of a point of the scene."""
        factor = 1000 / self.scale
        return (self.origin[0] + point[0] * factor, self.origin[1] - point[1] * factor)


def place_scene(sheet: Sheet, scene: Scene, scale: float, left: float, top: float) -> Placing:
    """Draw a scene with its upper left corner at (left, top) of the sheet; leaders are left to the caller."""
    low_x, _, _, high_y = scene.bounds()
    factor = 1000 / scale
    placing = Placing(scale, (left - low_x * factor, top + high_y * factor))
    for item in scene.primitives:
        sheet.add(*_marks(item, placing))
    return placing


def _marks(item: Primitive, placing: Placing) -> list[Mark]:
    if isinstance(item, Polyline):
        points = tuple(placing(p) for p in item.points)
        return [Stroke(points, PENS[item.pen], DASHES[item.dash], name=item.name)]
    if isinstance(item, Polygon):
        return _polygon_marks(item, placing)
    if isinstance(item, Text):
        x, y = placing(item.at)
        at = (x + item.shift_mm[0], y - item.shift_mm[1])
        return [Words(at, item.words, item.size_mm, item.anchor, item.bold, item.soft, item.turn_deg)]
    if isinstance(item, Dimension):
        return dimension_marks(
            placing(item.start), placing(item.end), item.words, item.offset_mm, item.true_to_scale
        )
    if isinstance(item, RunningDimension):
        return _running_marks(item, placing)
    return []


def _polygon_marks(item: Polygon, placing: Placing) -> list[Mark]:
    outline = tuple(placing(p) for p in item.outline)
    holes = tuple(tuple(placing(p) for p in hole) for hole in item.holes)
    hatching = hatch_outline(item.hatch, outline, holes)
    marks: list[Mark] = []
    if hatching.lines:
        marks.append(Tangle(hatching.lines, PENS["fine"], item.soft))
    for radius in sorted({dot[2] for dot in hatching.dots}):
        marks.append(Dots(tuple((x, y) for x, y, r in hatching.dots if r == radius), radius, item.soft))
    marks += [Fill(block, "soft" if item.soft else "ink") for block in hatching.blocks]
    marks += [
        Stroke(ring, PENS[item.pen], closed=True, soft=item.soft, name=item.name)
        for ring in (outline, *holes)
    ]
    return marks


def arrow_head(tip: Point, toward: Point) -> Fill:
    """A filled arrow head at ``tip``, coming from the direction opposite to ``toward``."""
    x, y = toward
    length = math.hypot(x, y) or 1.0
    x, y = x / length, y / length
    back = (tip[0] - x * ARROW_MM, tip[1] - y * ARROW_MM)
    return Fill(
        (
            tip,
            (back[0] - y * ARROW_HALF_MM, back[1] + x * ARROW_HALF_MM),
            (back[0] + y * ARROW_HALF_MM, back[1] - x * ARROW_HALF_MM),
        )
    )


def dimension_marks(
    start: Point, end: Point, words: str, offset: float, true_to_scale: bool = True
) -> list[Mark]:
    """Extension lines, dimension line, arrows and value between two points of the sheet."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy) or 1e-9
    along, across = (dx / length, dy / length), (dy / length, -dx / length)

    def moved(p: Point, by: float) -> Point:
        return (p[0] + across[0] * by, p[1] + across[1] * by)

    sign = 1.0 if offset >= 0 else -1.0
    first, last = moved(start, offset), moved(end, offset)
    pen = PENS["narrow"]
    marks: list[Mark] = [
        Stroke((moved(p, sign * 1.0), moved(p, offset + sign * 1.2)), pen) for p in (start, end)
    ]
    if length >= 3 * ARROW_MM:
        marks += [Stroke((first, last), pen), arrow_head(first, (-dx, -dy)), arrow_head(last, (dx, dy))]
    else:
        tail = ARROW_MM * 2
        outer_first = (first[0] - along[0] * tail, first[1] - along[1] * tail)
        outer_last = (last[0] + along[0] * tail, last[1] + along[1] * tail)
        marks += [
            Stroke((outer_first, outer_last), pen),
            arrow_head(first, (dx, dy)),
            arrow_head(last, (-dx, -dy)),
        ]
    turn = math.degrees(math.atan2(-dy, dx))
    while turn > 90.01:
        turn -= 180
    while turn <= -89.99:
        turn += 180
    up = (-math.sin(math.radians(turn)), -math.cos(math.radians(turn)))
    middle = ((first[0] + last[0]) / 2 + up[0] * 1.0, (first[1] + last[1]) / 2 + up[1] * 1.0)
    text = Words(middle, words, lettering.SMALL, "middle", turn_deg=turn)
    marks.append(text)
    if not true_to_scale:
        half = text.width() / 2
        run = (math.cos(math.radians(turn)), -math.sin(math.radians(turn)))
        low = (middle[0] - up[0] * 0.55, middle[1] - up[1] * 0.55)
        ends = tuple((low[0] + run[0] * s * half, low[1] + run[1] * s * half) for s in (-1, 1))
        marks.append(Stroke(ends, PENS["fine"]))
    return marks


VALUE_FOOT_MM, LINK_MM = 2.4, 3.2  # from a running dimension's line to its values; room for bent links


def _running_values(item: RunningDimension, scale: float) -> tuple[list[list[str]], list[float]]:
    """Lines of every value and where along the line it stands, moved apart where they would touch. [mm]

    Values in two lines become one line in brackets where the stations lie too close for two.
    """
    places = [station * 1000 / scale for station, _ in item.stations]
    step = lettering.SMALL * 1.12
    gap = min((b - a for a, b in itertools.pairwise(places)), default=99.0)
    texts = [words.split("\n") for _, words in item.stations]
    if gap < 2 * step + 0.5:
        texts = [[f"{lines[0]} ({lines[1]})"] if len(lines) == 2 else lines for lines in texts]
    heights = [step * len(lines) + 0.5 for lines in texts]
    wanted = [place - height / 2 for place, height in zip(places, heights, strict=True)]
    tops = spread_tops(wanted, heights, min(wanted, default=0.0), math.inf)
    return texts, [top + height / 2 for top, height in zip(tops, heights, strict=True)]


def _reads_flat(item: RunningDimension, scale: float) -> bool:
    """Whether the values of a level running dimension have room to stand upright, each over its station."""
    if not item.along[0]:
        return False
    widths = [
        max(lettering.text_width(w, lettering.SMALL) for w in words.split("\n")) for _, words in item.stations
    ]
    places = [station * 1000 / scale for station, _ in item.stations]
    gaps = [b - a for a, b in itertools.pairwise(places)]
    return all(g >= (a + b) / 2 + 1.5 for g, (a, b) in zip(gaps, itertools.pairwise(widths), strict=True))


def running_reach(item: RunningDimension, scale: float) -> float:
    """How far a running dimension with its values stands out from what it measures. [mm]"""
    if _reads_flat(item, scale):
        lines = max((len(words.split("\n")) for _, words in item.stations), default=1)
        return abs(item.offset_mm) + VALUE_FOOT_MM + lines * lettering.SMALL * 1.12 + 0.5
    texts, _ = _running_values(item, scale)
    widest = max(
        (lettering.text_width(line, lettering.SMALL) for lines in texts for line in lines), default=0.0
    )
    return abs(item.offset_mm) + VALUE_FOOT_MM + LINK_MM + widest


def running_overrun(item: RunningDimension, scale: float) -> float:
    """How far moved values stand beyond the last station, along the dimension line. [mm]"""
    texts, spots = _running_values(item, scale)
    if _reads_flat(item, scale) or not spots:
        return 0.0
    half = lettering.SMALL * 1.12 * len(texts[-1]) / 2
    return max(0.0, spots[-1] + half - item.stations[-1][0] * 1000 / scale)


def _running_marks(item: RunningDimension, placing: Placing) -> list[Mark]:
    """Origin ring, one long line, and at every station an arrow and its value written across the line."""
    along = (item.along[0], -item.along[1])
    across = (along[1], -along[0])
    start = placing(item.origin)
    factor = 1000 / placing.scale
    sign = 1.0 if item.offset_mm >= 0 else -1.0

    def at(place: float, offset: float) -> Point:
        return (
            start[0] + along[0] * place + across[0] * offset,
            start[1] + along[1] * place + across[1] * offset,
        )

    pen = PENS["narrow"]
    last = max((station for station, _ in item.stations), default=0.0) * factor
    marks: list[Mark] = [Stroke((at(0, item.offset_mm), at(last, item.offset_mm)), pen)]
    turn = math.degrees(math.atan2(-across[1] * sign, across[0] * sign))
    flip = turn > 90.01 or turn < -89.99
    reading = turn - 180 if flip else turn
    down = (math.sin(math.radians(reading)), math.cos(math.radians(reading)))
    texts, spots = _running_values(item, placing.scale)
    flat = _reads_flat(item, placing.scale)
    if flat:
        texts, spots = (
            [words.split("\n") for _, words in item.stations],
            [t * factor for t, _ in item.stations],
        )
    moved = any(abs(s - t * factor) > 0.4 for s, (t, _) in zip(spots, item.stations, strict=True))
    foot = VALUE_FOOT_MM + (LINK_MM if moved else 0.0)
    step = lettering.SMALL * 1.12
    for (station, _), lines, spot in zip(item.stations, texts, spots, strict=True):
        place = station * factor
        marks.append(Stroke((at(place, sign * 1.0), at(place, item.offset_mm + sign * 1.2)), pen))
        if station > 0:
            marks.append(arrow_head(at(place, item.offset_mm), along))
        if moved:
            bend = (at(place, item.offset_mm + sign * 1.2), at(spot, item.offset_mm + sign * (foot - 0.7)))
            marks.append(Stroke(bend, PENS["fine"]))
        base = at(spot, item.offset_mm + sign * foot)
        if flat:
            for number, line in enumerate(reversed(lines)):
                where = (base[0], base[1] - number * step)
                soft = number < len(lines) - 1
                marks.append(Words(where, line, lettering.SMALL, "middle", soft=soft))
            continue
        for number, line in enumerate(lines):
            shift = (number - (len(lines) - 1) / 2) * step + lettering.SMALL * 0.33
            where = (base[0] + down[0] * shift, base[1] + down[1] * shift)
            anchor = "end" if flip else "start"
            marks.append(Words(where, line, lettering.SMALL, anchor, soft=number > 0, turn_deg=reading))
    marks.append(Disc(at(0, item.offset_mm), 0.6, hollow=True))
    return marks


def leader_marks(
    leaders: list[Leader], placing: Placing, column: float, top: float, bottom: float, room: float
) -> tuple[list[Mark], float]:
    """Names in a column right of the drawing, in order from top to bottom, none touching another.

    ``column`` is where the names start, ``room`` how wide they may be. Returns the marks and the lowest
    line used.
    """
    blocks = [(leader, _leader_lines(leader, room), placing(leader.at)) for leader in leaders]
    blocks.sort(key=lambda block: (block[2][1], block[2][0]))
    heights = [sum(size for _, size, _ in lines) * lettering.LEADING + 1.4 for _, lines, _ in blocks]
    tops = spread_tops(
        [spot[1] - height / 2 for (_, _, spot), height in zip(blocks, heights, strict=True)],
        heights,
        top,
        bottom,
    )
    marks: list[Mark] = []
    lowest = top
    shifts = _dot_shifts(
        [spot[1] for _, _, spot in blocks], [t + h / 2 for t, h in zip(tops, heights, strict=True)]
    )
    for (leader, lines, place), start, shift in zip(blocks, tops, shifts, strict=True):
        spot = (place[0] - shift, place[1])
        base = start + lettering.ASCENT * lines[0][1]
        knee = (column - 2.0, base - lettering.CAP_HEIGHT * lines[0][1] / 2)
        marks.append(Disc(spot, 0.55))
        marks.append(Stroke((spot, (column - 8.0, knee[1]), knee), PENS["narrow"], name="leader"))
        for number, (words, size, soft) in enumerate(lines):
            if number:
                base += size * lettering.LEADING
            text = Words((column, base), words, size, "start", bold=not soft and not leader.soft, soft=soft)
            marks.append(text)
            if leader.underline and number == len(lines) - 1:
                under = base + 0.7
                marks.append(Stroke(((column, under), (column + text.width(), under)), PENS["fine"]))
        lowest = max(lowest, base + lettering.DESCENT * lettering.SMALL)
    return marks, lowest


def _dot_shifts(dots: list[float], names: list[float]) -> list[float]:
    """How far each dot moves left so that steep leaders pass beside one another's dots. [mm]"""
    shifts = [0.0] * len(dots)
    down = [i for i, (dot, name) in enumerate(zip(dots, names, strict=True)) if name > dot + 2]
    up = [i for i, (dot, name) in enumerate(zip(dots, names, strict=True)) if name < dot - 2]
    for run in (down, up[::-1]):
        for rank, index in enumerate(run):
            shifts[index] = min(rank * 3.0, 45.0)
    return shifts


def _leader_lines(leader: Leader, room: float) -> list[tuple[str, float, bool]]:
    """Text, size and tone of each line of a leader's name."""
    named = lettering.wrap_text(leader.words, room, lettering.NORMAL, bold=not leader.soft) or ["not named"]
    under = lettering.wrap_text(leader.under, room, lettering.SMALL)
    return [(line, lettering.NORMAL, False) for line in named] + [
        (line, lettering.SMALL, True) for line in under
    ]


def spread_tops(wanted: list[float], heights: list[float], top: float, bottom: float) -> list[float]:
    """Tops of blocks in order, as near to where they are wanted as fits without touching.

    Blocks that push one another share the shift (pool of neighbors); if all do not fit they run past
    ``bottom``.
    """
    pools: list[tuple[float, float, int]] = []  # top, height, number of blocks
    for want, height in zip(wanted, heights, strict=True):
        pool = (max(want, top), height, 1)
        while pools and pools[-1][0] + pools[-1][1] > pool[0]:
            before = pools.pop()
            total = before[1] + pool[1]
            middle = ((before[0] + before[1] / 2) * before[2] + (pool[0] + pool[1] / 2) * pool[2]) / (
                before[2] + pool[2]
            )
            pool = (max(top, min(middle - total / 2, bottom - total)), total, before[2] + pool[2])
        pools.append(pool)
    tops: list[float] = []
    blocks = iter(heights)
    for pool_top, _, count in pools:
        place = pool_top
        for _ in range(count):
            tops.append(place)
            place += next(blocks)
    return tops
