"""Rulers of a chart: lines, ticks and round numbers of both units, and the pale lines that lead to them."""

from __future__ import annotations

from collections.abc import Sequence

from undercourse.drawings.chart_frame import (
    ROW_MM,
    TICK_MM,
    TITLE_MM,
    TITLE_SHARE,
    Frame,
    has_top,
    note_lines,
    title_lines,
)
from undercourse.drawings.chart_lines import Box
from undercourse.drawings.chart_parts import Chart
from undercourse.drawings.chart_scale import axis_ticks, second_ticks
from undercourse.drawings.lettering import SMALL, text_width
from undercourse.drawings.sheet import PENS, Fill, Mark, Stroke, Words

Placed = tuple[float, str]  # millimetres on paper, label


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
    if second and has_top(chart, frame.strip):
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
    for words in title_lines(chart.x, frame.width * TITLE_SHARE):
        y += TITLE_MM
        marks += [Words((start + at, y - 0.9), text, SMALL, soft=soft) for at, text, soft in words]
    y += 1.2
    for line_of_note in note_lines(chart, frame.width):
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
