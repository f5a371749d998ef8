"""Collapse of facts and kernels of the demands on loads on the surface.

The tile lies on springs of the sheet's stated stiffness, the base below is taken as rigid.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands.columns import number
from undercourse.demands.loads import choice_range
from undercourse.demands.record import (
    Tables,
    Values,
)
from undercourse.demands.tiles import POISSON, tile_modulus, tile_strength
from undercourse.physics.loads import contact_modulus, patch_radius, roller_contact
from undercourse.physics.slab import relative_stiffness_length
from undercourse.physics.tile_bed import (
    InsideBending,
    TileBending,
    sheet_pressure,
    tile_bending,
    tile_bending_inside,
)

G = 9.80665
# Rubber keeps its volume (0.5), steel and hard plastic 0.3: the ends of the range take the one and the other.
_TREAD_POISSON = (0.3, 0.5)
# Standing still to cornering, the worst of four factors that one engineer gives.
_DYNAMIC = NumberColumn(np.array([1.0]), np.array([1.4]))
# Mortar above the sheet, from a tight thin bed on.
_MORTAR_M = NumberColumn(np.array([0.00238]), np.array([0.00635]))
# So that a wheel without load still touches somewhere.
_LEAST_N = 1e-3


def _contact(frame: Frame, tables: Tables) -> NumberColumn:
    """Modulus of tread and tile together. [Pa]"""
    tread = choice_range(frame, "wheels", tables.ranges["tread_modulus"])
    tile = tile_modulus(frame, tables)
    return NumberColumn(
        contact_modulus(tread.low, _TREAD_POISSON[0], tile.low, POISSON),
        contact_modulus(tread.high, _TREAD_POISSON[1], tile.high, POISSON),
    )


def rolling(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Tread, dynamic factor and how wide the contact is against the wheel, once a floor."""
    found: dict[str, NumberColumn] = frame.keep("wheels", "rolling", lambda: _rolling(frame, tables))
    return found


