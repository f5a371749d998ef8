"""Dead load and height of a candidate with its tile, and the floor-load class that a use asks for."""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Bits, ChoiceColumn, Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.record import (
    CHOICE,
    ORDINAL,
    PRACTICE,
    RAISES,
    RATIO,
    ChoiceTable,
    Demand,
    Notation,
    Ranges,
    Step,
    Tables,
    Values,
)


def choice_range(frame: Frame, name: str, table: Ranges) -> NumberColumn:
    """Range of a tabulated quantity over the choices still possible."""
    found: NumberColumn = frame.keep(
        name, f"range {name} {id(table)}", lambda: _choice_range(frame, name, table)
    )
    return found


def _choice_range(frame: Frame, name: str, table: Ranges) -> NumberColumn:
    column = frame[name]
    assert isinstance(column, ChoiceColumn)
    ranges = table if isinstance(table, ChoiceTable) else ChoiceTable(table)
    least, most = ranges.arrays(frame.domain(name).choices)
    bits = column.bits
    if bits.size <= _FEW:
        return NumberColumn(*_over_choices(bits, least, most))
    # In long tables most rows know their choice: its place is the power of two that its bit is.
    single = (bits & (bits - np.uint64(1))) == 0
    place = np.maximum(np.frexp(bits.astype(np.float64))[1] - 1, 0)
    low = least[place]
    high = low if most is least else most[place]
    rest = ~single | (bits == 0)
    if rest.any():
        low, high = low.copy(), high.copy()
        low[rest], high[rest] = _over_choices(bits[rest], least, most)
    return NumberColumn(low, high)


def _over_choices(bits: Bits, least: Floats, most: Floats) -> tuple[Floats, Floats]:
    """Least and greatest over the choices that each row leaves."""
    has = (bits[:, None] & _BITS[: len(least)]) != 0
    low = np.where(has, least, np.inf).min(axis=1)
    high = np.where(has, most, -np.inf).max(axis=1)
    none = bits == 0
    if none.any():
        low, high = np.where(none, 0.0, low), np.where(none, 0.0, high)
    return low, high


_FEW = 32
_BITS = np.uint64(1) << np.arange(64, dtype=np.uint64)


def tile_weight(frame: Frame, tables: Tables) -> NumberColumn:
    """Weight of the tile per area: density of the finish times its thickness. [kg/m2]"""
    found: NumberColumn = frame.keep("finish", "tile weight", lambda: _tile_weight(frame, tables))
    return found


def _tile_weight(frame: Frame, tables: Tables) -> NumberColumn:
    density = choice_range(frame, "finish", tables.tile_density)
    thickness = frame["tile_thickness"]
    assert isinstance(thickness, NumberColumn)
    return NumberColumn(density.low * thickness.low, density.high * thickness.high)


def _weight_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {"tile_weight": tile_weight(frame, tables)}


def _weight(values: Values) -> tuple[Floats, Values]:
    total: Floats = (values["tile_weight"] + values["layers_weight"]) * 9.80665
    return total, {}


def _height(values: Values) -> tuple[Floats, Values]:
    total: Floats = values["tile_thickness"] + values["layers_height"]
    return total, {}


def _class_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    found = {}
    for name in ("occupancy", "wheels"):
        found[f"{name}_class"] = choice_range(frame, name, tables.load_class[name])
    return found


def _class(values: Values) -> tuple[Floats, Values]:
    rank: Floats = np.maximum(values["occupancy_class"], values["wheels_class"])
    return rank, {}


TILE_WEIGHT = Notation("m_t", "kg_m2", "weight of the tile", "density of the finish times its thickness")
LAYERS_WEIGHT = Notation("m_l", "kg_m2", "weight of the layers below the tile")
_NOTATION = {
    "tile_weight": TILE_WEIGHT,
    "layers_weight": LAYERS_WEIGHT,
    "tile_thickness": Notation("t", "mm"),
    "layers_height": Notation("h", "mm", "height of the layers below the tile"),
    "occupancy_class": Notation("c_u", "class", "class that the use asks for"),
    "wheels_class": Notation("c_w", "class", "class that the wheels ask for"),
}
DEMANDS = (
    Demand(
        name="added_dead_load",
        title="Weight of the new work",
        subject="weight and height",
        domain=number_domain("added_dead_load", "psf", 0, 400),
        scale=RATIO,
        source="weights of the named products and of the tile by its finish",
        reads={"finish": CHOICE, "tile_thickness": CHOICE},
        takes={"layers_weight": RAISES},
        through={"tile_weight": RAISES},
        kernel=_weight,
        collapse=_weight_collapse,
        reason="Tile {tile_weight} and the layers below it {layers_weight}.",
        notation={**_NOTATION, "value": Notation("g", "kpa", "dead load added")},
        steps=(Step("value", "(m_t + m_l)*9.80665", "weight is mass times standard gravity"),),
        rests_on=PRACTICE,
    ),
    Demand(
        name="assembly_height",
        title="Height of the new work",
        subject="weight and height",
        domain=number_domain("assembly_height", "in", 0, 40),
        scale=RATIO,
        source="thicknesses of the named products and of the tile",
        reads={"tile_thickness": RAISES},
        takes={"layers_height": RAISES},
        through={},
        kernel=_height,
        collapse=lambda frame, tables: {},
        reason="Tile {tile_thickness} on layers of {layers_height}.",
        notation={**_NOTATION, "value": Notation("H", "mm", "height of the new work")},
        steps=(Step("value", "t + h"),),
        rests_on=PRACTICE,
    ),
    Demand(
        name="floor_load_class",
        title="Floor-load class that the use asks for",
        subject="loads on the surface",
        domain=number_domain("floor_load_class", "class", 0, 5),
        scale=ORDINAL,
        source="ASTM C627 ratings by use; the uses by the practice table of floor-load classes",
        reads={"occupancy": CHOICE, "wheels": CHOICE},
        takes={},
        through={"occupancy_class": RAISES, "wheels_class": RAISES},
        kernel=_class,
        collapse=_class_collapse,
        reason="The use asks for {occupancy_class}, the wheels for {wheels_class}; the larger counts.",
        notation={**_NOTATION, "value": Notation("c", "class", "class asked for")},
        steps=(Step("value", "max(c_u, c_w)"),),
        rests_on=PRACTICE,
    ),
)
