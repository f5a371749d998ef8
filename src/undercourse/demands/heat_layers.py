"""What lies over the heat and under it: resistances, cover, capacity, as ranges over all that may still be.

Where the heat lies decides on which side of it the membrane counts. A position that is not told may be any.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from undercourse.base.columns import ChoiceColumn, Floats, NumberColumn, some
from undercourse.base.frame import Frame
from undercourse.demands.loads import choice_range, tile_weight
from undercourse.demands.record import CHOICE, Demand, Tables
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
_GROUND_W_M_K, _WALL_M = np.array([[3.5], [1.5]]), np.array([[0.2], [0.6]])
_NONE = NumberColumn(np.array([0.0]), np.array([0.0]))


class Place(NamedTuple):
    """Where the heat may lie about the membrane, as factors of 0 and 1, row by row."""

    within: Floats
    under: Floats
    only_under: Floats
    not_under: Floats
    only_over: Floats
    axis_m: Floats


class Tile(NamedTuple):
    """The tile over the heat, and where the heat lies."""

    place: Place
    conductivity: NumberColumn
    resistance: NumberColumn
    thickness: NumberColumn


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
    within, over, under = (
        (column.bits & np.uint64(bit[f"{name} the membrane"] | anywhere)) != 0
        for name in ("in", "above", "below")
    )
    deep = within | over
    # A cable on the sheet has its axis a little up in the mortar, one below has screed over it.
    axis = np.where(over, -_AXIS_M, np.where(within, 0.0, _SCREED_M[0]))
    return Place(*(np.asarray(part, float) for part in (within, under, ~deep, deep, ~(within | under), axis)))


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
    place = tile.place
    above, height = _numbers(frame, "above_membrane_resistance"), _numbers(frame, "above_membrane_height")
    sheet = _numbers(frame, "membrane_thermal_resistance")
    below = _numbers(frame, "below_membrane_resistance")
    studs = place.within * _numbers(frame, "membrane_thickness").high
    membrane = NumberColumn(place.only_under * sheet.low, place.under * sheet.high)
    least = membrane.low + place.only_under * (below.low + _SCREED_M2K_W[0])
    most = np.maximum(studs / _MORTAR_LOW, membrane.high + place.under * (below.high + _SCREED_M2K_W[1]))
    resistance = NumberColumn(
        tile.resistance.low + above.low + least, tile.resistance.high + above.high + most
    )
    cover = NumberColumn(
        tile.thickness.low + np.maximum(height.low + place.axis_m, 0.0),
        tile.thickness.high + height.high + np.maximum(studs, place.under * _SCREED_M[1]),
    )
    # Height over resistance of the bed; as good as anything where there is none.
    bed = (height.low + _ANY[1] * 1e-9) / (above.high + 1e-9)
    bed = np.minimum(bed, _ANY[1] - place.under * (_ANY[1] - _MORTAR_LOW))
    good = (height.high + _ANY[1] * 1e-9) / (above.low + 1e-9)
    conductivity = NumberColumn(
        np.minimum(tile.conductivity.low, np.maximum(bed, _ANY[0])),
        np.maximum(tile.conductivity.high, np.minimum(good, _ANY[1])),
    )
    return Over(resistance, cover, conductivity, membrane)


def under_contact(frame: Frame, tables: Tables) -> NumberColumn:
    """Resistance between the heat and the base: the membrane, where it lies under the heat. [m2 K/W]"""
    place = _tile(frame, tables).place
    sheet = _numbers(frame, "membrane_thermal_resistance")
    below = _numbers(frame, "below_membrane_resistance")
    # Heat in the sheet may lie on the base itself; heat under it has none of the new layers below.
    least = place.only_over * sheet.low + (1.0 - place.under) * below.low
    return NumberColumn(least, place.not_under * (below.high + sheet.high))


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
    floor = own.low + insulation.low, own.high + insulation.high
    bit = np.uint64(1 << frame.domain("base").choices.index("slab on ground"))
    may, only = (base.bits & bit) != 0, (base.bits & ~bit) == 0
    free = floor[0] + DOWNWARD_FILM_M2K_W, floor[1] + DOWNWARD_FILM_M2K_W
    if not may.any():
        return NumberColumn(*free)
    film = DOWNWARD_FILM_M2K_W
    transmittance = slab_on_ground_transmittance(
        np.stack(np.broadcast_arrays(width.low, width.high)),
        2.0,
        _WALL_M,
        np.stack(np.broadcast_arrays(*floor)),
        _GROUND_W_M_K,
        film,
    )
    # Through slab and ground to outdoors, less the film that a heated plane does not have.
    ground = ground_resistance(transmittance, film)
    return NumberColumn(
        np.where(only, ground[0], np.where(may, np.minimum(ground[0], free[0]), free[0])),
        np.where(only, ground[1], np.where(may, np.maximum(ground[1], free[1]), free[1])),
    )


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
    studs = place.within * _numbers(frame, "membrane_thickness").high
    most = np.maximum(studs, place.under * _SCREED_M[1])
    return NumberColumn(
        tile.low * _TILE_J_KG_K[0] + (height.low + place.only_under * _SCREED_M[0]) * _MORTAR_J_M3_K[0],
        tile.high * _TILE_J_KG_K[1] + (height.high + most) * _MORTAR_J_M3_K[1],
    )


ELECTRIC = ("electric cable", "electric mat", "other")
HEATED = (*ELECTRIC, "hydronic")


def room_temperature(frame: Frame) -> NumberColumn:
    """Temperature of the room: what a surface without heat has. [K]"""
    return _numbers(frame, "room_temperature")


def nothing(frame: Frame) -> NumberColumn:
    """No heat, no number."""
    return _NONE


@dataclass(frozen=True)
class HeatDemand(Demand):
    """A demand of floors heated in some ways: of any other floor nothing is worked out."""

    kinds: tuple[str, ...] = HEATED
    unheated: Callable[[Frame], NumberColumn] = nothing

    def __post_init__(self) -> None:
        super().__post_init__()
        object.__setattr__(self, "branches", self._join)

    def value(self, frame: Frame, tables: Tables, gentle: bool = False) -> NumberColumn:
        """The demand as a range, row by row; quick where no row may be heated so."""
        column, bits = self._kinds(frame)
        if not some((column.bits & bits) != 0):
            return self.unheated(frame)
        return super().value(frame, tables, gentle)

    def _kinds(self, frame: Frame) -> tuple[ChoiceColumn, np.uint64]:
        column = frame["heating"]
        assert isinstance(column, ChoiceColumn)
        choices = frame.domain("heating").choices
        return column, np.uint64(sum(1 << choices.index(name) for name in self.kinds))

    def _join(self, frame: Frame, found: NumberColumn) -> NumberColumn:
        """The computed number where the floor is heated so, that without heat where it is not."""
        column, bits = self._kinds(frame)
        may, only = (column.bits & bits) != 0, (column.bits & ~bits) == 0
        without = self.unheated(frame)
        low = np.where(only, found.low, np.minimum(found.low, without.low))
        high = np.where(only, found.high, np.maximum(found.high, without.high))
        return NumberColumn(np.where(may, low, without.low), np.where(may, high, without.high))
