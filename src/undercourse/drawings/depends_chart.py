"""Two numbers that decide together, as a small chart: how far the one may go for values of the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from undercourse.base.paired import PAIRS
from undercourse.base.units import UNITS, Unit, to_si
from undercourse.drawings.chart import Axis, Chart, Series
from undercourse.drawings.demand_chart_parts import ruler

# Small beside an answer. [m]
WIDTH_M, HEIGHT_M = 0.12, 0.06
_LONG_IN = 120.0
_KINDS = {"in": "mm", "ft": "m", "psf": "kpa", "psi": "mpa", "lb": "kg", "lb/ft2": "kg_m2", "W/ft2": "w_m2"}
_KINDS |= {"F": "c", "deltaF": "k", "%": "%", "mph": "m_s", "day": "day", "dB": "db"}


def draw_depends(entry: Mapping[str, Any]) -> Chart | None:
    """The chart of an entry of ``depends_on`` that has a curve; None for any other.

    The line is the last value with which the candidate may suit; with a third number at its hard end it is
    drawn as well.
    """
    if "curve" not in entry or len(entry["curve"]) < 2:
        return None
    units = [UNITS[symbol] for symbol in entry["curve_units"]]
    curves = [entry["curve"]] + ([entry["third"]["curve"]] if "third" in entry else [])
    axes = [
        _axis(_capital(text), unit, [point[side] for curve in curves for point in curve])
        for side, (text, unit) in enumerate(zip((entry["with_label"], entry["label"]), units, strict=True))
    ]
    name = (
        "may suit on this line and below" if entry["side"] == "up to" else "may suit on this line and above"
    )
    series = [_series(name, entry["curve"], axes, units, "main")]
    if "third" in entry and len(entry["third"]["curve"]) > 1:
        third = entry["third"]
        series.append(_series(f"{third['label']} {third['at']}", third["curve"], axes, units, "plain"))
    title = f"{_capital(entry['label'])} by {entry['with_label']}"
    return Chart(title, axes[0][0], axes[1][0], tuple(series))


Shown = tuple[Axis, float, float]


def _axis(text: str, unit: Unit, values: Sequence[float]) -> Shown:
    """An axis in both unit systems, with the factor and offset of its numbers; long inches in feet."""
    symbol = "ft" if unit.symbol == "in" and max(values) >= _LONG_IN else unit.symbol
    kind = _KINDS.get(symbol)
    if kind is None:
        return (
            Axis(text, "" if unit.dimension in ("count", "ratio") else unit.symbol),
            unit.factor,
            unit.offset,
        )
    pair = PAIRS[kind]
    return ruler(kind, text).axis, pair.us_factor, pair.us_offset


def _series(
    name: str, points: Sequence[Sequence[float]], axes: Sequence[Shown], units: Sequence[Unit], style: Any
) -> Series:
    columns = [
        tuple((to_si(point[side], unit) - offset) / factor for point in points)
        for side, (unit, (_, factor, offset)) in enumerate(zip(units, axes, strict=True))
    ]
    return Series(name, columns[0], columns[1], style)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
