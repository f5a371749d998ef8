"""Pull in the tile against the opening of a crack: with each membrane of the area and fully bonded.

A membrane's line ends at the opening of its own crack test: nothing is said beyond it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from undercourse.advise.demanding import along_fact
from undercourse.advise.findings import row_column
from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS, Demand
from undercourse.demands.membrane_test import HIGHEST, own_test
from undercourse.demands.tiles import tile_tension
from undercourse.drawings.chart_parts import Chart, Level, Mark, Series, Zone
from undercourse.drawings.demand_chart_parts import (
    FLOOR,
    ChartInput,
    curve,
    fact_span,
    floor_mark,
    is_exact,
    is_told,
    ruler,
    scalar,
)

WITH, BONDED = "crack_tile_stress", "crack_tile_stress_bonded"
_POINTS = 65
# So many other membranes stand beside the chosen one; the chart ends at so many times the tile's strength.
_MOST_OTHERS, _ROOM = 4, 1.8
_OPENING = ruler("mm", "Opening of the crack after tiling")
_STRESS = ruler("mpa", "Pull in the tile, mean over its thickness")
_NOTE = (
    "Upper bounds, grout pulling as hard as it can; a line ends at the opening of the membrane's own crack"
    " test. Tile and mortar from memory: no capacity, and a peak is not a bond strength."
)


class _Line(NamedTuple):
    """The bound of one membrane up to its tested opening. [m, Pa]"""

    name: str
    reach: float
    stress: Floats


def draw_crack_pull(demand: Demand, given: ChartInput) -> Chart | None:
    """Pull against opening with the chosen membrane, with others of the area, and fully bonded."""
    if not (is_told(given, "tile_thickness") and is_told(given, "tile_long_edge")):
        return None
    growth, own = fact_span(given, "crack_growth"), given.frame
    openings = np.linspace(0.0, HIGHEST.high, _POINTS)
    if is_told(given, "crack_growth"):
        openings = np.unique(np.concatenate([openings, np.minimum([growth.low, growth.high], HIGHEST.high)]))
    lines = _lines(given, openings)
    chosen = next((line for line, frame in lines if frame is own), None)
    bonded = along_fact(DEMANDS[BONDED], own, given.book, "crack_growth", openings).high
    tension = row_column(tile_tension(own, given.book.tables), 0)
    strength = scalar(tension.low)
    top = _ROOM * strength
    if not lines or not np.isfinite(top):
        return None
    x = _OPENING.number(openings)
    others = [line for line, frame in lines if frame is not own][:_MOST_OTHERS]
    series = [_series(line, x, openings, "plain") for line in others]
    if chosen is not None:
        series.insert(0, _series(chosen, x, openings, "main"))
    series.append(curve("fully bonded, no membrane", x, _STRESS.number(bonded), "dashed"))
    axis = ruler("mpa", _STRESS.axis.label, low=0.0, high=float(_STRESS.number(top))).axis
    return Chart(
        "Pull in the tile by the opening of a crack, with and without membranes",
        _OPENING.axis,
        axis,
        tuple(series),
        _marks(demand, given, chosen, openings, bonded, top),
        (Level("the tile bears at least", float(_STRESS.number(strength))),),
        _zones(given),
        _NOTE,
    )


def _lines(given: ChartInput, openings: Floats) -> list[tuple[_Line, Frame]]:
    """Every membrane whose stiffness and crack test are stated and whose test the model reproduces."""
    found: list[tuple[_Line, Frame]] = []
    seen: set[bytes] = set()
    for name, frame in given.candidates:
        reach = _tested(given, frame)
        if reach <= 0:
            continue
        stress = along_fact(DEMANDS[WITH], frame, given.book, "crack_growth", openings).high
        key = stress.tobytes()
        if key in seen and frame is not given.frame:
            continue
        seen.add(key)
        found.append((_Line(name, reach, stress), frame))
    return found


def _tested(given: ChartInput, frame: Frame) -> float:
    """Opening up to which something may be said of a membrane; 0 where nothing may. [m]"""
    opening, stiffness = frame["membrane_tested_opening"], frame["membrane_shear_stiffness"]
    assert isinstance(opening, NumberColumn)
    assert isinstance(stiffness, NumberColumn)
    domain = frame.domain("membrane_shear_stiffness")
    if scalar(stiffness.high) >= domain.high or scalar(own_test(frame, given.book.tables).high) > 1.0:
        return 0.0
    return scalar(opening.low)


def _series(line: _Line, x: Floats, openings: Floats, style: str) -> Series:
    inside = openings <= line.reach * (1 + 1e-9)
    return curve(line.name, x, np.where(inside, _STRESS.number(line.stress), np.nan), style)


def _marks(
    demand: Demand, given: ChartInput, chosen: _Line | None, openings: Floats, bonded: Floats, top: float
) -> tuple[Mark, ...]:
    """The floor's own opening on the line that the sheet is about."""
    growth = fact_span(given, "crack_growth")
    if not is_exact(growth):
        return ()
    line = bonded if demand.name == BONDED else (chosen.stress if chosen is not None else None)
    if line is None or (demand.name != BONDED and chosen is not None and growth.low > chosen.reach):
        return ()
    stress = float(np.interp(growth.low, openings, line))
    if stress > top:
        return ()
    x, y = float(_OPENING.number(growth.low)), float(_STRESS.number(stress))
    return (floor_mark(DEMANDS[WITH], stress, x, y, True),)


def _zones(given: ChartInput) -> tuple[Zone, ...]:
    if not is_told(given, "crack_growth"):
        return ()
    growth = fact_span(given, "crack_growth")
    if is_exact(growth):
        return ()
    low, high = (float(_OPENING.number(min(end, HIGHEST.high))) for end in (growth.low, growth.high))
    return (Zone(FLOOR, low, high),)
