"""What the demands on tile over a crack share: collapse of facts, kernels, notation, steps.

The sheet is a bed of shear springs with a plateau, the tile stretches along its plane.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.columns import number
from undercourse.demands.membrane_test import (
    HIGHEST,
    OWN_TEST,
    TEST_NOTES,
    TESTED,
    WITHIN_CLASS,
    class_used,
    own_test,
)
from undercourse.demands.record import (
    CHOICE,
    LOWERS,
    MEMORY,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Values,
)
from undercourse.demands.slab_movement import OPENING, base_opening
from undercourse.demands.tiles import MODULUS_NOTE, TENSION_NOTE, tile_modulus, tile_tension
from undercourse.physics.shear_bounds import crack_pull_bound
from undercourse.physics.shear_lag import crack_bridge

Collapse = Callable[[Frame, Tables], dict[str, NumberColumn]]
# Cement mortar: modulus 1 to 15 GPa, Poisson ratio 0.2, bed of 3/32 to 1/4 in.
MORTAR_PA_M = NumberColumn(np.array([1e9 / 2.4 / 0.00635]), np.array([15e9 / 2.4 / 0.00238]))
# Cement grout in tension, from nothing to what it may bear before it parts.
_GROUT_PA = NumberColumn(np.array([0.0]), np.array([3e6]))
SHEET = {"membrane_shear_stiffness": RAISES, "membrane_shear_yield": RAISES}


def _tile(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {"tile_modulus": tile_modulus(frame, tables), "grout_pull": _GROUT_PA}


def _crack_opening(frame: Frame, tables: Tables) -> NumberColumn:
    return number(frame, "crack_growth")


def _gates(
    opening: Callable[[Frame, Tables], NumberColumn], frame: Frame, tables: Tables
) -> dict[str, NumberColumn]:
    """How far the opening uses the tested one up, and the membrane's own test, once a candidate."""

    def make() -> dict[str, NumberColumn]:
        return {"class_used": class_used(opening(frame, tables), frame), "own_test": own_test(frame, tables)}

    found: dict[str, NumberColumn] = frame.keep("membrane_tested_opening", f"gates {opening.__name__}", make)
    return found


def crack_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Tile, grout, and the gates of an opening that the asker states."""
    return {**_tile(frame, tables), **_gates(_crack_opening, frame, tables)}


def share_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """As `crack_collapse`, with what the tile bears."""
    return {**crack_collapse(frame, tables), "tile_tension": tile_tension(frame, tables)}


def bonded_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Tile and grout on mortar alone."""
    return {**_tile(frame, tables), "mortar_stiffness": MORTAR_PA_M}


def joint_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """As `crack_collapse`, the opening being that of a joint of the slab."""
    opened = {"joint_opening": base_opening(frame, tables)}
    return {**_tile(frame, tables), **_gates(base_opening, frame, tables), **opened}


