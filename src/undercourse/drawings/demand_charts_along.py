"""A demand along its most telling number: its curve, the limits as lines, the floor as a point."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from undercourse.advise.demanding import along_fact
from undercourse.advise.sentences import label
from undercourse.base.columns import Floats
from undercourse.base.domains import Span
from undercourse.base.paired import PAIRS
from undercourse.demands import Demand
from undercourse.drawings.chart_parts import Chart, Level, Mark, Zone
from undercourse.drawings.demand_chart_parts import (
    FLOOR,
    OPEN_NOTE,
    ChartInput,
    Ruler,
    fact_span,
    floor_mark,
    is_bend,
    is_exact,
    is_seen,
    is_told,
    is_too_open,
    limit_levels,
    open_curve,
    result_ruler,
    ruler,
    work_out,
    worst_of,
)

_POINTS = 61
# A curve that moves less than this share of itself says no more than its number does.
_FLAT = 0.03
# The upright axis ends at so many times the highest of limits and point, or at this share of the curve.
_ROOM, _LEAST_ROOM = 2.2, 0.15
# What has a true zero is drawn from and to so many times the floor's own.
_AROUND = 0.5, 1.8


class Along(NamedTuple):
    """The number that a demand is drawn along, its unit as on sheets, and how far, in its US unit.

    A result below ``least`` (SI) is not worth a chart.
    """

    fact: str
    unit: str
    low: float
    high: float
    least: float = 0.0


_SPAN = Along("joist_span", "m", 6, 24)
_SPACING = Along("joist_spacing", "mm", 10, 32)
_HUMIDITY = Along("air_humidity", "%", 20, 100)
_JOINTS = Along("base_joint_spacing", "m", 5, 40)
_FIELD = Along("movement_joint_spacing", "m", 5, 40)
# Below a pound on the square inch nothing is pressed or sheared.
_STRESSED = _FIELD._replace(least=7e3)
_WHEEL = Along("wheel_load", "kg", 50, 2000)
_FOOT = Along("point_load", "kg", 50, 1500)
_UNDERLAY = Along("screed_underlay_stiffness", "mn_m3", 20, 400)
_SLAB = Along("slab_thickness", "mm", 3, 12)
ALONG: dict[str, Along] = {
    "joist_live_deflection": _SPAN,
    "joist_live_deflection_m": _SPAN,
    "joist_total_deflection": _SPAN,
    "joist_total_deflection_m": _SPAN,
    "joist_concentrated_deflection": _SPAN,
    "joist_point_deflection": _SPAN,
    "joist_bending": _SPAN,
    "joist_shear": _SPAN,
    "deflection_after_tiling": _SPAN,
    "joist_allowable_spacing": _SPAN,
    "joist_notch": Along("notch_depth", "mm", 0.25, 3),
    "joist_notched_shear": Along("notch_depth", "mm", 0.25, 3),
    "panel_uniform_deflection": _SPACING,
    "panel_concentrated_deflection": _SPACING,
    "panel_support_curvature": _SPACING,
    "shrinkage_tile_stress": _STRESSED,
    "shrinkage_edge_shear": _STRESSED,
    "wheel_contact_pressure": _WHEEL,
    "wheel_tile_share": _WHEEL,
    "wheel_tile_share_inside": _WHEEL,
    "wheel_membrane_pressure": _WHEEL,
    "foot_tile_share": _FOOT,
    "foot_membrane_pressure": _FOOT,
    "dew_point": _HUMIDITY,
    "condensation_margin": _HUMIDITY,
    "vapor_pressure_difference": Along("slab_rh", "%", 50, 100),
    "vapor_flux": Along("slab_rh", "%", 50, 100),
    "wait_to_humidity": _SLAB,
    "wait_to_emission": Along("water_cement_ratio", "1", 0.4, 0.7),
    "gypsum_wait": Along("screed_thickness", "mm", 0.75, 3),
    "anhydrite_wait": Along("screed_thickness", "mm", 0.75, 3),
    "bed_evaporation": Along("wind_speed", "m_s", 0, 20),
    "open_time_index": Along("wind_speed", "m_s", 0, 20),
    "mortar_day": Along("base_temperature", "c", 40, 100),
    "mortar_contact": Along("pressed_bed", "mm", 0.06, 0.3),
    "heating_cable_spacing": Along("heating_power", "w_m2", 5, 20),
    "heat_water_surface": Along("water_temperature", "c", 80, 130),
    "base_joint_opening": _JOINTS,
    "crack_opening_to_come": _JOINTS,
    "slab_curl_lift": _JOINTS,
    "slab_thermal_movement": Along("yearly_temperature_range", "k", 10, 150),
    "slab_modulus": Along("slab_strength", "mpa", 2000, 8000),
    "movement_joint_least_width": _FIELD,
    "base_joint_cover_width": _FIELD,
    "movement_joint_width_share": Along("movement_joint_width", "mm", 0.1, 1),
    "base_joint_cover_share": Along("movement_joint_width", "mm", 0.1, 1),
    "bare_slab_impact_level": _SLAB,
    "covered_slab_impact_level": _SLAB,
    "floating_screed_gain": _UNDERLAY,
    "floated_slab_impact_level": _UNDERLAY,
    "screed_resonance": _UNDERLAY,
}


def draw_along(demand: Demand, given: ChartInput) -> Chart | None:
    """A demand along its number; None where nothing worth a chart is known."""
    along = ALONG.get(demand.name)
    worked = work_out(demand, given)
    if along is None or worked is None or worked.value < along.least:
        return None
    told = is_told(given, along.fact)
    span = fact_span(given, along.fact) if told else None
    across = ruler(along.unit, _axis_name(along.fact, given))
    values = _places(along, span, given)
    column = along_fact(demand, given.frame, given.book, along.fact, values)
    worst, best = worst_of(demand, column)
    here = float(worst[_nearest(values, span)]), float(best[_nearest(values, span)])
    if is_too_open(demand, min(here), max(here)):
        return None
    up = result_ruler(demand)
    hard, soft = (_shown(up, demand, ends) for ends in (worst, best))
    if _is_flat(hard):
        return None
    is_open = is_seen(hard, soft)
    marks = _marks(demand, worked.value, span, across, up, is_open)
    levels = limit_levels(given, up.number)
    return Chart(
        f"{demand.title}, by {label(along.fact, given.book.vocabulary)}",
        across.axis,
        _cut(up, hard, levels, marks).axis,
        open_curve(across.number(values), hard, soft),
        marks,
        levels,
        _zones(span, across),
        OPEN_NOTE if is_open else "",
    )


def _axis_name(fact: str, given: ChartInput) -> str:
    text = label(fact, given.book.vocabulary)
    return text[:1].upper() + text[1:]


def _places(along: Along, span: Span | None, given: ChartInput) -> Floats:
    """The numbers to work out, this floor's own among them. [SI]"""
    pair = PAIRS[along.unit]
    low, high = (end * pair.us_factor + pair.us_offset for end in (along.low, along.high))
    domain = given.frame.domain(along.fact)
    own: list[float] = []
    if span is not None:
        own = [span.low, span.high]
        if along.unit not in ("%", "c"):
            low, high = max(low, _AROUND[0] * span.low), min(high, _AROUND[1] * span.high)
        low, high = min(low, span.low), max(high, span.high * 1.1)
    low, high = max(low, domain.low), min(high, domain.high)
    return np.unique(np.concatenate([np.linspace(low, high, _POINTS), own]))


