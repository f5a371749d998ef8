"""What lies over the heat and under it: resistances, cover, capacity, as ranges over all that may still be.

Where the heat lies decides on which side of it the membrane counts. A position that is not told may be any.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from undercourse.base.columns import Bools, ChoiceColumn, Floats, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands.loads import choice_range, tile_weight
from undercourse.demands.record import CHOICE, Tables
from undercourse.physics.cable_floor import ground_resistance
from undercourse.physics.heat import DOWNWARD_FILM_M2K_W, slab_on_ground_transmittance

TILE_READS = {"heating_position": CHOICE, "finish": CHOICE, "tile_thickness": CHOICE}
BELOW_READS = {"base": CHOICE, "floor_insulation": CHOICE, "ground_floor_width": CHOICE}
LAYER_TAKES = {
    "above_membrane_resistance": CHOICE,
    "above_membrane_height": CHOICE,
    "membrane_thermal_resistance": CHOICE,
    "membrane_thickness": CHOICE,
    "below_membrane_resistance": CHOICE,
}
# Film over a floor 9 K warmer than the room, which gives 100 W/m2.
FILM = NumberColumn(np.array([100.0 / 9.0]), np.array([100.0 / 9.0]))
FILM_SOURCE = "EN 1264-2: 9 K over the room belong to 100 W/m2"
# Least conductivity of mortar in studs and of screed, W/(m K). From memory; dense cement mortar is 1.0.
_MORTAR_LOW = 0.5
# Conductivity of anything between a membrane and its tile.
_ANY = (0.03, 4.0)
# Screed, slab or leveler over tubes or cables that lie below the membrane. Common practice, no source.
_SCREED_M = (0.010, 0.075)
_SCREED_M2K_W = (0.005, 0.094)
# The axis of a cable on the sheet lies this high in the mortar.
_AXIS_M = 0.003
# Heat capacity: of tile by mass, J/(kg K), and of mortar and screed by volume, J/(m3 K). From memory.
_TILE_J_KG_K = (750.0, 1000.0)
_MORTAR_J_M3_K = (1.3e6, 2.2e6)
# Ground and outer walls of ISO 13370: rock to clay, 0.2 to 0.6 m.
_GROUND_W_M_K, _WALL_M = (3.5, 1.5), (0.2, 0.6)
_NONE = NumberColumn(np.array([0.0]), np.array([0.0]))


class Place(NamedTuple):
    """Where the heat may lie about the membrane, row by row."""

    within: Bools
    over: Bools
    under: Bools


def _numbers(frame: Frame, name: str) -> NumberColumn:
    column = frame[name]
    assert isinstance(column, NumberColumn), name
    return column


def _place(frame: Frame) -> Place:
    column = frame["heating_position"]
    assert isinstance(column, ChoiceColumn)
    choices = frame.domain("heating_position").choices
    bit = {name: 1 << place for place, name in enumerate(choices)}
    anywhere = bit["none"] | bit["other"]
    return Place(
        *(
            (column.bits & np.uint64(bit[f"{name} the membrane"] | anywhere)) != 0
            for name in ("in", "above", "below")
        )
    )


class Tile(NamedTuple):
    """The tile over the heat, and where the heat lies."""

    place: Place
    conductivity: NumberColumn
    resistance: NumberColumn
    thickness: NumberColumn


def _tile(frame: Frame, tables: Tables) -> Tile:
    found: Tile = frame.keep("finish", "heat tile", lambda: _make_tile(frame, tables))
    return found


def _make_tile(frame: Frame, tables: Tables) -> Tile:
    conductivity = choice_range(frame, "finish", tables.ranges["tile_conductivity"])
    thickness = _numbers(frame, "tile_thickness")
    resistance = NumberColumn(thickness.low / conductivity.high, thickness.high / conductivity.low)
    return Tile(_place(frame), conductivity, resistance, thickness)


class Over(NamedTuple):
    """What lies over the heat: resistance, cover of the axis, its conductivity, the membrane's part."""

    resistance: NumberColumn
    cover: NumberColumn
    conductivity: NumberColumn
    membrane: NumberColumn


def over_heat(frame: Frame, tables: Tables) -> Over:
    """The layers from the heat to the tile's surface, the tile with them."""
    found: Over = frame.keep("above_membrane_resistance", "heat over", lambda: _over(frame, tables))
    return found


def _over(frame: Frame, tables: Tables) -> Over:
    tile = _tile(frame, tables)
    within, over, under = tile.place
    above, height = _numbers(frame, "above_membrane_resistance"), _numbers(frame, "above_membrane_height")
    sheet = _numbers(frame, "membrane_thermal_resistance")
    below = _numbers(frame, "below_membrane_resistance")
    deep = within | over
    membrane = NumberColumn(np.where(deep, 0.0, sheet.low), np.where(under, sheet.high, 0.0))
    studs = np.where(within, _numbers(frame, "membrane_thickness").high, 0.0)
    least = np.where(deep, 0.0, sheet.low + below.low + _SCREED_M2K_W[0])
    most = np.maximum(studs / _MORTAR_LOW, np.where(under, sheet.high + below.high + _SCREED_M2K_W[1], 0.0))
    resistance = NumberColumn(
        tile.resistance.low + above.low + least, tile.resistance.high + above.high + most
    )
    axis = np.where(over, -_AXIS_M, np.where(within, 0.0, _SCREED_M[0]))
    cover = NumberColumn(
        tile.thickness.low + np.maximum(height.low + axis, 0.0),
        tile.thickness.high + height.high + np.maximum(studs, np.where(under, _SCREED_M[1], 0.0)),
    )
    least, most = _bed_conductivity(height, above)
    least = np.where(under, np.minimum(least, _MORTAR_LOW), least)
    conductivity = NumberColumn(
        np.minimum(tile.conductivity.low, least), np.maximum(tile.conductivity.high, most)
    )
    return Over(resistance, cover, conductivity, membrane)


