"""What charts of demands share: axes in both unit systems, limits, the floor itself, what is too open."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from undercourse.advise.findings import notation_text, row_column, row_spec, show_text
from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import Domain, Span
from undercourse.base.frame import Frame
from undercourse.base.paired import PAIRS
from undercourse.demands import Demand
from undercourse.demands.record import Values
from undercourse.drawings.chart_parts import Axis, Level, Mark, Series
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import Product

# Where the far end of a result is over so many times the near one, a curve of it tells nothing.
_TOO_OPEN = 6.0
# Of shares that end at 1.
_OPEN_PART = 0.5
# On scales without a true zero: a share of the number, and kelvin.
_OPEN_SHARE, _WIDEST_K = 0.25, 15.0
# A fact counts as known where its range is narrower than this share of it.
_EXACT = 1e-6
# Two lines nearer to each other than this share of the chart look like one.
_SEEN = 0.02
FLOOR, WORST = "this floor", "least favorable"
OPEN_NOTE = "Shaded: what is still open on this floor."


class Compared(NamedTuple):
    """Another candidate of the same area."""

    name: str
    frame: Frame


@dataclass(frozen=True)
class ChartInput:
    """What a chart of a demand is drawn of.

    ``frame`` is that of the chosen candidate in one area, ``limits`` those of the demand's sheet,
    ``candidates`` all of the area, the chosen one too, ``product`` the chosen one's membrane.
    """

    frame: Frame
    book: Rulebook
    limits: Sequence[Mapping[str, Any]] = ()
    candidates: Sequence[Compared] = ()
    product: Product | None = None


class Ruler(NamedTuple):
    """An axis and how a value in SI becomes a number on it."""

    axis: Axis
    number: Callable[[Any], Any]


class Worked(NamedTuple):
    """A demand at the floor's least favorable point, as its sheet works it out; both ends of the result."""

    point: Values
    working: Values
    value: float
    low: float
    high: float


def ruler(key: str, label: str, **more: Any) -> Ruler:
    """An axis of a quantity, US customary first; ``key`` as in ``base.paired.PAIRS``."""
    pair = PAIRS[key]
    second = None
    if pair.us != pair.si:
        offset = (pair.us_offset - pair.si_offset) / pair.si_factor
        second = (pair.si, pair.us_factor / pair.si_factor, offset)
    axis = Axis(label, pair.us, second=second, **more)
    return Ruler(axis, lambda value: (np.asarray(value) - pair.us_offset) / pair.us_factor)


def is_bend(domain: Domain) -> bool:
    """Whether a ratio is a deflection over a span, told as L/n."""
    return domain.unit is not None and domain.unit.symbol == "ratio" and domain.name.endswith("deflection")


def result_ruler(demand: Demand, **more: Any) -> Ruler:
    """The upright axis of a demand: n of L/n for deflections, percent for shares, else its own unit."""
    if is_bend(demand.domain):
        return Ruler(Axis("Span over deflection: n of L/n", "", **more), _over)
    label, unit = demand.notation["value"].label, demand.notation["value"].unit
    label = label[:1].upper() + label[1:]
    if unit == "1":
        return Ruler(Axis(label, "%", **more), lambda value: np.asarray(value) * 100.0)
    # Feet are for spans; whatever else is told in inches stays in inches.
    inches = unit == "m" and demand.domain.unit is not None and demand.domain.unit.symbol == "in"
    return ruler("mm" if inches and not demand.name.endswith("span") else unit, label, **more)


def _over(value: Any) -> Any:
    return 1.0 / np.maximum(np.asarray(value, dtype=float), 1e-9)


def work_out(demand: Demand, given: ChartInput) -> Worked | None:
    """A demand as its calculation sheet works it out; None where it is not computed or not valid here."""
    tables = given.book.tables
    columns = {name: row_column(one, 0) for name, one in demand.inputs(given.frame, tables).items()}
    if demand.valid and not bool(demand.holds(columns).must.all()):
        return None
    ends = row_column(demand.value(given.frame, tables), 0)
    low, high = float(ends.low[0]), float(ends.high[0])
    point = demand.worst(columns)
    result, working = demand.kernel(point)
    value, shown = float(np.ravel(result)[0]), high if demand.wanted == "low" else low
    if not (demand.both or math.isclose(value, shown, rel_tol=1e-6, abs_tol=1e-12)):
        return None
    return Worked(point, working, shown, low, high)


