"""Line charts: the limit a line, the job a point, what is open a band; names at the lines, not in a legend.

Lines of one kind differ by their signs, never by a hue, so a chart reads the same on grey paper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from undercourse.drawings.chart_frame import (
    LOWEST_MM,
    NARROWEST_MM,
    Frame,
    grid_marks,
    lay_frame,
    scale_marks,
)
from undercourse.drawings.chart_labels import (
    Block,
    Ground,
    Spot,
    column_spots,
    find_spot,
    find_spot_beside,
    make_block,
)
from undercourse.drawings.chart_lines import Piece, clip_outline, clip_run, split_gaps, walk_back
from undercourse.drawings.chart_parts import Axis, Chart, Level, Mark, Series, Zone
from undercourse.drawings.chart_words import NOTHING, chart_text, has_points
from undercourse.drawings.lettering import NORMAL, SMALL, wrap_text
from undercourse.drawings.scene import Point
from undercourse.drawings.sheet import PENS, Disc, Fill, Sheet, Stroke, Words
from undercourse.drawings.sheet import Mark as Ink
from undercourse.drawings.svg import to_svg

__all__ = ["Axis", "Chart", "Level", "Mark", "Series", "Zone", "chart_svg", "chart_text", "draw_chart"]

# Pen, dash and tone of each style.
STYLES: dict[str, tuple[str, str, bool]] = {
    "main": ("wide", "", False),
    "plain": ("medium", "", False),
    "quiet": ("narrow", "", True),
    "dashed": ("medium", "2.4 0.9", False),
}
LEVEL_DASH = "6 1 0.6 1"
NEAR_EDGE_MM = 7.0  # a line that ends so near to the right side has its name there
SIGN_MM = 0.85


def draw_chart(chart: Chart, width_m: float = 0.17, height_m: float = 0.09) -> Sheet:
    """A line chart on a sheet.

    Parameters
    ----------
    chart : Chart
        What to show, in the units that are shown.
    width_m, height_m : float
        Size on paper; grows where the words need more. [m]

    Returns
    -------
    Sheet
        Lines are paths of class ``series``, limits and means of class ``level``, layers of class ``zone``.
    """
    width, height = max(width_m * 1000, NARROWEST_MM), max(height_m * 1000, LOWEST_MM)
    if not has_points(chart):
        return _draw_nothing(chart, width)
    frame, entries, places = _settle(chart, width, height)
    sheet = Sheet(chart.title or "Chart", chart_text(chart), frame.width, frame.height)
    sheet.add(*frame.head, *_zone_marks(chart, frame), *_band_marks(chart, frame))
    names = [place.box for place in places.values() if place.box[0] < frame.box[2]]
    sheet.add(*grid_marks(chart, frame, names), *scale_marks(chart, frame), *_level_marks(chart, frame))
    sheet.add(*_series_marks(chart, frame))
    sheet.add(*frame.strip.marks(frame.box[1]))
    for entry in entries:
        if entry.key in places:
            sheet.add(*places[entry.key].marks(entry.block))
    for entry in entries:
        if entry.is_mark:
            sheet.add(Disc(entry.end, 1.5, hollow=True), Disc(entry.end, 0.8))
    return sheet


def chart_svg(chart: Chart, width_m: float = 0.17, height_m: float = 0.09) -> str:
    """The chart as SVG text, ready to stand in a page or a paper."""
    return to_svg(draw_chart(chart, width_m, height_m)).decode()


def _draw_nothing(chart: Chart, width: float) -> Sheet:
    sheet = Sheet(chart.title or "Chart", chart_text(chart), width)
    y = 0.0
    for line in wrap_text(chart.title, width, NORMAL, bold=True):
        y += NORMAL * 1.25
        sheet.add(Words((0, y - 0.8), line, NORMAL, bold=True))
    for text in (NOTHING, chart.note):
        for line in wrap_text(text, width, SMALL):
            y += SMALL * 1.3
            sheet.add(Words((0, y), line, SMALL, soft=True))
    sheet.height = y + 1.5
    return sheet


@dataclass(frozen=True)
class _Entry:
    """Something with a name: its lines on paper, where its name is tied, its block of words."""

    key: str
    block: Block
    pieces: tuple[Piece, ...]
    end: Point
    ties: tuple[Piece, ...] = ()  # where a leader may end
    is_mark: bool = False

    @property
    def clear(self) -> float:
        """How far from the end a leader begins."""
        return 1.7 if self.is_mark else 1.3


def _settle(chart: Chart, width: float, height: float) -> tuple[Frame, list[_Entry], dict[str, Spot]]:
    """Frame and places of all names: tried with the fewest names right of the frame, then with more.

    Every round moves at least one name out of the frame, widens the gap or raises the sheet, each only once
    or up to what the names need, so the rounds end.
    """
    room = min(max(width * 0.26, 20.0), 42.0)
    outside: set[str] = set()
    gap = 1.8
    if chart.y.second is None:
        frame = lay_frame(chart, width, height, 10.0, gap)
        outside = {one.key for one in _entries(chart, frame, room) if _ends_right(one, frame)}
    while True:
        blocks = [one.block for one in _entries(chart, lay_frame(chart, width, height, 0.0, gap), room)]
        keys = [one.key for one in _entries(chart, lay_frame(chart, width, height, 0.0, gap), room)]
        names_mm = max((b.width for k, b in zip(keys, blocks, strict=True) if k in outside), default=0.0)
        frame = lay_frame(chart, width, height, names_mm, gap)
        entries = _entries(chart, frame, room)
        column = [one for one in entries if one.key in outside]
        top, bottom = frame.box[1] - 1.4, frame.box[3] + 1.4
        spots, moved = column_spots(
            [(one.block, one.end) for one in column], [one.clear for one in column], frame.column, top, bottom
        )
        needed = sum(one.block.height + 0.7 for one in column) - (bottom - top)
        if needed > 0:
            height = max(height, frame.height) + needed + 0.1
            continue
        if moved and gap < 6:
            gap = 6.5
            continue
        places = {one.key: spot for one, spot in zip(column, spots, strict=True)}
        failed = _place_inside(chart, frame, [one for one in entries if one.key not in outside], places)
        if not failed:
            return frame, entries, places
        outside |= failed | {one.key for one in entries if _ends_right(one, frame)}


def _ends_right(entry: _Entry, frame: Frame) -> bool:
    """Whether a line's end is near enough to the right side for its name to stand there."""
    near = NEAR_EDGE_MM
    if frame.x.kind == "bands":
        near = max(near, (frame.box[2] - frame.box[0]) / max(len(frame.x.bands), 1) / 2 + 0.1)
    narrow = bool(entry.ties) and entry.ties != entry.pieces and _thin_at_end(entry)
    return not (entry.is_mark or narrow) and bool(entry.block.lines) and frame.box[2] - entry.end[0] <= near


