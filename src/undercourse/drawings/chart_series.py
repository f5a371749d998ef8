"""What a chart is drawn of: layers, bands, limits and lines with the signs that tell lines apart."""

from __future__ import annotations

import math
from collections.abc import Sequence

from undercourse.drawings.chart_frame import Frame
from undercourse.drawings.chart_lines import Piece, clip_outline, clip_run, split_gaps, walk_back
from undercourse.drawings.chart_parts import Chart, Series
from undercourse.drawings.scene import Point
from undercourse.drawings.sheet import PENS, Disc, Fill, Mark, Stroke

# Pen, dash and tone of each style.
STYLES: dict[str, tuple[str, str, bool]] = {
    "main": ("wide", "", False),
    "plain": ("medium", "", False),
    "quiet": ("narrow", "", True),
    "dashed": ("medium", "2.4 0.9", False),
}
LEVEL_DASH = "6 1 0.6 1"
SIGN_MM = 0.85


def line_pieces(one: Series, frame: Frame, edge: Sequence[float] | None = None) -> list[Piece]:
    """The visible pieces of a series' line (or of its other edge) on paper."""
    points = (frame.at(x, y) for x, y in zip(one.x, one.y if edge is None else edge, strict=True))
    return [piece for run in split_gaps(points) for piece in clip_run(run, frame.box)]


def band_end(one: Series, frame: Frame) -> Point | None:
    """The middle of a band's right end."""
    if one.band_to is None:
        return None
    first, other = line_pieces(one, frame), line_pieces(one, frame, one.band_to)
    if not first or not other or abs(first[-1][-1][0] - other[-1][-1][0]) > 0.1:
        return None
    return (first[-1][-1][0], (first[-1][-1][1] + other[-1][-1][1]) / 2)


def zone_marks(chart: Chart, frame: Frame) -> list[Mark]:
    """Layers as bands, of touching ones every other shaded: those that take less of the chart."""
    _, top, _, bottom = frame.box
    spans = sorted(
        (min(ends), max(ends))
        for zone in chart.zones
        for ends in [(frame.across(zone.low), frame.across(zone.high))]
    )
    runs: list[list[tuple[float, float]]] = []
    for low, high in spans:
        if not math.isfinite(low + high) or high - low < 0.01:
            continue
        if runs and low <= runs[-1][-1][1] + 0.01:
            runs[-1].append((low, high))
        else:
            runs.append([(low, high)])
    marks: list[Mark] = []
    for run in runs:
        halves = [run[0::2], run[1::2] or run]
        shaded = min(halves, key=lambda half: sum(high - low for low, high in half))
        for low, high in shaded:
            corners = ((low, top), (high, top), (high, bottom), (low, bottom))
            marks.append(Fill(corners, "pale", name="zone"))
    return marks


def band_marks(chart: Chart, frame: Frame) -> list[Mark]:
    marks: list[Mark] = []
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
        marks += [Stroke(piece, PENS["fine"], name="edge") for piece in line_pieces(one, frame, one.band_to)]
    return marks


def level_marks(chart: Chart, frame: Frame) -> list[Mark]:
    left, top, right, bottom = frame.box
    marks: list[Mark] = []
    for level in chart.levels:
        share = (frame.x if level.axis == "x" else frame.y).share(level.value)
        if not 0 <= share <= 1:
            continue
        spot, height = frame.across(level.value), bottom - share * (bottom - top)
        ends = ((spot, top), (spot, bottom)) if level.axis == "x" else ((left, height), (right, height))
        marks.append(Stroke(ends, PENS["narrow"], LEVEL_DASH, name="level"))
    return marks


def series_marks(chart: Chart, frame: Frame) -> list[Mark]:
    marks: list[Mark] = []
    for one in chart.series:
        pen, dash, soft = STYLES[one.style]
        for piece in line_pieces(one, frame):
            if len(piece) == 1:
                marks.append(Disc(piece[0], SIGN_MM, soft=soft))
            else:
                marks.append(Stroke(piece, PENS[pen], dash, soft=soft, name="series"))
    for number, at in find_signs(chart, frame):
        marks += _sign(number, at)
    return marks


def find_signs(chart: Chart, frame: Frame) -> list[tuple[int, Point]]:
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
        pieces = [piece for piece in line_pieces(one, frame) if len(piece) > 1]
        step = max((frame.box[2] - frame.box[0]) / 5, 12.0)
        for piece in pieces:
            spots = [at for at, way in walk_back(piece, step / 4) if round(way / step * 4) % 4 == 2]
            found += [(number - 1, at) for at in spots or [piece[len(piece) // 2]]]
    return found


def _sign(number: int, at: Point) -> list[Mark]:
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