def _rolling(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    modulus, load = _contact(frame, tables), number(frame, "wheel_load")
    width, diameter = number(frame, "wheel_width"), number(frame, "wheel_diameter")

    def ratio(mass: Floats, dynamic: Floats, wide: Floats, across: Floats, stiff: Floats) -> Floats:
        found: Floats = np.sqrt(8 * mass * G * dynamic / (np.pi * wide * across * stiff))
        return found

    strip = NumberColumn(
        ratio(load.low, _DYNAMIC.low, width.high, diameter.high, modulus.high),
        ratio(load.high, _DYNAMIC.high, width.low, diameter.low, modulus.low),
    )
    return {"contact_modulus": modulus, "dynamic": _DYNAMIC, "strip_ratio": strip}


def _bed(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Modulus of the tile, and how far it reaches on the sheet against its thickness, once a candidate."""
    found: dict[str, NumberColumn] = frame.keep(
        "membrane_bed_modulus", "tile on its bed", lambda: _on_bed(frame, tables)
    )
    return found


def _on_bed(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    modulus = tile_modulus(frame, tables)
    thickness, bed = number(frame, "tile_thickness"), number(frame, "membrane_bed_modulus")
    slender = NumberColumn(
        relative_stiffness_length(modulus.low, thickness.high, POISSON, bed.high) / thickness.high,
        relative_stiffness_length(modulus.high, thickness.low, POISSON, bed.low) / thickness.low,
    )
    return {"tile_modulus": modulus, "slender": slender}


def wheel_bend(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """What bends tile below a wheel."""
    bed = _bed(frame, tables)
    return {**rolling(frame, tables), **bed, "tile_strength": tile_strength(frame, tables)}


def wheel_press(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """What presses the sheet below a wheel.

    A wider tread flattens less: the half strip is an input of its own, so that each only spreads the load.
    """
    rolled, width = rolling(frame, tables), number(frame, "wheel_width")
    diameter = number(frame, "wheel_diameter")
    half = NumberColumn(
        rolled["strip_ratio"].low * diameter.low / 2, rolled["strip_ratio"].high * diameter.high / 2
    )
    kept = {key: rolled[key] for key in ("dynamic", "strip_ratio")}
    return {**kept, **_bed(frame, tables), "mortar_bed": _MORTAR_M, "tread": width, "half_strip": half}


def foot_bend(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """What bends tile below a foot."""
    return {**_bed(frame, tables), "tile_strength": tile_strength(frame, tables)}


def foot_press(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """What presses the sheet below a foot."""
    return {**_bed(frame, tables), "mortar_bed": _MORTAR_M}


def _wheel_force(values: Values) -> Floats:
    force: Floats = values["wheel_load"] * G * values["dynamic"]
    return force


def _strip(values: Values) -> Values:
    """Force of the wheel and the strip on which it touches."""
    force = np.maximum(_wheel_force(values), _LEAST_N)
    touch = roller_contact(
        force, values["wheel_diameter"] / 2, values["wheel_width"], values["contact_modulus"]
    )
    return {"force_n": force, "half_strip_m": touch.half_width_m, "mean_pa": touch.mean_pa}


def touch_pressure(values: Values) -> tuple[Floats, Values]:
    """Mean pressure of a wheel on the tile."""
    found = _strip(values)
    return found["mean_pa"], {key: found[key] for key in ("force_n", "half_strip_m")}


def _tile(values: Values) -> tuple[Floats, Floats, float, Floats]:
    """Thickness, modulus, Poisson ratio of the tile, and its bed."""
    return (
        values["tile_thickness"],
        values["tile_modulus"],
        POISSON,
        values["membrane_bed_modulus"],
    )


def _inside(found: InsideBending | TileBending, force: Floats, radius: Floats) -> Values:
    return {
        "force_n": force,
        "radius_m": radius,
        "reach_m": found.reach_m,
        "counted_m": found.counted_radius_m,
        "section_m": found.section_m,
        "interior_pa": found.interior_pa,
        "wide_pa": found.wide_pa,
    }


def _worst(force: Floats, radius: Floats, values: Values) -> tuple[Floats, Values]:
    found = tile_bending(force, radius, *_tile(values))
    working = _inside(found, force, radius)
    working |= {"edge_pa": found.edge_pa, "corner_pa": found.corner_pa, "worst_pa": found.worst_pa}
    return found.worst_pa / values["tile_strength"], working


def _patch(values: Values) -> tuple[Floats, Floats, Floats]:
    """Force of the wheel, radius of a circle as large as its contact, half the strip."""
    strip = _strip(values)
    half = strip["half_strip_m"]
    return strip["force_n"], patch_radius(2 * half * values["wheel_width"]), half


def wheel_share(values: Values) -> tuple[Floats, Values]:
    """Bending of tile below a wheel at its worst place, over its strength."""
    force, radius, half = _patch(values)
    share, working = _worst(force, radius, values)
    return share, {**working, "half_strip_m": half}


def wheel_inside(values: Values) -> tuple[Floats, Values]:
    """The same away from edges."""
    force, radius, half = _patch(values)
    found = tile_bending_inside(force, radius, *_tile(values))
    working = {**_inside(found, force, radius), "half_strip_m": half, "worst_pa": found.inside_pa}
    return found.inside_pa / values["tile_strength"], working


def _foot_force(values: Values) -> Floats:
    force: Floats = values["point_load"] * G
    return force


def foot_share(values: Values) -> tuple[Floats, Values]:
    """Bending of tile below a foot at its worst place, over its strength."""
    return _worst(_foot_force(values), values["point_load_width"] / 2, values)


def _pressed(force: Floats, length: Floats, width: Floats, values: Values) -> tuple[Floats, Values]:
    thickness = values["tile_thickness"]
    reach = relative_stiffness_length(
        values["tile_modulus"], thickness, POISSON, values["membrane_bed_modulus"]
    )
    depth = thickness + values["mortar_bed"]
    found = sheet_pressure(force, reach, values["tile_short_edge"], length, width, depth)
    return found.pressure_pa, {
        "force_n": force,
        "reach_m": reach,
        "depth_m": depth,
        "bent_pa": found.bent_pa,
        "cone_pa": found.cone_pa,
    }


def wheel_pressure(values: Values) -> tuple[Floats, Values]:
    """Pressure on the sheet below a wheel at a corner of the tile."""
    return _pressed(_wheel_force(values), 2 * values["half_strip"], values["tread"], values)


def foot_pressure(values: Values) -> tuple[Floats, Values]:
    """Pressure on the sheet below a foot at a corner of the tile."""
    side = values["point_load_width"] * np.sqrt(np.pi) / 2
    pressure, working = _pressed(_foot_force(values), side, side, values)
    return pressure, {**working, "side_m": side}