def _thin_at_end(entry: _Entry) -> bool:
    """Whether a band ends so thin that a name at its end could be any line's."""
    return abs(entry.pieces[-1][-1][1] - entry.end[1]) < 1.5


def _entries(chart: Chart, frame: Frame, room: float) -> list[_Entry]:
    """Points first, then levels, then lines: whose name is placed first has the best choice."""
    entries = []
    for number, mark in enumerate(chart.marks):
        at, beyond = _mark_point(mark, frame)
        if math.isfinite(at[0] + at[1]):
            name = f"{mark.name}, beyond this chart" if beyond else mark.name
            block = make_block(name, room * 1.3, bold=True)
            entries.append(_Entry(f"mark {number}", block, (), at, is_mark=True))
    left, _, right, _ = frame.box
    for number, level in enumerate(chart.levels):
        share = frame.y.share(level.value)
        if level.axis == "y" and 0 <= share <= 1:
            y = frame.at(math.nan, level.value)[1]
            block = make_block(level.name, room)
            entries.append(_Entry(f"level {number}", block, (((left, y), (right, y)),), (right, y)))
    for number, one in enumerate(chart.series):
        pieces = _pieces(one, frame)
        if pieces:
            end = _band_end(one, frame) or pieces[-1][-1]
            block = make_block(one.name, room)
            entries.append(_Entry(f"series {number}", block, tuple(pieces), end, _ties(one, frame, pieces)))
    return entries


def _mark_point(mark: Mark, frame: Frame) -> tuple[Point, bool]:
    """Where a point is drawn: at the edge, and said so, where it lies beyond the scales."""
    x, y = frame.at(mark.x, mark.y)
    left, top, right, bottom = frame.box
    if not math.isfinite(x + y):
        return (x, y), False
    inside = (min(max(x, left), right), min(max(y, top), bottom))
    return inside, math.dist(inside, (x, y)) > 0.01


