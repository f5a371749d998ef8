"""Shrinkage of a slab that is still to come against its age, by each model whole."""

from __future__ import annotations

import numpy as np

from undercourse.advise.demanding import along_fact
from undercourse.advise.findings import row_column
from undercourse.base.columns import Floats
from undercourse.demands import DEMANDS, Demand
from undercourse.drawings.chart_parts import Chart, Level, Mark, Series, Zone
from undercourse.drawings.demand_chart_parts import (
    FLOOR,
    ChartInput,
    Ruler,
    curve,
    fact_span,
    floor_mark,
    is_exact,
    is_told,
    limit_levels,
    ruler,
    scalar,
    work_out,
)

AGE = "slab_age_for_remainder"
MODELS = {
    "slab_remaining_shrinkage": "ACI 209",
    "slab_remaining_shrinkage_mc90": "Model Code 1990",
    "slab_remaining_shrinkage_gl2000": "GL2000",
    "slab_remaining_shrinkage_by_size": "ACI 209, time by size",
}
# What the models take of the floor.
_SAID = ("slab_thickness", "service_humidity")
_POINTS, _DAY = 73, 86400.0
_TICKS = ((3.0, "3 d"), (7.0, "7 d"), (14.0, "14 d"), (28.0, "28 d"), (90.0, "90 d"), (180.0, "180 d"))
_LATER = ((365.25, "1 y"), (730.5, "2 y"), (1826.25, "5 y"), (3652.5, "10 y"))
# Ages in days: where the chart starts, for a young slab, and where it ends.
_FIRST, _YOUNG, _LAST = 14.0, 3.0, 3652.5
_STRAIN = ruler("micro", "Shrinkage still to come")
_NOTE = "Shaded: from the gentlest to the worst mix and scatter of one model; the others by their worst ends."


def draw_shrinkage_left(demand: Demand, given: ChartInput) -> Chart | None:
    """What is left by the demand's model as a band, by the others as lines."""
    if not all(is_told(given, fact) for fact in _SAID):
        return None
    ages = _ages(given)
    across = _across(given)
    main = demand.name if demand.name in MODELS else "slab_remaining_shrinkage_by_size"
    lines: list[Series] = []
    x = across.number(ages)
    for name, title in MODELS.items():
        if not _holds(DEMANDS[name], given):
            continue
        column = along_fact(DEMANDS[name], given.frame, given.book, "slab_age", ages)
        hard, soft = _STRAIN.number(column.high), _STRAIN.number(column.low)
        if name == main:
            lines = [curve("", x, soft, "quiet", hard), curve(title, x, hard), *lines]
        elif name != "slab_remaining_shrinkage_by_size" or main != "slab_remaining_shrinkage":
            lines.append(curve(title, x, hard, "plain"))
    if not lines or lines[0].name:
        return None
    return Chart(
        "Shrinkage of the slab still to come, by its age",
        across.axis,
        _STRAIN.axis,
        tuple(lines),
        _marks(demand, given),
        _levels(demand, given),
        _zones(given),
        _NOTE,
    )


def _first(given: ChartInput) -> float:
    age = fact_span(given, "slab_age")
    return _YOUNG if is_told(given, "slab_age") and age.low < _FIRST * _DAY else _FIRST


def _across(given: ChartInput) -> Ruler:
    ticks = (*_TICKS, *_LATER)
    return ruler("day", "Age of the slab", scale="log", low=_first(given), high=_LAST, ticks=ticks)


def _ages(given: ChartInput) -> Floats:
    """Ages to work out, the slab's own among them. [s]"""
    age, first = fact_span(given, "slab_age"), _first(given)
    ages = np.geomspace(first, _LAST, _POINTS) * _DAY
    if not is_told(given, "slab_age"):
        return ages
    return np.unique(np.concatenate([ages, np.clip([age.low, age.high], first * _DAY, _LAST * _DAY)]))


def _holds(demand: Demand, given: ChartInput) -> bool:
    """Whether a model is valid for the slab, and surely a slab of concrete."""
    columns = demand.inputs(given.frame, given.book.tables)
    if not bool(demand.holds({name: row_column(one, 0) for name, one in columns.items()}).must.all()):
        return False
    ends = row_column(demand.value(given.frame, given.book.tables), 0)
    return scalar(ends.high) > 0


def _marks(demand: Demand, given: ChartInput) -> tuple[Mark, ...]:
    worked = work_out(demand, given)
    if worked is None:
        return ()
    if demand.name == AGE:
        remainder = scalar(worked.point["remainder"])
        x, y = worked.value / _DAY, float(_STRAIN.number(remainder))
        return (floor_mark(demand, worked.value, x, y, True),)
    age = fact_span(given, "slab_age")
    if not is_exact(age):
        return ()
    x, y = age.low / _DAY, float(_STRAIN.number(worked.value))
    return (floor_mark(demand, worked.value, x, y, True),)


def _levels(demand: Demand, given: ChartInput) -> tuple[Level, ...]:
    if demand.name != AGE:
        return limit_levels(given, _STRAIN.number)
    low, _ = given.book.tables.ranges["usual_concrete"].get("remainder", (200e-6, 200e-6))
    return (Level("remainder asked for", float(_STRAIN.number(low))),)


def _zones(given: ChartInput) -> tuple[Zone, ...]:
    age = fact_span(given, "slab_age")
    if not is_told(given, "slab_age") or is_exact(age):
        return ()
    low, high = (float(np.clip(end / _DAY, _first(given), _LAST)) for end in (age.low, age.high))
    return (Zone(FLOOR, low, high),)