def scalar(value: Any) -> float:
    """The one number of an array."""
    return float(np.ravel(value)[0])


def fact_span(given: ChartInput, fact: str) -> Span:
    """What is known of a number of the floor or its candidate. [SI]"""
    spec = row_spec(given.frame[fact], 0)
    assert isinstance(spec, Span)
    return spec


def is_told(given: ChartInput, fact: str) -> bool:
    """Whether anything is known of a number."""
    return fact_span(given, fact) != given.frame.domain(fact).everything


def is_exact(span: Span) -> bool:
    """Whether a range is one value."""
    return span.high - span.low <= _EXACT * max(abs(span.high), 1e-12)


def worst_of(demand: Demand, column: NumberColumn) -> tuple[Floats, Floats]:
    """The unfavorable and the favorable ends of a demand."""
    return (column.high, column.low) if demand.wanted == "low" else (column.low, column.high)


def is_too_open(demand: Demand, low: float, high: float) -> bool:
    """Whether a result is known so little that a curve of it would mislead."""
    domain = demand.domain
    if high >= domain.high * (1 - 1e-9) or not math.isfinite(high - low):
        return True
    if demand.notation["value"].unit == "1" and domain.high <= 1.0 and not is_bend(domain):
        return high - low > _OPEN_PART
    if demand.scale == "ratio":
        return high > _TOO_OPEN * low if low > 0 else high > 0
    is_heat = domain.unit is not None and domain.unit.dimension == "temperature"
    return high - low > (_WIDEST_K if is_heat else _OPEN_SHARE * max(abs(low), abs(high)))


def limit_levels(given: ChartInput, to_number: Callable[[Any], Any]) -> tuple[Level, ...]:
    """The limits of the sheet as lines across, alike ones once."""
    found: dict[float, str] = {}
    for limit in given.limits:
        for side in ("at_most", "at_least"):
            bound = limit.get(side)
            if bound is not None:
                found.setdefault(float(bound), limit_name(limit))
    return tuple(Level(name, float(to_number(bound))) for bound, name in found.items())


def limit_name(limit: Mapping[str, Any]) -> str:
    """What a limit allows, without the second unit, which the axis has."""
    text = str(limit["capacity_text"]).partition(" (")[0]
    return text.replace("at most L/", "limit L/").replace("at most ", "limit ").replace("at least ", "limit ")


def floor_mark(demand: Demand, value: float, x: float, y: float, is_open: bool = False) -> Mark:
    """The floor's own point, named with its number."""
    # As the answer writes it; what is no length or share with three figures.
    written = demand.notation["value"].unit in ("1", "%", "m", "mm", "class")
    text = show_text(demand.domain, Span(value, value)) if written else notation_text(demand, "value", value)
    worst = " at worst" if is_open else ""
    return Mark(f"{FLOOR}{worst}: {text}", x, y)


def curve(name: str, x: Floats, y: Floats, style: Any = "main", band_to: Floats | None = None) -> Series:
    """A series of arrays."""
    other = None if band_to is None else tuple(float(one) for one in band_to)
    return Series(name, tuple(float(one) for one in x), tuple(float(one) for one in y), style, other)


def open_curve(x: Floats, hard: Floats, soft: Floats) -> tuple[Series, ...]:
    """The line at the unfavorable end, with what is open as a band where it can be seen."""
    if not is_seen(hard, soft):
        return (curve("", x, hard),)
    return (curve("", x, soft, "quiet", hard), curve(WORST, x, hard))


def is_seen(hard: Floats, soft: Floats) -> bool:
    """Whether two ends of a curve lie so far apart that a chart can show it."""
    apart, both = np.abs(hard - soft), np.abs(np.concatenate([hard, soft]))
    known = np.isfinite(both)
    if not np.isfinite(apart).any():
        return False
    return bool(np.nanmax(apart) > _SEEN * float(np.max(both[known])))