def _pieces(one: Series, frame: Frame, edge: Sequence[float] | None = None) -> list[Piece]:
    """The visible pieces of a series' line (or of its other edge) on paper."""
    points = (frame.at(x, y) for x, y in zip(one.x, one.y if edge is None else edge, strict=True))
    return [piece for run in split_gaps(points) for piece in clip_run(run, frame.box)]


def _ties(one: Series, frame: Frame, pieces: list[Piece]) -> tuple[Piece, ...]:
    """Lines at which a leader to the series may end: its own, of a band one inside it."""
    if one.band_to is None:
        return tuple(pieces)
    inside = [0.7 * a + 0.3 * b for a, b in zip(one.y, one.band_to, strict=True)]
    return tuple(_pieces(one, frame, inside)) or tuple(pieces)


def _band_end(one: Series, frame: Frame) -> Point | None:
    """The middle of a band's right end."""
    if one.band_to is None:
        return None
    first, other = _pieces(one, frame), _pieces(one, frame, one.band_to)
    if not first or not other or abs(first[-1][-1][0] - other[-1][-1][0]) > 0.1:
        return None
    return (first[-1][-1][0], (first[-1][-1][1] + other[-1][-1][1]) / 2)


def _place_inside(chart: Chart, frame: Frame, entries: list[_Entry], places: dict[str, Spot]) -> set[str]:
    """Put names beside their lines; returns the keys of those for which there is no room."""
    ground = _ground(chart, frame, places)
    failed = set()
    for one in entries:
        if not one.block.lines:
            continue
        spot = (
            find_spot_beside(one.block, one.end, one.key, ground)
            if one.is_mark
            else find_spot(
                one.block, one.pieces, one.key, ground, () if _ends_right(one, frame) else one.ties
            )
        )
        if spot is None:
            failed.add(one.key)
            continue
        places[one.key] = spot
        ground.boxes.append((spot.box, ""))
        if spot.leader:
            ground.leaders.append(spot.leader)
    return failed


def _ground(chart: Chart, frame: Frame, places: dict[str, Spot]) -> Ground:
    """Everything that a name inside the frame must keep clear of."""
    left, top, right, bottom = frame.box
    ground = Ground((left + 0.8, top, right - 1.2, bottom - 0.8))
    for one in _entries(chart, frame, 20.0):
        for piece in one.pieces:
            ground.add_line(piece, one.key)
        if one.is_mark:
            x, y = one.end
            ground.boxes.append(((x - 1.2, y - 1.2, x + 1.2, y + 1.2), one.key))
    for number, series in enumerate(chart.series):
        for piece in _pieces(series, frame, series.band_to) if series.band_to else []:
            ground.add_line(piece, f"series {number}")
    for level in chart.levels:
        if level.axis == "x" and 0 <= frame.x.share(level.value) <= 1:
            x = frame.across(level.value)
            ground.add_line(((x, top), (x, bottom)), "upright")
    for zone in chart.zones:  # dots of the leaders from their names above the frame
        x = (frame.across(zone.low) + frame.across(zone.high)) / 2
        if math.isfinite(x):
            ground.boxes.append(((x - 0.5, top, x + 0.5, top + 1.9), ""))
    for _, (x, y) in _signs(chart, frame):
        ground.boxes.append(((x - SIGN_MM, y - SIGN_MM, x + SIGN_MM, y + SIGN_MM), ""))
    ground.leaders += [spot.leader for spot in places.values() if spot.leader]
    return ground


def _zone_marks(chart: Chart, frame: Frame) -> list[Ink]:
    """Layers as bands, of touching ones every other shaded: those that take less of the chart."""
    _, top, _, bottom = frame.box
    spans = sorted((frame.across(zone.low), frame.across(zone.high)) for zone in chart.zones)
    runs: list[list[tuple[float, float]]] = []
    for low, high in spans:
        if not math.isfinite(low + high) or high - low < 0.01:
            continue
        if runs and low <= runs[-1][-1][1] + 0.01:
            runs[-1].append((low, high))
        else:
            runs.append([(low, high)])
    marks: list[Ink] = []
    for run in runs:
        halves = [run[0::2], run[1::2] or run]
        shaded = min(halves, key=lambda half: sum(high - low for low, high in half))
        for low, high in shaded:
            corners = ((low, top), (high, top), (high, bottom), (low, bottom))
            marks.append(Fill(corners, "pale", name="zone"))
    return marks


