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
from undercourse.drawings.sheet import Mark, Words

TICK_MM, ROW_MM, TITLE_MM = 1.2, 4.8, 3.8
X_STEP_MM, Y_STEP_MM = 17.0, 9.0  # at least so far apart are numbers along a scale
NARROWEST_MM, LOWEST_MM, PLOT_MM = 60.0, 40.0, 22.0
TITLE_SHARE = 0.72  # of the width of the sheet, for the name of the x scale


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
    if has_top(chart, strip):
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
    room = (0.05 if axis == "y" else 0.03) * (scale.high - scale.low)
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
    ends = [(zone.name, frame.across(zone.low), frame.across(zone.high)) for zone in chart.zones]
    flags = [Flag(name, min(a, b), max(a, b)) for name, a, b in ends]
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
    rows = list(title_lines(chart.y, room)) or ([[]] if unit else [])
    if unit:
        marks.append(Words((width, y + TITLE_MM - 0.9), unit, SMALL, "end", soft=True))
    for words in rows:
        y += TITLE_MM
        marks += [Words((at, y - 0.9), text, SMALL, soft=soft) for at, text, soft in words]
    return marks, y


def title_lines(axis: Axis, room: float) -> Iterator[list[tuple[float, str, bool]]]:
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


def note_lines(chart: Chart, width: float) -> list[str]:
    return wrap_text(chart.note, width, SMALL)


def has_top(chart: Chart, strip: Strip) -> bool:
    return chart.x.second is not None and chart.x.scale != "bands" and not strip.flags


def _twin(chart: Chart) -> bool:
    """Whether the second unit of x stands under the first, because names take the room above the frame."""
    named = any(zone.name.strip() for zone in chart.zones)
    named = named or any(level.axis == "x" and level.name.strip() for level in chart.levels)
    return chart.x.second is not None and chart.x.scale != "bands" and named


def _foot_mm(chart: Chart, width: float) -> float:
    """Height under the frame: numbers, name of the scale, note."""
    titles = len(list(title_lines(chart.x, width * TITLE_SHARE)))
    notes = len(note_lines(chart, width))
    rows = ROW_MM * (2 if _twin(chart) else 1)
    return rows + 0.6 + TITLE_MM * titles + (notes * SMALL * 1.3 + 1.2 if notes else 0.0) + 0.4
