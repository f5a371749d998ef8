"""Temperatures of a heated floor: through its layers, and across the tile over its cables."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from undercourse.base.columns import NumberColumn
from undercourse.base.paired import pair_texts
from undercourse.demands import Demand
from undercourse.demands.heat_layers import over_heat, under_contact, under_heat
from undercourse.demands.loads import choice_range
from undercourse.drawings.chart_parts import Chart, Level, Mark, Zone
from undercourse.drawings.demand_chart_parts import (
    ChartInput,
    Ruler,
    Worked,
    curve,
    floor_mark,
    is_told,
    is_too_open,
    limit_levels,
    ruler,
    scalar,
    work_out,
)
from undercourse.physics.cables import cable_surface_excess
from undercourse.physics.heat import surface_excess

_ACROSS_POINTS = 61
# A layer that resists less than this is left out. [m2 K/W]
_NOTHING = 1e-5
# A surface that waves less than this is even. [K]
_FLAT_K = 0.3
_TEMPERATURE = ruler("c", "Temperature")
_SURFACE = ruler("c", "Temperature of the tile's surface")
_BETWEEN = (
    "Shaded: how far the base may spread the heat. The wave is that of cables on a perfect insulator, the"
    " flat edge that of a base that spreads it evenly."
)
_EQUAL = "Every layer drawn equally wide, at the least favorable point of what is still open."


class _Layer(NamedTuple):
    """A layer by name and resistance. [m2 K/W]"""

    name: str
    m2k_w: float


class _Flow(NamedTuple):
    """Heat up and down, excess of the surface over the room. [W/m2, K]"""

    up: float
    down: float
    excess: float


def draw_across_cables(demand: Demand, given: ChartInput) -> Chart | None:
    """Surface temperature over a cable, half way to the next on either side, with its mean and its limits."""
    worked = work_out(demand, given)
    if worked is None or is_too_open(demand, worked.low, worked.high):
        return None
    point, spacing = worked.point, scalar(worked.point["heating_spacing"])
    held = demand.name == "heat_surface_peak_held"
    film = scalar(point["film_w_m2k"] if held else worked.working["covered_w_m2k"])
    mean, cables = _held_mean(worked, film) if held else _failed_mean(worked)
    if worked.value - mean < _FLAT_K:
        return None
    offset = np.linspace(-0.6, 0.6, _ACROSS_POINTS) * spacing
    cover, conductivity = scalar(point["cover_m"]), scalar(point["cover_w_mk"])
    wave = cable_surface_excess(cables, spacing, cover, conductivity, film, offset) - cables / film
    even = scalar(demand.kernel({**point, "ripple_share": np.zeros(1)})[0])
    across = ruler("mm", "Along the floor, from a cable")
    x, y = across.number(offset), _TEMPERATURE.number(mean + wave)
    flat = np.full_like(y, _TEMPERATURE.number(even))
    levels = [Level("mean", float(_TEMPERATURE.number(mean))), *limit_levels(given, _TEMPERATURE.number)]
    levels.append(Level("cable", 0.0, "x"))
    half = float(across.number(spacing / 2))
    levels += [Level("half way", -half, "x"), Level("sensor" if held else "half way", half, "x")]
    mark = floor_mark(demand, worked.value, 0.0, float(_TEMPERATURE.number(worked.value)), True)
    lines = (curve("", x, flat, "quiet", y), curve("", x, y))
    return Chart(
        f"Across the cables: {demand.title[:1].lower()}{demand.title[1:]}",
        across.axis,
        _SURFACE.axis,
        lines,
        (mark,),
        tuple(levels),
        note=_BETWEEN,
    )


def _held_mean(worked: Worked, film: float) -> tuple[float, float]:
    """Mean of the surface while the sensor holds, and the power of the cables then. [K, W/m2]"""
    point, working = worked.point, worked.working
    room, crest = scalar(point["room_k"]), scalar(working["crest_m2k_w"])
    if scalar(working["full_k"]) < scalar(working["held_k"]):
        power = scalar(point["heating_power"])
        return room + power / film, power
    lost = scalar(working["lost_w_m2"])
    up = (worked.value - room - lost * crest) / scalar(working["peak_m2k_w"])
    return room + up / film, scalar(working["whole"]) * up + lost


def _failed_mean(worked: Worked) -> tuple[float, float]:
    return scalar(worked.working["mean_k"]), scalar(worked.point["heating_power"])


def draw_through_layers(demand: Demand, given: ChartInput) -> Chart | None:
    """Mean temperature from the room through the layers to the heat, and on to what is below."""
    worked = work_out(demand, given)
    if worked is None or is_too_open(demand, worked.low, worked.high):
        return None
    flow = _FLOWS[demand.name](worked)
    if flow is None or flow.up <= 0:
        return None
    room = scalar(worked.point["room_temperature"])
    above, below = _above(demand, given, worked, flow), _below(given, worked)
    places, kelvin = [0.0, 1.0], [room, room + flow.excess]
    for layer in above:
        places.append(places[-1] + 1.0)
        kelvin.append(kelvin[-1] + flow.up * layer.m2k_w)
    heat = places[-1], kelvin[-1]
    for layer in below:
        places.append(places[-1] + 1.0)
        kelvin.append(kelvin[-1] - flow.down * layer.m2k_w)
    names = ["air", *(layer.name for layer in (*above, *below))]
    zones = tuple(Zone(name, at, at + 1.0) for name, at in zip(names, places, strict=False))
    shown = _TEMPERATURE.number(np.array(kelvin))
    return Chart(
        f"Through the layers: {demand.title[:1].lower()}{demand.title[1:]}",
        _places_axis(places, heat[0], bool(below)).axis,
        _TEMPERATURE.axis,
        (curve("", np.array(places), shown),),
        (_named("tile surface", kelvin[1], 1.0), _named("at the heat", heat[1], heat[0])),
        _heat_levels(demand, given, worked),
        zones,
        _EQUAL,
    )


def _places_axis(places: list[float], heat: float, has_below: bool) -> Ruler:
    ticks = [(0.0, "room"), (1.0, "surface"), (heat, "heat")]
    if has_below:
        ticks.append((places[-1], "below"))
    return ruler("count", "From the room down", low=0.0, high=places[-1], ticks=tuple(ticks))


def _named(name: str, kelvin: float, place: float) -> Mark:
    si, us = pair_texts(kelvin, "c", 3)
    return Mark(f"{name}: {us} ({si})", place, float(_TEMPERATURE.number(kelvin)))


def _heat_levels(demand: Demand, given: ChartInput, worked: Worked) -> tuple[Level, ...]:
    """Limits of temperature: the sheet's own, or the permitted one that the number rests on."""
    if demand.name == "heat_water_surface":
        return limit_levels(given, _TEMPERATURE.number)
    permitted = worked.point.get("permitted_k")
    if permitted is None:
        return ()
    return (Level("permitted at the surface", float(_TEMPERATURE.number(scalar(permitted)))),)