def _nearest(values: Floats, span: Span | None) -> int:
    at = (span.low + span.high) / 2 if span is not None else (values[0] + values[-1]) / 2
    return int(np.argmin(np.abs(values - at)))


def _shown(up: Ruler, demand: Demand, values: Floats) -> Floats:
    """Numbers of a curve; gaps where a formula gives nothing but the end of its domain."""
    end = demand.domain.high
    # A share that reaches its whole is a number; elsewhere the end of a domain means that nothing is known.
    found = values if end <= 1.0 else np.where(values < end * (1 - 1e-9), values, np.nan)
    if is_bend(demand.domain):
        found = np.where(found > 0, found, np.nan)
    return np.asarray(up.number(found), dtype=float)


def _is_flat(values: Floats) -> bool:
    known = values[np.isfinite(values)]
    return known.size < 2 or float(np.ptp(known)) <= _FLAT * float(np.max(np.abs(known)))


def _marks(
    demand: Demand, value: float, span: Span | None, across: Ruler, up: Ruler, is_open: bool
) -> tuple[Mark, ...]:
    if span is None or not is_exact(span):
        return ()
    return (floor_mark(demand, value, float(across.number(span.low)), float(up.number(value)), is_open),)


def _zones(span: Span | None, across: Ruler) -> tuple[Zone, ...]:
    """A number that is known as a range, as a band."""
    if span is None or is_exact(span):
        return ()
    return (Zone(FLOOR, float(across.number(span.low)), float(across.number(span.high))),)


def _cut(up: Ruler, values: Floats, levels: tuple[Level, ...], marks: tuple[Mark, ...]) -> Ruler:
    """The upright axis, cut where a curve runs far beyond limits and point."""
    asked = [level.value for level in levels] + [mark.y for mark in marks]
    highest = float(np.nanmax(values))
    top = max(_ROOM * max(asked, default=0.0), _LEAST_ROOM * highest)
    if not asked or highest <= top or float(np.nanmin(values)) < 0:
        return up
    return Ruler(replace(up.axis, high=top), up.number)
