"""What a chart shows, in sentences for people who do not see it."""

from __future__ import annotations

from undercourse.drawings.chart_parts import Axis, Chart, Series
from undercourse.drawings.chart_scale import is_number, number_text

NOTHING = "Nothing to show: there are no numbers for this chart."


def chart_text(chart: Chart) -> str:
    """One sentence for the axes, then one for each line, point, level and zone, in both units.

    Returns
    -------
    str
        Plain text, used as the description of the drawing.
    """
    head = f"{chart.title.rstrip('.')}." if chart.title.strip() else ""
    if not has_points(chart):
        return " ".join(part for part in (head, NOTHING, chart.note) if part)
    parts = [head, f"{_axis_text(chart.x)} runs across, {_axis_text(chart.y)} upward."]
    parts += [_series_text(one, chart) for one in chart.series]
    parts += [
        f"{mark.name or 'Point'}: {value_text(mark.y, chart.y)} at {value_text(mark.x, chart.x)}."
        for mark in chart.marks
    ]
    for level in chart.levels:
        axis = chart.x if level.axis == "x" else chart.y
        parts.append(f"{level.name or 'Level'}: {value_text(level.value, axis)}.")
    parts += [
        f"{zone.name or 'Zone'}: from {value_text(zone.low, chart.x)} to {value_text(zone.high, chart.x)}."
        for zone in chart.zones
    ]
    return " ".join(part for part in (*parts, chart.note) if part)


def has_points(chart: Chart) -> bool:
    """Whether any line or point of the chart can be drawn."""
    return any(shown_points(one, chart) for one in chart.series) or any(
        _is_shown(mark.x, chart.x) and _is_shown(mark.y, chart.y) for mark in chart.marks
    )


def _is_shown(value: float, axis: Axis) -> bool:
    return is_number(value, axis.scale == "log")


def shown_points(one: Series, chart: Chart) -> list[tuple[float, float, float]]:
    """Points of a series that have a place on the chart: x, y and the other edge (without a band y again)."""
    edge = one.y if one.band_to is None else one.band_to
    return [
        (x, y, other)
        for x, y, other in zip(one.x, one.y, edge, strict=True)
        if _is_shown(x, chart.x) and _is_shown(y, chart.y) and _is_shown(other, chart.y)
    ]


def value_text(value: float, axis: Axis) -> str:
    """A value with its unit, the second unit in brackets."""
    if not is_number(value):
        return "not known"
    named = next((label for at, label in axis.ticks or () if at == value), None)
    text = named if named and axis.scale == "bands" else number_text(value)
    first = f"{text} {axis.unit}".strip()
    if axis.second is None:
        return first
    unit, factor, offset = axis.second
    return f"{first} ({number_text(value * factor + offset)} {unit})"


def _axis_text(axis: Axis) -> str:
    units = ", ".join(unit for unit in (axis.unit, axis.second[0] if axis.second else "") if unit)
    return f"{axis.label or 'Value'} [{units}]" if units else axis.label or "Value"


def _series_text(one: Series, chart: Chart) -> str:
    name = one.name.strip() or "Line"
    points = shown_points(one, chart)
    if not points:
        return f"{name}: no numbers."
    gaps = " It has gaps." if len(points) < len(one.x) else ""
    (x, *first), (x_end, *last) = points[0], points[-1]

    def at(place: float) -> str:
        return f"at {value_text(place, chart.x)}"

    if one.band_to is not None:
        ends = [
            f"from {value_text(min(pair), chart.y)} to {value_text(max(pair), chart.y)}"
            for pair in (first, last)
        ]
        tail = f", and {ends[1]} {at(x_end)}" if len(points) > 1 else ""
        return f"{name}: {ends[0]} {at(x)}{tail}.{gaps}"
    start, end = value_text(first[0], chart.y), value_text(last[0], chart.y)
    if len(points) == 1:
        return f"{name}: {start} {at(x)}.{gaps}"
    low, high = min(points, key=lambda p: p[1]), max(points, key=lambda p: p[1])
    if low[1] == high[1]:
        span = f"from {value_text(x, chart.x)} to {value_text(x_end, chart.x)}"
        return f"{name}: {start} throughout, {span}.{gaps}"
    verb = "rises" if last[0] > first[0] else "falls" if last[0] < first[0] else "goes"
    middle = ""
    for word, peak in (("lowest", low), ("highest", high)):
        if peak[1] not in (first[0], last[0]):
            middle += f", {word} {value_text(peak[1], chart.y)} {at(peak[0])}"
    return f"{name}: {verb} from {start} {at(x)} to {end} {at(x_end)}{middle}.{gaps}"