def _full_power(worked: Worked) -> _Flow:
    up = scalar(worked.working["full_w_m2"])
    return _Flow(up, scalar(worked.point["heating_power"]) - up, up / scalar(worked.point["film_w_m2k"]))


def _as_given(worked: Worked) -> _Flow:
    """The heat that counts: at full power, or throttled to the permitted surface."""
    point, working = worked.point, worked.working
    up = scalar(working["given_w_m2"])
    throttled = scalar(working["permitted_w_m2"]) < scalar(working["full_w_m2"])
    excess = scalar(surface_excess(up)) if throttled else up / scalar(point["film_w_m2k"])
    room = scalar(point["room_temperature"])
    plane = room + excess + up * scalar(point["above_m2k_w"])
    sink = min(scalar(point["below_k"]), room)
    return _Flow(up, (plane - sink) / scalar(point["below_m2k_w"]), excess)


def _by_water(worked: Worked) -> _Flow:
    return _Flow(
        scalar(worked.working["flux_w_m2"]), 0.0, worked.value - scalar(worked.point["room_temperature"])
    )


_FLOWS = {"heat_down_share": _full_power, "heat_output_share": _as_given, "heat_water_surface": _by_water}


def _end(column: NumberColumn, high: bool) -> float:
    return scalar(column.high if high else column.low)


def _above(demand: Demand, given: ChartInput, worked: Worked, flow: _Flow) -> list[_Layer]:
    """The layers from the tile down to the heat, at the end of their ranges that the sheet takes."""
    frame, tables = given.frame, given.book.tables
    over = over_heat(frame, tables)
    whole = scalar(worked.point.get("above_m2k_w", worked.point.get("covering_m2k_w")))
    high = abs(whole - _end(over.resistance, True)) <= abs(whole - _end(over.resistance, False))
    thickness, mortar = frame["tile_thickness"], frame["above_membrane_resistance"]
    assert isinstance(thickness, NumberColumn)
    assert isinstance(mortar, NumberColumn)
    conductivity = choice_range(frame, "finish", tables.ranges["tile_conductivity"])
    tile = _end(thickness, high) / _end(conductivity, not high)
    sheet, upper = _end(over.membrane, high), _end(mortar, high)
    rest = max(whole - tile - sheet - upper, 0.0)
    found = [_Layer("tile", tile), _Layer("mortar", upper), _Layer("membrane", sheet)]
    if demand.name == "heat_water_surface":
        water = scalar(worked.point["water_temperature"]) - worked.value
        found.append(_Layer("over the tubes", max(water / flow.up - tile - sheet - upper, 0.0)))
    elif sheet > _NOTHING:
        found.append(_Layer("screed or mortar", rest))
    else:
        found[1] = _Layer("mortar", upper + rest)
    return [layer for layer in found if layer.m2k_w > _NOTHING]


def _below(given: ChartInput, worked: Worked) -> list[_Layer]:
    """The layers from the heat down, at the end of their ranges that the sheet takes."""
    if "below_m2k_w" not in worked.point:
        return []
    frame, tables = given.frame, given.book.tables
    whole, under = scalar(worked.point["below_m2k_w"]), under_heat(frame, tables)
    high = abs(whole - _end(under, True)) <= abs(whole - _end(under, False))
    insulation = frame["floor_insulation"]
    assert isinstance(insulation, NumberColumn)
    laid = _end(under_contact(frame, tables), high)
    kept = _end(insulation, high) if is_told(given, "floor_insulation") else 0.0
    found = [_Layer("membrane", laid), _Layer("base", whole - laid - kept), _Layer("insulation", kept)]
    if found[1].m2k_w < _NOTHING:
        found = [_Layer("membrane and base", whole)]
    return [layer for layer in found if layer.m2k_w > _NOTHING]