def _bed_conductivity(height: NumberColumn, resistance: NumberColumn) -> tuple[Floats, Floats]:
    """Conductivity of what lies between membrane and tile: its height over its resistance. [W/(m K)]"""
    ends = (height.low, resistance.high), (height.high, resistance.low)
    least, most = (np.where(part > 0, up / np.maximum(part, 1e-9), _ANY[1]) for up, part in ends)
    return np.clip(least, *_ANY), np.clip(most, *_ANY)


def under_contact(frame: Frame, tables: Tables) -> NumberColumn:
    """Resistance between the heat and the base: the membrane, where it lies under the heat. [m2 K/W]"""
    within, over, under = _tile(frame, tables).place
    sheet = _numbers(frame, "membrane_thermal_resistance")
    below = _numbers(frame, "below_membrane_resistance")
    least = np.where(under, 0.0, below.low + np.where(within, 0.0, sheet.low))
    return NumberColumn(least, np.where(within | over, below.high + sheet.high, 0.0))


def under_heat(frame: Frame, tables: Tables) -> NumberColumn:
    """Resistance from the heat to the space below, or to outdoors through the ground. [m2 K/W]"""
    base: NumberColumn = frame.keep("base", "heat base", lambda: _base(frame, tables))
    contact = under_contact(frame, tables)
    return NumberColumn(base.low + contact.low, base.high + contact.high)


def _base(frame: Frame, tables: Tables) -> NumberColumn:
    """Resistance of the base, its insulation and the film or the ground under it. [m2 K/W]"""
    base, width = frame["base"], _numbers(frame, "ground_floor_width")
    assert isinstance(base, ChoiceColumn)
    own = choice_range(frame, "base", tables.ranges["base_resistance"])
    insulation = _numbers(frame, "floor_insulation")
    floor = NumberColumn(own.low + insulation.low, own.high + insulation.high)
    ground = NumberColumn(
        _ground(width.low, floor.low, _GROUND_W_M_K[0], _WALL_M[0]),
        _ground(width.high, floor.high, _GROUND_W_M_K[1], _WALL_M[1]),
    )
    bit = np.uint64(1 << frame.domain("base").choices.index("slab on ground"))
    may, only = (base.bits & bit) != 0, (base.bits & ~bit) == 0
    free = NumberColumn(floor.low + DOWNWARD_FILM_M2K_W, floor.high + DOWNWARD_FILM_M2K_W)
    return NumberColumn(
        np.where(only, ground.low, np.where(may, np.minimum(ground.low, free.low), free.low)),
        np.where(only, ground.high, np.where(may, np.maximum(ground.high, free.high), free.high)),
    )


def _ground(width_m: Floats, floor_m2k_w: Floats, ground_w_m_k: float, wall_m: float) -> Floats:
    """Path through slab and ground to outdoors, less the film that a heated plane does not have."""
    film = DOWNWARD_FILM_M2K_W
    transmittance = slab_on_ground_transmittance(width_m, 2.0, wall_m, floor_m2k_w, ground_w_m_k, film)
    return ground_resistance(transmittance, film)


def below_temperature(frame: Frame, tables: Tables) -> NumberColumn:
    """Temperature of what is below; outdoors over the year where that is the ground. [K]"""
    found: NumberColumn = frame.keep(
        "space_below",
        "heat space below",
        lambda: choice_range(frame, "space_below", tables.ranges["below_temperature"]),
    )
    return found


def over_capacity(frame: Frame, tables: Tables) -> NumberColumn:
    """Heat capacity of what lies over the heat. [J/(m2 K)]"""
    tile, place = tile_weight(frame, tables), _tile(frame, tables).place
    height = _numbers(frame, "above_membrane_height")
    least = np.where(place.within | place.over, 0.0, _SCREED_M[0])
    most = np.maximum(
        np.where(place.within, _numbers(frame, "membrane_thickness").high, 0.0),
        np.where(place.under, _SCREED_M[1], 0.0),
    )
    return NumberColumn(
        tile.low * _TILE_J_KG_K[0] + (height.low + least) * _MORTAR_J_M3_K[0],
        tile.high * _TILE_J_KG_K[1] + (height.high + most) * _MORTAR_J_M3_K[1],
    )


def heated_by(
    frame: Frame, computed: NumberColumn, kinds: tuple[str, ...], without: NumberColumn = _NONE
) -> NumberColumn:
    """The computed number where the floor is heated so, another where it is not."""
    column = frame["heating"]
    assert isinstance(column, ChoiceColumn)
    choices = frame.domain("heating").choices
    bits = np.uint64(sum(1 << choices.index(name) for name in kinds))
    may, only = (column.bits & bits) != 0, (column.bits & ~bits) == 0
    return NumberColumn(
        np.where(may, np.where(only, computed.low, np.minimum(computed.low, without.low)), without.low),
        np.where(may, np.where(only, computed.high, np.maximum(computed.high, without.high)), without.high),
    )


ELECTRIC = ("electric cable", "electric mat", "other")
HEATED = (*ELECTRIC, "hydronic")