def joint_bonded(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """As `bonded_collapse` over a joint of the slab."""
    return {**bonded_collapse(frame, tables), "joint_opening": base_opening(frame, tables)}


def mortar_only(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """The shear stiffness of mortar alone."""
    return {"mortar_stiffness": MORTAR_PA_M}


def gates_of_crack(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """The gates of an opening that the asker states."""
    return _gates(_crack_opening, frame, tables)


def modulus_only(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """The modulus of the tile."""
    return {"tile_modulus": tile_modulus(frame, tables)}


def modulus_and_mortar(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """The modulus of the tile and the shear stiffness of mortar alone."""
    return {**modulus_only(frame, tables), **mortar_only(frame, tables)}


def over_opening(opening: str, values: Values) -> tuple[Floats, Values]:
    """Pull in the tile over an opening, with the sheet."""
    length = values["tile_long_edge"] / 2
    bound = crack_pull_bound(
        values[opening],
        length,
        values["tile_modulus"],
        values["tile_thickness"],
        values["membrane_shear_stiffness"],
        values["membrane_shear_yield"],
    )
    return bound.stress_pa + values["grout_pull"], {
        "free_length_m": length,
        "decay_per_m": bound.decay_per_m,
        "elastic_pa": bound.elastic_pa,
        "endless_pa": bound.endless_pa,
        "yielded_pa": bound.yielded_pa,
    }


def share_used(values: Values) -> tuple[Floats, Values]:
    """Pull in the tile over a crack against what it bears."""
    stress, working = over_opening("crack_growth", values)
    return stress / values["tile_tension"], {**working, "stress_pa": stress}


def over_opening_bonded(opening: str, values: Values) -> tuple[Floats, Values]:
    """Pull in the tile over an opening on mortar alone."""
    length = values["tile_long_edge"] / 2
    bridge = crack_bridge(
        values[opening],
        length,
        values["tile_modulus"],
        values["tile_thickness"],
        values["mortar_stiffness"],
    )
    working = {"free_length_m": length, "decay_per_m": bridge.decay_per_m, "elastic_pa": bridge.stress_pa}
    return bridge.stress_pa + values["grout_pull"], working


def sheet_shear(values: Values) -> tuple[Floats, Values]:
    """Shear of the sheet beside a crack."""
    slip = values["crack_growth"] / 2
    shear = np.minimum(values["membrane_shear_stiffness"] * slip, values["membrane_shear_yield"])
    return shear, {"slip_m": slip}


def mortar_shear(values: Values) -> tuple[Floats, Values]:
    """Shear of mortar alone beside a crack."""
    slip = values["crack_growth"] / 2
    return values["mortar_stiffness"] * slip, {"slip_m": slip}


def transfer(stiffness: str, values: Values) -> tuple[Floats, Values]:
    """Length over which a layer passes movement into the tile."""
    length = np.sqrt(values["tile_modulus"] * values["tile_thickness"] / values[stiffness])
    return length, {}


SHEET_NOTES = {
    "membrane_shear_stiffness": Notation("K", "n_mm3", "shear stiffness of the membrane", "the maker's"),
    "membrane_shear_yield": Notation(
        "y", "mpa", "shear at which the membrane yields", "the maker's test; any where not stated"
    ),
    "mortar_stiffness": Notation(
        "K_b", "n_mm3", "shear stiffness of the mortar alone", "1 to 15 GPa, 3/32 to 1/4 in, from memory"
    ),
    "tile_modulus": MODULUS_NOTE,
    "tile_thickness": Notation("t", "mm"),
    "decay_per_m": Notation("a", "1/m", "decay along the tile"),
    "elastic_pa": Notation("s_e", "mpa", "pull if the layer never yields"),
    "yielded_pa": Notation("s_p", "mpa", "pull if it yields all along"),
}
_NOTES = {
    **SHEET_NOTES,
    **TEST_NOTES,
    "crack_growth": Notation("w", "mm"),
    "joint_opening": Notation("w", "mm", "opening of the joint", "of the sheet on joints of the base"),
    "tile_long_edge": Notation("L", "mm"),
    "grout_pull": Notation(
        "g", "mpa", "pull that grout passes on", "0 to 3 MPa before it parts, from memory (confidence 60)"
    ),
    "tile_tension": TENSION_NOTE,
    "free_length_m": Notation("l", "mm", "from the crack to the edge of the tile"),
    "endless_pa": Notation("s_y", "mpa", "pull on endless tile"),
    "stress_pa": Notation("s", "mpa", "pull in the tile"),
    "slip_m": Notation("u", "mm", "slip beside the crack"),
}
STRESS = Notation("σ", "mpa", "pull in the tile over the crack")
TAU = Notation("τ", "mpa", "shear beside the crack")
_LENGTH = Step("free_length_m", "L/2", "the crack below the middle of the longest tile")
SHEET_DECAY = Step("decay_per_m", "sqrt(K/(E*t))", "Volkersen 1938, rigid base")
BONDED_DECAY = Step("decay_per_m", "sqrt(K_b/(E*t))", "Volkersen 1938, rigid base")
PULLS = (
    _LENGTH,
    SHEET_DECAY,
    Step("elastic_pa", "w/(2*t)*sqrt(K*E*t)*tanh(a*l)", "own derivation, checked by finite differences"),
    Step("endless_pa", "y/(a*t)*sqrt(2*max(w*K/(2*y), 1) - 1)", "own derivation: longer tile pulls no less"),
    Step("yielded_pa", "y*l/t", "no place carries more than y"),
)
BONDED_PULL = (
    _LENGTH,
    BONDED_DECAY,
    Step("elastic_pa", "w/(2*t)*sqrt(K_b*E*t)*tanh(a*l)", "own derivation; nothing lets go"),
    Step("value", "s_e + g"),
)
LEAST = "min(min(s_e, s_y), s_p) + g"
SOURCE = (
    "shear lag (Volkersen 1938) with a plateau, own derivation, a bound from above; stiffness and strength of"
    " tile and mortar from memory"
)
PEAK = (
    "A peak of stress is not a bond strength: a bond test gives the mean over a small piece, so a peak below"
    " it is no pass and one above it no proof of failure."
)
_MEAN = (
    "A mean over the thickness of the tile. It is pulled at its underside, so it also bends: the underside"
    " may be pulled up to four times as hard."
)
CLASS = "No capacity: nothing is claimed beyond the opening of the membrane's own crack test."
LETS_GO = "Fully bonded, as if nothing let go: in fact tile cracks or mortar parts long before high numbers."
_TILE_READS = {"tile_long_edge": RAISES, "tile_thickness": LOWERS, "finish": CHOICE}
CRACK_READS = {"crack_growth": RAISES, **_TILE_READS}
JOINT_READS = {**dict.fromkeys(OPENING.reads, CHOICE), **_TILE_READS}
PULL_WAYS = {"tile_modulus": RAISES, "grout_pull": RAISES}
GATE_WAYS = {"class_used": RAISES, "own_test": RAISES}
_TAKES = {**SHEET, **TESTED}
OVER_REASON = (
    "Over {free_length_m} beside the crack the layer pulls the tile; least of {elastic_pa} and two more."
)


def demand_on_sheet(
    name: str,
    unit: str,
    high: float,
    value: Notation,
    notes: Mapping[str, Notation] = _NOTES,
    **parts: Any,
) -> Demand:
    """A demand on tile and sheet, with what all of them share."""
    defaults: dict[str, Any] = {
        "subject": "membrane",
        "scale": RATIO,
        "source": SOURCE,
        "takes": {},
        "rests_on": MEMORY,
        "notation": {**notes, "value": value},
    }
    return Demand(name=name, domain=number_domain(name, unit, 0, high), **{**defaults, **parts})


SHEETED: Mapping[str, Any] = {
    "takes": _TAKES,
    "valid": (HIGHEST, OWN_TEST, WITHIN_CLASS),
    "cautions": (_MEAN, CLASS),
}
AT_JOINTS: Mapping[str, Any] = {**SHEETED, "valid": (OWN_TEST, WITHIN_CLASS)}
