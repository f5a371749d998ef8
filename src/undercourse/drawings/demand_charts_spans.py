"""How far joists may span at each spacing, with the floor's own span and spacing as a point.

For the span table's method that is the allowable span; for a demand that is held against limits, the span
at which it reaches each of them.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from undercourse.advise.demanding import along_facts, laid_frame
from undercourse.base.columns import Floats
from undercourse.base.domains import Span, show_spec
from undercourse.demands import Demand
from undercourse.drawings.chart_parts import Chart, Mark, Series, Zone
from undercourse.drawings.demand_chart_parts import (
    FLOOR,
    OPEN_NOTE,
    ChartInput,
    Ruler,
    curve,
    fact_span,
    is_exact,
    is_seen,
    is_told,
    is_too_open,
    limit_name,
    open_curve,
    ruler,
    work_out,
    worst_of,
)

_IN, _FT = 0.0254, 0.3048
# Usual spacings: their labels stand under the chart.
_USUAL_IN = ((12.0, "12"), (16.0, "16"), (19.2, "19.2"), (24.0, "24"))
# The factor for joists side by side ends at 24 in: the line falls there.
_SPACINGS = np.sort(np.append(np.linspace(10, 26, 33), 24.001)) * _IN
_SPANS = np.geomspace(4 * _FT, 40 * _FT, 40)
# Where joists could span so many times the floor's own, the limit is better told along the span.
_FAR = 1.7
_ACROSS = ruler("mm", "Joist spacing", low=10.0, high=26.0, ticks=_USUAL_IN)
_UP = ruler("m", "Joist span")


def draw_allowable_span(demand: Demand, given: ChartInput) -> Chart | None:
    """The allowable span against the spacing."""
    worked = work_out(demand, given)
    if worked is None or is_too_open(demand, worked.low, worked.high):
        return None
    spacings = _places(given)
    laid = laid_frame(given.frame, {"joist_spacing": spacings})
    # The span itself is told to the inch; its line is drawn as it is before that.
    ends = (demand.kernel(corner)[1]["least_m"] for corner in demand.corners(laid, given.book.tables))
    hard, soft = (_UP.number(np.broadcast_to(end, spacings.shape)) for end in ends)
    spacing, marks = fact_span(given, "joist_spacing"), _own_point(given)
    if is_exact(spacing):
        text = show_spec(demand.domain, Span(worked.value, worked.value))
        at = float(_ACROSS.number(spacing.low))
        marks = (*marks, Mark(f"allowed: {text}", at, float(_UP.number(worked.value))))
    return _chart(demand.title, open_curve(_ACROSS.number(spacings), hard, soft), marks, given, hard, soft)


def draw_span_at_limits(demand: Demand, given: ChartInput) -> Chart | None:
    """The span at which a demand of joists reaches each of its limits, against the spacing."""
    limits = {float(one["at_most"]): limit_name(one) for one in given.limits if one.get("at_most")}
    worked = work_out(demand, given)
    if not limits or worked is None or is_too_open(demand, worked.low, worked.high):
        return None
    spacings = _places(given)
    grid = {"joist_spacing": np.repeat(spacings, _SPANS.size), "joist_span": np.tile(_SPANS, spacings.size)}
    column = along_facts(demand, given.frame, given.book, grid)
    shape = (spacings.size, _SPANS.size)
    hard, soft = (_UP.number(_reached(ends.reshape(shape), limits)) for ends in worst_of(demand, column))
    x = _ACROSS.number(spacings)
    if _is_far(given, hard, x):
        return None
    lines: list[Series] = []
    for row, name in enumerate(limits.values()):
        if is_seen(hard[row], soft[row]):
            lines.append(curve("", x, soft[row], "quiet", hard[row]))
        lines.append(curve(name.replace("limit", "span at"), x, hard[row], "plain" if row else "main"))
    title = f"{demand.title}: the span at its limit"
    return _chart(title, tuple(lines), _own_point(given), given, hard, soft)


def _is_far(given: ChartInput, hard: Floats, x: Floats) -> bool:
    """Whether the floor's own span lies far below the lowest line, or no line can be drawn."""
    spacing, span = fact_span(given, "joist_spacing"), fact_span(given, "joist_span")
    lowest = np.where(np.isfinite(hard), hard, np.inf).min(axis=0)
    here = np.interp(float(_ACROSS.number(spacing.high)), x, lowest)
    return bool(not np.isfinite(here) or here > _FAR * float(_UP.number(span.high)))


