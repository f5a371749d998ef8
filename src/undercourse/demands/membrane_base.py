"""Tile on a base that shortens: stress amid a field and shear at its edges, with the sheet and bonded.

The base pushes the tile together as it shrinks. The membrane passes on less of that; where it is soft, the
field may be long before it matters. All of it warns and none of it allows.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands.membrane_parts import (
    BONDED_DECAY,
    MORTAR_PA_M,
    PEAK,
    SHEET,
    SHEET_DECAY,
    SHEET_NOTES,
    demand_on_sheet,
)
from undercourse.demands.membrane_test import OWN_TEST, TEST_NOTES, TESTED, own_test
from undercourse.demands.record import CHOICE, LOWERS, RAISES, Notation, Step, Tables, Values
from undercourse.demands.slab import REMAINING
from undercourse.demands.tiles import tile_modulus
from undercourse.physics.shear_bounds import end_shear_bound, shrinking_base_bound
from undercourse.physics.shear_lag import strain_mismatch


def _shrinkage(frame: Frame, tables: Tables) -> NumberColumn:
    """Shrinkage of the slab still to come, once a floor; never quite nothing, so that it may divide."""

    def make() -> NumberColumn:
        found = REMAINING.value(frame, tables)
        return NumberColumn(np.maximum(found.low, 1e-9), np.maximum(found.high, 1e-9))

    kept: NumberColumn = frame.keep("slab_age", "shrinkage to come", make)
    return kept


def _collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        "shrinkage": _shrinkage(frame, tables),
        "tile_modulus": tile_modulus(frame, tables),
        "own_test": own_test(frame, tables),
    }


def _bonded_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        "shrinkage": _shrinkage(frame, tables),
        "tile_modulus": tile_modulus(frame, tables),
        "mortar_stiffness": MORTAR_PA_M,
    }


def _pressed(values: Values) -> tuple[Floats, Values]:
    length = values["movement_joint_spacing"] / 2
    bound = shrinking_base_bound(
        values["shrinkage"],
        length,
        values["tile_modulus"],
        values["tile_thickness"],
        values["membrane_shear_stiffness"],
        values["membrane_shear_yield"],
    )
    return bound.stress_pa, {
        "half_length_m": length,
        "decay_per_m": bound.decay_per_m,
        "elastic_pa": bound.elastic_pa,
        "elastic_end_m": bound.elastic_end_m,
        "yielded_pa": bound.yielded_pa,
    }


def _edge(values: Values) -> tuple[Floats, Values]:
    length = values["movement_joint_spacing"] / 2
    stiffness = values["membrane_shear_stiffness"]
    decay = np.sqrt(stiffness / (values["tile_modulus"] * values["tile_thickness"]))
    shear = end_shear_bound(values["shrinkage"], length, decay, stiffness, values["membrane_shear_yield"])
    return shear, {"half_length_m": length, "decay_per_m": decay}


def _bonded(part: str, values: Values) -> tuple[Floats, Values]:
    length = values["movement_joint_spacing"] / 2
    found = strain_mismatch(
        values["shrinkage"],
        length,
        values["tile_modulus"],
        values["tile_thickness"],
        np.inf,
        values["mortar_stiffness"],
    )
    number: Floats = getattr(found, part)
    return number, {"half_length_m": length, "decay_per_m": found.decay_per_m}


def _bonded_stress(values: Values) -> tuple[Floats, Values]:
    return _bonded("middle_stress_pa", values)


def _bonded_edge(values: Values) -> tuple[Floats, Values]:
    return _bonded("end_shear_pa", values)


_NOTES = {
    **SHEET_NOTES,
    **TEST_NOTES,
    "shrinkage": Notation(
        "ε", "micro", "shrinkage of the slab to come", "of the sheet on shrinkage still to come"
    ),
    "movement_joint_spacing": Notation("L", "m"),
    "half_length_m": Notation("l", "m", "half the field between soft joints"),
    "elastic_end_m": Notation("x", "m", "where free tile would start to make the layer yield"),
}
_SIGMA = Notation("σ", "mpa", "compression in the middle of the field")
_TAU = Notation("τ", "mpa", "shear at the edge of the field")
_HALF = Step("half_length_m", "L/2")
_CHEN = "Chen and Nelson 1979, rigid base, from memory (confidence 95)"
_ELASTIC = "ε*E*(1 - 1/cosh(min(a*l, 300)))"
_WAYS = {"shrinkage": RAISES, "tile_modulus": RAISES}
_READS = {
    **dict.fromkeys(REMAINING.reads, CHOICE),
    "movement_joint_spacing": RAISES,
    "tile_thickness": LOWERS,
    "finish": CHOICE,
}
# Thicker tile is pressed less hard and moves its edge more.
_EDGE_READS = {**_READS, "tile_thickness": RAISES}
_SHEETED: Mapping[str, Any] = {"takes": {**SHEET, **TESTED}, "valid": (OWN_TEST,)}
_FIELD = (
    "The slab is taken as rigid and as shrinking freely: one that is held, or gives way, presses less. What"
    " the tile itself grows with moisture or heat comes on top."
)
_BUCKLE = (
    "Long before tile is crushed it lifts: compression wants soft joints and full beds, not strong tile."
)
DEMANDS = (
    demand_on_sheet(
        "shrinkage_tile_stress",
        "psi",
        1e6,
        _SIGMA,
        title="Compression of tile on a shrinking slab, with the membrane",
        reads=_READS,
        through={**_WAYS, "own_test": RAISES},
        kernel=_pressed,
        collapse=_collapse,
        reason="Over half a field of {half_length_m} the sheet passes on the lesser of {elastic_pa} and"
        " {yielded_pa}.",
        steps=(
            _HALF,
            SHEET_DECAY,
            Step("elastic_pa", _ELASTIC, _CHEN),
            Step(
                "elastic_end_m", "min(y/(K*ε), l)", "slip no more than ε times the distance from the middle"
            ),
            Step("yielded_pa", "K*ε*x*(l - x/2)/t", "own derivation"),
            Step("value", "min(s_e, s_p)"),
        ),
        cautions=(_FIELD, _BUCKLE),
        notes=_NOTES,
        **_SHEETED,
    ),
    demand_on_sheet(
        "shrinkage_tile_stress_bonded",
        "psi",
        1e8,
        _SIGMA,
        title="Compression of tile on a shrinking slab, fully bonded without membrane",
        reads=_READS,
        through={**_WAYS, "mortar_stiffness": RAISES},
        kernel=_bonded_stress,
        collapse=_bonded_collapse,
        reason="Over half a field of {half_length_m} mortar alone passes on nearly all of the shrinkage.",
        steps=(_HALF, BONDED_DECAY, Step("value", _ELASTIC, _CHEN)),
        cautions=(_FIELD, _BUCKLE),
        notes=_NOTES,
        informs=True,
    ),
    demand_on_sheet(
        "shrinkage_edge_shear",
        "psi",
        1e5,
        _TAU,
        title="Shear of the membrane at the edge of a field on a shrinking slab",
        reads=_EDGE_READS,
        through={**_WAYS, "own_test": RAISES},
        kernel=_edge,
        collapse=_collapse,
        reason="The sheet slips most at the soft joint, {half_length_m} from the middle.",
        steps=(_HALF, SHEET_DECAY, Step("value", "min(K*ε*tanh(a*l)/a, y)", _CHEN)),
        cautions=(PEAK, _FIELD),
        notes=_NOTES,
        **_SHEETED,
    ),
    demand_on_sheet(
        "shrinkage_edge_shear_bonded",
        "psi",
        1e8,
        _TAU,
        title="Shear of the mortar at the edge of a field on a shrinking slab, fully bonded without membrane",
        reads=_EDGE_READS,
        through={**_WAYS, "mortar_stiffness": RAISES},
        kernel=_bonded_edge,
        collapse=_bonded_collapse,
        reason="Mortar alone is sheared most at the soft joint, {half_length_m} from the middle.",
        steps=(_HALF, BONDED_DECAY, Step("value", "K_b*ε*tanh(a*l)/a", _CHEN)),
        cautions=(PEAK, _FIELD),
        notes=_NOTES,
        informs=True,
    ),
)