def _band_marks(chart: Chart, frame: Frame) -> list[Ink]:
    marks: list[Ink] = []
    for one in chart.series:
        if one.band_to is None:
            continue
        points = [
            frame.at(x, y) + frame.at(x, other) for x, y, other in zip(one.x, one.y, one.band_to, strict=True)
        ]
        runs: list[list[tuple[float, float, float, float]]] = [[]]
        for x, y, _, other in points:
            if math.isfinite(x + y + other):
                runs[-1].append((x, y, x, other))
            else:
                runs.append([])
        for run in runs:
            outline = [(x, y) for x, y, _, _ in run] + [(x, other) for _, _, x, other in run[::-1]]
            inside = clip_outline(outline, frame.box)
            if len(inside) > 2:
                marks.append(Fill(inside, "pale", name="band"))
        marks += [Stroke(piece, PENS["fine"], name="edge") for piece in _pieces(one, frame, one.band_to)]
    return marks


def _level_marks(chart: Chart, frame: Frame) -> list[Ink]:
    left, top, right, bottom = frame.box
    marks: list[Ink] = []
    for level in chart.levels:
        share = (frame.x if level.axis == "x" else frame.y).share(level.value)
        if not 0 <= share <= 1:
            continue
        spot, height = frame.across(level.value), bottom - share * (bottom - top)
        ends = ((spot, top), (spot, bottom)) if level.axis == "x" else ((left, height), (right, height))
        marks.append(Stroke(ends, PENS["narrow"], LEVEL_DASH, name="level"))
    return marks


def _series_marks(chart: Chart, frame: Frame) -> list[Ink]:
    marks: list[Ink] = []
    for one in chart.series:
        pen, dash, soft = STYLES[one.style]
        for piece in _pieces(one, frame):
            if len(piece) == 1:
                marks.append(Disc(piece[0], SIGN_MM, soft=soft))
            else:
                marks.append(Stroke(piece, PENS[pen], dash, soft=soft, name="series"))
    for number, at in _signs(chart, frame):
        marks += _sign(number, at)
    return marks


def _signs(chart: Chart, frame: Frame) -> list[tuple[int, Point]]:
    """Signs along lines of one style: none on the first, another on each that follows; on bands on all."""
    found: list[tuple[int, Point]] = []
    seen: dict[str, int] = {}
    banded = frame.x.kind == "bands"
    for one in chart.series:
        number = seen.get(one.style, 0)
        seen[one.style] = number + 1
        if banded:
            points = [frame.at(x, y) for x, y in zip(one.x, one.y, strict=True)]
            inside = [p for run in split_gaps(points) for q in run for p, *_ in clip_run((q,), frame.box)]
            kind = {"main": 0, "plain": 1, "quiet": 5, "dashed": 3}[one.style] + 2 * number
            found += [(kind, at) for at in inside]
            continue
        if number == 0:
            continue
        pieces = [piece for piece in _pieces(one, frame) if len(piece) > 1]
        step = max((frame.box[2] - frame.box[0]) / 5, 12.0)
        for piece in pieces:
            spots = [at for at, way in walk_back(piece, step / 4) if round(way / step * 4) % 4 == 2]
            found += [(number - 1, at) for at in spots or [piece[len(piece) // 2]]]
    return found


def _sign(number: int, at: Point) -> list[Ink]:
    """A small sign: disc, ring, square, open square, triangle, open triangle; then again from the first."""
    x, y = at
    size = SIGN_MM
    kind, hollow = divmod(number % 6, 2)
    if kind == 0:
        return [Disc(at, size, hollow=bool(hollow))]
    corners = (
        ((x - size, y - size), (x + size, y - size), (x + size, y + size), (x - size, y + size))
        if kind == 1
        else ((x, y - size * 1.2), (x + size * 1.1, y + size * 0.8), (x - size * 1.1, y + size * 0.8))
    )
    if hollow:
        return [Fill(corners, "paper"), Stroke(corners, PENS["narrow"], closed=True, name="sign")]
    return [Fill(corners, name="sign")]
