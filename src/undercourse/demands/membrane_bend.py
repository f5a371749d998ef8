"""Tile on panels that bend up over a joist: stress at the top of the tile, with the sheet and bonded.

Tile takes the curvature of its base, and a part of its stretch besides. The sheet takes away the stretch and
never the bending. All of it warns and none of it allows.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands.columns import number
from undercourse.demands.membrane_parts import (
    BONDED_DECAY,
    MORTAR_PA_M,
    SHEET,
    SHEET_DECAY,
    SHEET_NOTES,
    demand_on_sheet,
)
from undercourse.demands.membrane_test import OWN_TEST, TEST_NOTES, TESTED, own_test
from undercourse.demands.panels import DEMANDS as _PANELS
from undercourse.demands.record import CHOICE, LOWERS, RAISES, Notation, Step, Tables, Values
from undercourse.demands.tiles import tile_modulus
from undercourse.physics.shear_bounds import shrinking_base_bound
from undercourse.physics.shear_lag import bent_tile_stress, curvature_mismatch, strain_mismatch

_BENDING = next(demand for demand in _PANELS if demand.name == "panel_support_curvature")
# Flat enough to count as flat, and never quite nothing, so that it may divide.
_FLAT_PER_M = 1e-9


def _curvature(frame: Frame, tables: Tables) -> NumberColumn:
    """Curvature of the panel over a joist, once a floor. [1/m]"""

    def make() -> NumberColumn:
        found = _BENDING.value(frame, tables)
        return NumberColumn(np.maximum(found.low, _FLAT_PER_M), np.maximum(found.high, _FLAT_PER_M))

    kept: NumberColumn = frame.keep("panel_rating", "curvature over a joist", make)
    return kept


def _bonded_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    thickness = number(frame, "tile_thickness")
    return {
        "curvature": _curvature(frame, tables),
        "tile_modulus": tile_modulus(frame, tables),
        # More of it bends the tile harder and stretches it less: two inputs, one range.
        "half_tile": NumberColumn(thickness.low / 2, thickness.high / 2),
        "whole_tile": thickness,
        "mortar_stiffness": MORTAR_PA_M,
    }


def _collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    found = _bonded_collapse(frame, tables)
    del found["mortar_stiffness"]
    return {**found, "own_test": own_test(frame, tables)}


def _mismatch(gap: Floats | float, values: Values) -> tuple[Floats, Floats]:
    """Strain by which base and tile differ, and half the length of the tile."""
    lever = values["panel_total_thickness"] / 2
    strain = curvature_mismatch(values["curvature"], lever, gap, 2 * values["half_tile"])
    return strain, values["tile_long_edge"] / 2


def _stress(stretched: Floats, values: Values) -> Floats:
    return bent_tile_stress(stretched, values["curvature"], values["tile_modulus"], 2 * values["half_tile"])


def _sheeted(values: Values) -> tuple[Floats, Values]:
    strain, length = _mismatch(values["membrane_thickness"], values)
    bound = shrinking_base_bound(
        strain,
        length,
        values["tile_modulus"],
        values["whole_tile"],
        values["membrane_shear_stiffness"],
        values["membrane_shear_yield"],
    )
    return _stress(bound.stress_pa, values), {
        "strain": strain,
        "half_length_m": length,
        "decay_per_m": bound.decay_per_m,
        "elastic_pa": bound.elastic_pa,
        "elastic_end_m": bound.elastic_end_m,
        "yielded_pa": bound.yielded_pa,
    }


def _bonded(values: Values) -> tuple[Floats, Values]:
    strain, length = _mismatch(0.0, values)
    found = strain_mismatch(
        strain, length, values["tile_modulus"], values["whole_tile"], np.inf, values["mortar_stiffness"]
    )
    return _stress(found.middle_stress_pa, values), {
        "strain": strain,
        "half_length_m": length,
        "decay_per_m": found.decay_per_m,
        "elastic_pa": found.middle_stress_pa,
    }


_NOTES: Mapping[str, Notation] = {
    **SHEET_NOTES,
    **TEST_NOTES,
    "curvature": Notation("κ", "1/m", "curvature of the panel over the joist", "of the sheet on panels"),
    "panel_total_thickness": Notation("H", "mm"),
    "membrane_thickness": Notation("d", "mm", "thickness of the membrane"),
    "whole_tile": Notation("t", "mm", "thickness of the tile", "as asked"),
    "half_tile": Notation("c", "mm", "half the thickness of the tile"),
    "tile_long_edge": Notation("L", "mm"),
    "half_length_m": Notation("l", "mm", "half the tile, its middle over the joist"),
    "strain": Notation("ε", "micro", "strain by which panel and tile differ"),
    "elastic_end_m": Notation("x", "mm", "where free tile would start to make the layer yield"),
}
_SIGMA = Notation("σ", "mpa", "stress at the top of the tile over the joist")
_ELASTIC = Step("elastic_pa", "ε*E*(1 - 1/cosh(min(a*l, 300)))", "Chen and Nelson 1979, from memory")
_HALF = Step("half_length_m", "L/2")
_READS = {
    **dict.fromkeys(_BENDING.reads, CHOICE),
    "panel_total_thickness": RAISES,
    "tile_long_edge": RAISES,
    "tile_thickness": CHOICE,
    "finish": CHOICE,
}
_WAYS = {"curvature": RAISES, "tile_modulus": RAISES, "half_tile": RAISES, "whole_tile": LOWERS}
_IMPOSED = (
    "An upper bound: the tile takes the whole curvature of the panel and stiffens nothing, the panel does not"
    " give along its plane, and the curvature is as great all along as it is over the joist."
)
_BENT = "A softer layer takes away the stretch of the tile, never its bending: a stiffer floor is the cure."
_NO_RATIO = (
    "With the membrane and fully bonded are two such bounds: what one is over the other says nothing of how"
    " much a membrane takes away, for bonded tile would stiffen the panel most."
)
_SHARED: Mapping[str, Any] = {"notes": _NOTES, "cautions": (_IMPOSED, _BENT, _NO_RATIO)}
_AND_BENT = Step("value", "min(s_e, s_p) + E*κ*c", "stretch and bending; beam theory")

DEMANDS = (
    demand_on_sheet(
        "bending_tile_stress",
        "psi",
        1e7,
        _SIGMA,
        title="Stress of tile over a joist under live load, with the membrane",
        reads=_READS,
        takes={**SHEET, **TESTED, "membrane_thickness": RAISES},
        through={**_WAYS, "own_test": RAISES},
        kernel=_sheeted,
        collapse=_collapse,
        reason="The panel and the tile want to differ by {strain}; the sheet passes on the lesser of"
        " {elastic_pa} and {yielded_pa}, and the tile bends besides.",
        steps=(
            Step("strain", "κ*(H/2 + d + c)", "sandwich with thin stiff faces"),
            _HALF,
            SHEET_DECAY,
            _ELASTIC,
            Step(
                "elastic_end_m", "min(y/(K*ε), l)", "slip no more than ε times the distance from the middle"
            ),
            Step("yielded_pa", "K*ε*x*(l - x/2)/t", "own derivation"),
            _AND_BENT,
        ),
        valid=(OWN_TEST,),
        **_SHARED,
    ),
    demand_on_sheet(
        "bending_tile_stress_bonded",
        "psi",
        1e8,
        _SIGMA,
        title="Stress of tile over a joist under live load, fully bonded without membrane",
        reads=_READS,
        through={**_WAYS, "mortar_stiffness": RAISES},
        kernel=_bonded,
        collapse=_bonded_collapse,
        reason="The panel and the tile want to differ by {strain}; mortar alone passes on {elastic_pa}.",
        steps=(
            Step("strain", "κ*(H/2 + c)", "sandwich with thin stiff faces"),
            _HALF,
            BONDED_DECAY,
            _ELASTIC,
            Step("value", "s_e + E*κ*c", "stretch and bending; beam theory"),
        ),
        informs=True,
        **_SHARED,
    ),
)
