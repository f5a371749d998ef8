"""Names of a chart's points, limits and lines: inside the frame where there is room, else right of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from undercourse.drawings.chart_frame import Frame, lay_frame
from undercourse.drawings.chart_labels import (
    Block,
    Ground,
    Spot,
    column_spots,
    find_spot,
    find_spot_beside,
    make_block,
)
from undercourse.drawings.chart_lines import Piece
from undercourse.drawings.chart_parts import Chart, Mark, Series
from undercourse.drawings.chart_series import SIGN_MM, band_end, find_signs, line_pieces
from undercourse.drawings.scene import Point

NEAR_EDGE_MM = 7.0  # a line that ends so near to the right side has its name there
MOST_INSIDE = 4  # names of lines that a frame with a second ruler on its right may hold


@dataclass(frozen=True)
class Entry:
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


def settle_names(chart: Chart, width: float, height: float) -> tuple[Frame, list[Entry], dict[str, Spot]]:
    """Frame and places of all names: tried with the fewest names right of the frame, then with more.

    Every round moves at least one name out of the frame, widens the gap or raises the sheet, each only once
    or up to what the names need, so the rounds end.
    """
    room = min(max(width * 0.26, 20.0), 42.0)
    outside: set[str] = set()
    gap = 1.8
    frame = lay_frame(chart, width, height, 10.0, gap)
    ending = {one.key for one in _entries(chart, frame, room) if _ends_right(one, frame)}
    if chart.y.second is None or len(ending) > MOST_INSIDE:
        outside = ending
    while True:
        names = {one.key: one.block for one in _entries(chart, frame, room)}
        names_mm = max((block.width for key, block in names.items() if key in outside), default=0.0)
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


def _ends_right(entry: Entry, frame: Frame) -> bool:
    """Whether a line's end is near enough to the right side for its name to stand there."""
    near = NEAR_EDGE_MM
    if frame.x.kind == "bands":
        near = max(near, (frame.box[2] - frame.box[0]) / max(len(frame.x.bands), 1) / 2 + 0.1)
    narrow = bool(entry.ties) and entry.ties != entry.pieces and _thin_at_end(entry)
    return not (entry.is_mark or narrow) and bool(entry.block.lines) and frame.box[2] - entry.end[0] <= near


def _thin_at_end(entry: Entry) -> bool:
    """Whether a band ends so thin that a name at its end could be any line's."""
    return abs(entry.pieces[-1][-1][1] - entry.end[1]) < 1.5


def _entries(chart: Chart, frame: Frame, room: float) -> list[Entry]:
    """Points first, then levels, then lines: whose name is placed first has the best choice."""
    entries = []
    for number, mark in enumerate(chart.marks):
        at, beyond = _mark_point(mark, frame)
        if math.isfinite(at[0] + at[1]):
            name = f"{mark.name}, beyond this chart" if beyond else mark.name
            block = make_block(name, room * 1.3, bold=True)
            entries.append(Entry(f"mark {number}", block, (), at, is_mark=True))
    left, _, right, _ = frame.box
    for number, level in enumerate(chart.levels):
        share = frame.y.share(level.value)
        if level.axis == "y" and 0 <= share <= 1:
            y = frame.at(math.nan, level.value)[1]
            block = make_block(level.name, room)
            entries.append(Entry(f"level {number}", block, (((left, y), (right, y)),), (right, y)))
    for number, one in enumerate(chart.series):
        pieces = line_pieces(one, frame)
        if pieces:
            end = band_end(one, frame) or pieces[-1][-1]
            block = make_block(one.name, room)
            entries.append(Entry(f"series {number}", block, tuple(pieces), end, _ties(one, frame, pieces)))
    return entries


def _mark_point(mark: Mark, frame: Frame) -> tuple[Point, bool]:
    """Where a point is drawn: at the edge, and said so, where it lies beyond the scales."""
    x, y = frame.at(mark.x, mark.y)
    left, top, right, bottom = frame.box
    if not math.isfinite(x + y):
        return (x, y), False
    inside = (min(max(x, left), right), min(max(y, top), bottom))
    return inside, math.dist(inside, (x, y)) > 0.01


def _ties(one: Series, frame: Frame, pieces: list[Piece]) -> tuple[Piece, ...]:
    """Lines at which a leader to the series may end: its own, of a band one inside it."""
    if one.band_to is None:
        return tuple(pieces)
    inside = [0.7 * a + 0.3 * b for a, b in zip(one.y, one.band_to, strict=True)]
    return tuple(line_pieces(one, frame, inside)) or tuple(pieces)


def _place_inside(chart: Chart, frame: Frame, entries: list[Entry], places: dict[str, Spot]) -> set[str]:
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
        for piece in line_pieces(series, frame, series.band_to) if series.band_to else []:
            ground.add_line(piece, f"series {number}")
    for level in chart.levels:
        if level.axis == "x" and 0 <= frame.x.share(level.value) <= 1:
            x = frame.across(level.value)
            ground.add_line(((x, top), (x, bottom)), "upright")
    for zone in chart.zones:  # dots of the leaders from their names above the frame
        x = (frame.across(zone.low) + frame.across(zone.high)) / 2
        if math.isfinite(x):
            ground.boxes.append(((x - 0.5, top, x + 0.5, top + 1.9), ""))
    for _, (x, y) in find_signs(chart, frame):
        ground.boxes.append(((x - SIGN_MM, y - SIGN_MM, x + SIGN_MM, y + SIGN_MM), ""))
    ground.leaders += [spot.leader for spot in places.values() if spot.leader]
    return ground
