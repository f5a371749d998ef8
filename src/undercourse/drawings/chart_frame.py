"""The frame of a chart: room for title, scales and names, and the scales with their numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from undercourse.drawings.chart_lines import Box
from undercourse.drawings.chart_parts import Axis, Chart
from undercourse.drawings.chart_scale import Scale, axis_ticks, fit_scale, second_ticks
from undercourse.drawings.chart_strip import Flag, Strip, lay_strip
from undercourse.drawings.chart_words import shown_points
from undercourse.drawings.lettering import NORMAL, SMALL, shorten, text_width, wrap_text
from undercourse.drawings.scene import Point
from undercourse.drawings.sheet import PENS, Fill, Mark, Stroke, Words

TICK_MM, ROW_MM, TITLE_MM = 1.2, 4.8, 3.8
X_STEP_MM, Y_STEP_MM = 17.0, 9.0  # at least so far apart are numbers along a scale
NARROWEST_MM, LOWEST_MM, PLOT_MM = 60.0, 40.0, 22.0
TITLE_SHARE = 0.72  # of the width of the sheet, for the name of the x scale
Placed = tuple[float, str]  # millimetres on paper, label


@dataclass(frozen=True)
class Frame:
    """Where everything lies on the sheet. [mm]"""

    box: Box
    width: float
    height: float
    x: Scale
    y: Scale
    head: tuple[Mark, ...]
    strip: Strip
    column: float  # where names right of the frame start
    second_y: float  # where the second scale stands
    steps: tuple[int, int]  # at most so many steps between numbers, of x and of y

    def at(self, x: float, y: float) -> Point:
        """The point on paper of a pair of values; NaN where one has no place."""
        left, top, right, bottom = self.box
        across, up = self.x.share(x), self.y.share(y)
        return (
            _snap(left + across * (right - left), left, right),
            _snap(bottom - up * (bottom - top), top, bottom),
        )

    def across(self, x: float) -> float:
        """Position on paper of a value of x, kept inside the frame."""
        return min(max(self.box[0] + self.x.share(x) * (self.box[2] - self.box[0]), self.box[0]), self.box[2])


def _snap(place: float, low: float, high: float) -> float:
    """A place on paper, exactly at an end of the scale where only rounding keeps it off."""
    return low if abs(place - low) < 1e-6 else high if abs(place - high) < 1e-6 else place


def lay_frame(chart: Chart, width: float, height: float, names_mm: float, gap_mm: float) -> Frame:
    """The frame of a chart on a sheet, with ``names_mm`` for names right of it, ``gap_mm`` apart from it."""
    xs, ys = _values(chart)
    head, top = _head(chart, width)
    foot = _foot_mm(chart, width)
    steps = _steps(height - top - foot, Y_STEP_MM)
    y = fit_scale(chart.y, ys, steps, rounded=chart.y.ticks is None)
    y = fit_scale(chart.y, [*ys, *_beside_levels(chart, y, "y")], steps, rounded=chart.y.ticks is None)
    x = fit_scale(chart.x, xs, 6, rounded=False)
    x = fit_scale(chart.x, [*xs, *_beside_levels(chart, x, "x")], 6, rounded=False)
    y_labels = [label for _, label in axis_ticks(chart.y, y, steps)]
    second = [label for _, label in second_ticks(chart.y, y, steps)]
    overhang = _overhang(chart.x, x, width)
    left = max(_widest(y_labels) + TICK_MM + 1.4, overhang[0])
    second_y = width - _widest(second) - TICK_MM - 1.4 if second else width
    column = second_y - names_mm - (2.0 if second and names_mm else 0.0)
    right = min(column - gap_mm if names_mm else second_y, width - overhang[1])
    if right < left + PLOT_MM:
        return lay_frame(chart, width + left + PLOT_MM - right + 0.1, height, names_mm, gap_mm)
    both = (_steps(right - left, X_STEP_MM, 8), steps)
    none = Strip((), (), (), (), ())
    probe = Frame((left, 0.0, right, 1.0), width, height, x, y, (), none, 0.0, 0.0, both)
    strip = lay_strip(_flags(chart, probe), 0.0, width)
    top += strip.height
    if _has_top(chart, strip):
        top += ROW_MM
    top += SMALL * 0.5 + 0.6
    bottom = max(height - foot, top + PLOT_MM)
    box = (left, top, right, bottom)
    return Frame(box, width, bottom + foot, x, y, tuple(head), strip, right + gap_mm, second_y, both)


def _steps(length: float, step: float, most: int = 6) -> int:
    return min(max(int(length / step), 2), most)


def _values(chart: Chart) -> tuple[list[float], list[float]]:
    """All values that the x and the y scale must hold."""
    points = [point for one in chart.series for point in shown_points(one, chart)]
    xs = [x for x, _, _ in points] + [v for zone in chart.zones for v in (zone.low, zone.high)]
    ys = [v for _, y, edge in points for v in (y, edge)]
    if chart.x.scale != "bands":
        xs += [mark.x for mark in chart.marks]
        xs += [level.value for level in chart.levels if level.axis == "x"]
    ys += [mark.y for mark in chart.marks]
    ys += [level.value for level in chart.levels if level.axis == "y"]
    return xs, ys


def _beside_levels(chart: Chart, scale: Scale, axis: str) -> list[float]:
    """Values just beyond levels and points that would lie at an end of the scale, hard to see there."""
    if scale.kind != "linear":
        return []
    room = 0.05 * (scale.high - scale.low)
    values = [level.value for level in chart.levels if level.axis == axis]
    values += [mark.y if axis == "y" else mark.x for mark in chart.marks]
    values = [value for value in values if value]  # zero is at home at the foot
    above = [value for value in values if value > scale.high - room]
    above = [min(value + room, 0.0) if value < 0 else value + room for value in above]
    below = [value for value in values if value < scale.low + room]
    return above + [max(value - room, 0.0) if value > 0 else value - room for value in below]


def _widest(labels: Sequence[str]) -> float:
    return max((text_width(label, SMALL) for label in labels), default=0.0)


def _overhang(axis: Axis, scale: Scale, width: float) -> tuple[float, float]:
    """Room that numbers under the frame need left and right of it."""
    steps = _steps(width * 0.7, X_STEP_MM, 8)
    ticks, second = axis_ticks(axis, scale, steps), second_ticks(axis, scale, steps)
    half = max(_widest([label for _, label in (*ticks, *second)]) / 2, 2.0)
    units = _widest([axis.unit, axis.second[0]]) + 2.4 if axis.second and second else 0.0
    return half + units, half


def _flags(chart: Chart, frame: Frame) -> list[Flag]:
    flags = [Flag(zone.name, frame.across(zone.low), frame.across(zone.high)) for zone in chart.zones]
    for level in chart.levels:
        if level.axis == "x" and 0 <= frame.x.share(level.value) <= 1:
            flags.append(Flag(level.name, frame.across(level.value), frame.across(level.value)))
    return [flag for flag in flags if math.isfinite(flag.middle)]


def _head(chart: Chart, width: float) -> tuple[list[Mark], float]:
    """Title and name of the upright scale with its units; the foot of the last line."""
    marks: list[Mark] = []
    y = 0.0
    for line in wrap_text(chart.title, width, NORMAL, bold=True):
        y += NORMAL * 1.25
        marks.append(Words((0.0, y - 0.8), line, NORMAL, bold=True))
    y += 1.6 if marks else 0.0
    unit = f"[{chart.y.second[0]}]" if chart.y.second else ""
    room = width - text_width(unit, SMALL) - 4.0
    rows = list(_title_lines(chart.y, room))
    if unit:
        marks.append(Words((width, y + TITLE_MM - 0.9), unit, SMALL, "end", soft=True))
    for words in rows:
        y += TITLE_MM
        marks += [Words((at, y - 0.9), text, SMALL, soft=soft) for at, text, soft in words]
    return marks, y


def _title_lines(axis: Axis, room: float) -> Iterator[list[tuple[float, str, bool]]]:
    """Lines of an axis name: place, text and whether it is a unit, which is set in a lighter tone."""
    unit = f"[{shorten(axis.unit, room / 2, SMALL)}]" if axis.unit else ""
    lines = wrap_text(axis.label, room, SMALL)
    for line in lines[:-1]:
        yield [(0.0, line, False)]
    last = lines[-1] if lines else ""
    after = text_width(last + " ", SMALL) if last else 0.0
    if unit and after + text_width(unit, SMALL) > room:
        yield [(0.0, last, False)]
        yield [(0.0, unit, True)]
    elif last or unit:
        yield [part for part in ((0.0, last, False), (after, unit, True)) if part[1]]


def _note_lines(chart: Chart, width: float) -> list[str]:
    return wrap_text(chart.note, width, SMALL)


def _has_top(chart: Chart, strip: Strip) -> bool:
    return chart.x.second is not None and chart.x.scale != "bands" and not strip.flags


def _twin(chart: Chart) -> bool:
    """Whether the second unit of x stands under the first, because names take the room above the frame."""
    named = any(zone.name.strip() for zone in chart.zones)
    named = named or any(level.axis == "x" and level.name.strip() for level in chart.levels)
    return chart.x.second is not None and chart.x.scale != "bands" and named


def _foot_mm(chart: Chart, width: float) -> float:
    """Height under the frame: numbers, name of the scale, note."""
    titles = len(list(_title_lines(chart.x, width * TITLE_SHARE)))
    notes = len(_note_lines(chart, width))
    rows = ROW_MM * (2 if _twin(chart) else 1)
    return rows + 0.6 + TITLE_MM * titles + (notes * SMALL * 1.3 + 1.2 if notes else 0.0) + 0.4


def thin_out(labels: Sequence[Placed], needs: float | None = None) -> list[Placed]:
    """Every label, or every second, third ... so that none touches the next.

    ``needs`` is the room of one label along the scale; None takes its width.
    """
    for step in range(1, len(labels) + 1):
        kept = list(labels[::step])
        sizes = [text_width(label, SMALL) + 2.2 if needs is None else needs for _, label in kept]
        pairs = zip(kept, kept[1:], sizes, sizes[1:], strict=False)
        if all(abs(b[0] - a[0]) >= (p + q) / 2 for a, b, p, q in pairs):
            return kept
    return list(labels[:1])


def scale_marks(chart: Chart, frame: Frame) -> list[Mark]:
    """Lines, ticks and numbers of both scales, the name of the x scale and the note."""
    left, top, right, bottom = frame.box
    pen = PENS["narrow"]
    marks: list[Mark] = [Stroke(((left, top), (left, bottom), (right, bottom)), pen, name="axis")]
    steps = frame.steps[1]
    for y, label in _y_labels(axis_ticks(chart.y, frame.y, steps), frame):
        marks += _side_tick(left, y, -1, label)
    for y, label in _y_labels(second_ticks(chart.y, frame.y, steps), frame):
        marks += _side_tick(frame.second_y, y, 1, label)
    if frame.second_y < frame.width:
        edge = ((frame.second_y, top), (frame.second_y, bottom))
        marks.append(Stroke(edge, PENS["fine"], soft=True, name="axis"))
    marks += _x_scale(chart, frame)
    return marks


def _y_labels(ticks: Sequence[Placed], frame: Frame) -> list[Placed]:
    _, top, _, bottom = frame.box
    return thin_out([(bottom - frame.y.share(v) * (bottom - top), label) for v, label in ticks], SMALL * 1.25)


def _side_tick(x: float, y: float, way: int, label: str) -> list[Mark]:
    anchor = "end" if way < 0 else "start"
    at = (x + way * (TICK_MM + 0.9), y + SMALL * 0.33)
    tick = Stroke(((x, y), (x + way * TICK_MM, y)), PENS["narrow"] if way < 0 else PENS["fine"], soft=way > 0)
    return [tick, Words(at, label, SMALL, anchor, soft=True)]


def _x_scale(chart: Chart, frame: Frame) -> list[Mark]:
    left, top, right, bottom = frame.box
    steps = frame.steps[0]
    first = _x_labels(axis_ticks(chart.x, frame.x, steps), frame)
    second = _x_labels(second_ticks(chart.x, frame.x, steps), frame)
    marks = _level_row(first, bottom, 1, soft=False)
    labeled = {x for x, _ in first}
    for x in map(frame.across, frame.x.bands):
        if x not in labeled:
            marks.append(Stroke(((x, bottom), (x, bottom + TICK_MM / 2)), PENS["narrow"]))
    foot = bottom + ROW_MM
    unit_at: list[tuple[float, str, list[Placed]]] = []
    if second and _has_top(chart, frame.strip):
        marks += _level_row(second, top, -1, soft=True)
        if chart.x.second:
            unit_at.append((top - TICK_MM - 1.4, chart.x.second[0], second))
    elif second and chart.x.second:
        line = bottom + ROW_MM + 0.2
        marks.append(Stroke(((left, line), (right, line)), PENS["fine"], soft=True, name="axis"))
        marks += _level_row(second, line, 1, soft=True)
        unit_at.append((line + TICK_MM + 2.4, chart.x.second[0], second))
        unit_at.append((bottom + TICK_MM + 2.4, chart.x.unit, first))
        foot = line + ROW_MM
    for base, unit, labels in unit_at:
        edge = min(left, labels[0][0] - text_width(labels[0][1], SMALL) / 2)
        marks.append(Words((edge - 2.2, base), unit, SMALL, "end", soft=True))
    y = foot + 0.6
    start = min(left, frame.width * (1 - TITLE_SHARE))
    for words in _title_lines(chart.x, frame.width * TITLE_SHARE):
        y += TITLE_MM
        marks += [Words((start + at, y - 0.9), text, SMALL, soft=soft) for at, text, soft in words]
    y += 1.2
    for line_of_note in _note_lines(chart, frame.width):
        y += SMALL * 1.3
        marks.append(Words((0.0, y - 0.9), line_of_note, SMALL, soft=True))
    return marks


def _x_labels(ticks: Sequence[Placed], frame: Frame) -> list[Placed]:
    labels = [(frame.across(value), label) for value, label in ticks]
    if frame.x.kind == "bands" and len(labels) > 6 and len(thin_out(labels)) < len(labels):
        return thin_out(labels[1::3])  # of third octaves from 100 Hz: 125, 250, 500 ...
    return thin_out(labels)


def _level_row(labels: Sequence[Placed], y: float, way: int, *, soft: bool) -> list[Mark]:
    """Ticks along a level scale with their numbers under it (``way`` 1) or over it (-1)."""
    marks: list[Mark] = []
    pen = PENS["fine"] if soft else PENS["narrow"]
    base = y + TICK_MM + 2.4 if way > 0 else y - TICK_MM - 1.4
    for x, label in labels:
        marks.append(Stroke(((x, y), (x, y + way * TICK_MM)), pen, soft=soft))
        marks.append(Words((x, base), label, SMALL, "middle", soft=True))
    return marks


def grid_marks(chart: Chart, frame: Frame, names: Sequence[Box]) -> list[Mark]:
    """Pale level lines at the numbers of the y scale, left out behind names."""
    left, _, right, bottom = frame.box
    marks: list[Mark] = []
    for y, _ in _y_labels(axis_ticks(chart.y, frame.y, frame.steps[1]), frame):
        if abs(y - bottom) < 0.3:
            continue
        start = left
        for box in sorted(box for box in names if box[1] - 0.2 < y < box[3] + 0.2):
            if box[0] - 0.6 > start:
                marks.append(_hairline(start, box[0] - 0.6, y))
            start = max(start, box[2] + 0.6)
        if right > start:
            marks.append(_hairline(start, right, y))
    return marks


def _hairline(start: float, end: float, y: float) -> Fill:
    half = PENS["narrow"] / 2
    corners = ((start, y - half), (end, y - half), (end, y + half), (start, y + half))
    return Fill(corners, "pale", name="grid")