def _places(given: ChartInput) -> Floats:
    """Spacings to work out, the floor's own among them. [m]"""
    if not is_told(given, "joist_spacing"):
        return _SPACINGS
    span = fact_span(given, "joist_spacing")
    return np.unique(np.concatenate([_SPACINGS, [span.low, span.high]]))


def _reached(values: Floats, limits: Iterable[float]) -> Floats:
    """Spans at which rows of rising values reach limits, by powers between the spans worked out. [m]"""
    with np.errstate(divide="ignore"):
        logs = np.log(np.maximum(values, 1e-300))
    spans = np.log(_SPANS)
    rows = [
        [np.interp(np.log(bound), one, spans, left=np.nan, right=np.nan) for one in logs] for bound in limits
    ]
    found: Floats = np.exp(np.array(rows))
    return found


def _own_point(given: ChartInput) -> tuple[Mark, ...]:
    spacing, span = fact_span(given, "joist_spacing"), fact_span(given, "joist_span")
    if not (is_exact(spacing) and is_exact(span)):
        return ()
    domain = given.frame.domain("joist_span")
    x, y = float(_ACROSS.number(spacing.low)), float(_UP.number(span.low))
    return (Mark(f"{FLOOR}: {show_spec(domain, span)}", x, y),)


def _own_range(given: ChartInput, marks: tuple[Mark, ...]) -> tuple[tuple[Zone, ...], tuple[Series, ...]]:
    """Span and spacing of the floor where they are told as ranges: a bar or a box, else a band of spacing."""
    told = is_told(given, "joist_spacing"), is_told(given, "joist_span")
    if any(mark.name.startswith(FLOOR) for mark in marks) or not told[0]:
        return (), ()
    spacing, span = fact_span(given, "joist_spacing"), fact_span(given, "joist_span")
    x = tuple(float(_ACROSS.number(end)) for end in (spacing.low, spacing.high))
    if not told[1]:
        return (() if is_exact(spacing) else (Zone(FLOOR, *x),)), ()
    low, high = (float(_UP.number(end)) for end in (span.low, span.high))
    name = f"{FLOOR}: {show_spec(given.frame.domain('joist_span'), span)}"
    if is_exact(spacing):
        return (), (Series(name, x, (low, high), "main"),)
    return (), (Series(name, x, (low, low), "quiet", (high, high)),)


def _chart(
    title: str,
    lines: tuple[Series, ...],
    marks: tuple[Mark, ...],
    given: ChartInput,
    hard: Floats,
    soft: Floats,
) -> Chart | None:
    if not np.isfinite(hard).any():
        return None
    zones, boxes = _own_range(given, marks)
    note = OPEN_NOTE if boxes or is_seen(hard, soft) else ""
    across = _ruler_for(marks, zones)
    return Chart(title, across.axis, _UP.axis, (*lines, *boxes), marks, (), zones, note)


def _ruler_for(marks: tuple[Mark, ...], zones: tuple[Zone, ...]) -> Ruler:
    """The axis of usual spacings, unless the floor's own lies beyond them."""
    ends = [mark.x for mark in marks] + [end for zone in zones for end in (zone.low, zone.high)]
    beyond = any(not 10.0 <= end <= 26.0 for end in ends)
    return ruler("mm", "Joist spacing") if beyond else _ACROSS
