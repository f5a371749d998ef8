"""What a slab will still do to its joints and cracks, how it bends up, moves with heat, and how stiff it is.

A joint takes the shortening of the slab on both of its sides: (1 - restraint) x strain x spacing, with the
cooling after tiling. A crack between two joints shares it with them, or takes all where they stay shut.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.concrete import (
    CONCRETE,
    CONCRETE_NOTATION,
    DRY_AIR,
    OPEN_DRYING,
    SLAB_READS,
    humidity,
    only_concrete,
)
from undercourse.demands.loads import choice_range
from undercourse.demands.record import (
    CHOICE,
    LOWERS,
    PRACTICE,
    PUBLISHED,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Values,
)
from undercourse.demands.slab import strain_without_mix
from undercourse.physics.slab import concrete_modulus_metric, curl_lift, joint_opening, thermal_movement


def _span(low: float, high: float) -> NumberColumn:
    return NumberColumn(np.array([low]), np.array([high]))


# Tiled on the coldest or on the hottest day: of the yearly range none or all is cooling still to come.
_COOLING = _span(0.0, 1.0)
# Between two joints that open a crack takes half of the bay; where they stay shut it takes all.
_CRACK = _span(0.5, 1.0)
# A linear profile from nothing at the damp face has twice its mean at the dry one; none is even drying.
_PROFILE = _span(0.0, 2.0)


def _shrinking(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    strain, mix = strain_without_mix(frame, tables)
    return {"strain": strain, "mix": mix, "relative_humidity": humidity(frame)}


def _opening_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    found: dict[str, NumberColumn] = frame.keep(
        "slab_age", "joint opening", lambda: _opening_ranges(frame, tables)
    )
    return found


def _opening_ranges(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return _shrinking(frame, tables) | {
        "free_share": choice_range(frame, "base", tables.ranges["slab_free_share"]),
        "expansion": choice_range(frame, "concrete_aggregate", tables.ranges["concrete_expansion"]),
        "cooling_share": _COOLING,
    }


def _crack_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return _opening_collapse(frame, tables) | {"crack_share": _CRACK}


def _curl_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return _shrinking(frame, tables) | {"profile": _PROFILE}


def _heat_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {"expansion": choice_range(frame, "concrete_aggregate", tables.ranges["concrete_expansion"])}


def base_opening(frame: Frame, tables: Tables) -> NumberColumn:
    """Opening of a joint of the base after tiling, worked out once a floor. [m]"""
    found: NumberColumn = frame.keep("slab_age", "base opening", lambda: OPENING.value(frame, tables))
    return found


def _open(values: Values, length: Floats) -> tuple[Floats, Values]:
    strain = values["strain"] * values["mix"]
    drop = values["cooling_share"] * values["yearly_temperature_range"]
    opening = joint_opening(length, values["expansion"], drop, strain, values["free_share"])
    return opening, {"to_come": strain, "drop_k": drop, "length_m": length}


def _joint(values: Values) -> tuple[Floats, Values]:
    return _open(values, values["base_joint_spacing"])


def _crack(values: Values) -> tuple[Floats, Values]:
    return _open(values, values["crack_share"] * values["base_joint_spacing"])


def _curl(values: Values) -> tuple[Floats, Values]:
    difference = values["profile"] * values["strain"] * values["mix"]
    lift = curl_lift(values["base_joint_spacing"], values["slab_thickness"], difference)
    return lift, {"difference": difference}


def _heat(values: Values) -> tuple[Floats, Values]:
    length, change = values["base_joint_spacing"], values["yearly_temperature_range"]
    return thermal_movement(values["expansion"], length, change), {}


def _modulus(values: Values) -> tuple[Floats, Values]:
    return concrete_modulus_metric(values["slab_strength"]), {}


_STRAIN = "of the sheet on shrinkage still to come, with the factors of mix and scatter at 1"
_NOTATION = {
    **CONCRETE_NOTATION,
    "strain": Notation("ε_1", "micro", "shrinkage to come of standard concrete", _STRAIN),
    "mix": Notation("m", "1", "factors of mix and scatter", "usual mixes, half to one and a half as scatter"),
    "free_share": Notation("C", "1", "1 less restraint", "by the base; common practice, no source"),
    "expansion": Notation("α", "1/k", "expansion of the concrete", "by its stone, a concrete trade magazine"),
    "cooling_share": Notation("w", "1", "part of the yearly range that is cooling to come", "none to all"),
    "crack_share": Notation(
        "u", "1", "part of the bay that a crack takes", "half if the joints open, else all"
    ),
    "profile": Notation("p", "1", "difference of the faces over the mean", "even to linear drying"),
    "base_joint_spacing": Notation("L", "m"),
    "yearly_temperature_range": Notation("T", "k"),
    "slab_thickness": Notation("H", "mm"),
    "to_come": Notation("ε", "micro", "shrinkage to come"),
    "drop_k": Notation("ΔT", "k", "cooling to come"),
    "length_m": Notation("l", "m", "length of slab that opens it"),
    "difference": Notation("δ", "micro", "strain of one face over the other"),
    "value": Notation("x", "mm", "opening"),
}
_READS = {
    **SLAB_READS,
    "slab_age": CHOICE,
    "base_joint_spacing": RAISES,
    "yearly_temperature_range": RAISES,
    "concrete_aggregate": CHOICE,
}
_THROUGH = {
    "strain": RAISES,
    "mix": RAISES,
    "relative_humidity": LOWERS,
    "free_share": RAISES,
    "expansion": RAISES,
    "cooling_share": RAISES,
}
_TO_COME = Step("to_come", "ε_1*m")
_DROP = Step("drop_k", "w*T")
_OPEN = Step("value", "C*l*(α*ΔT + ε)", "length change of the slab, less what holds it back")
_SOURCE = (
    "(1 − restraint) × strain × length; strain by ACI 209.2R-08, A.1.1 with usual mixes and scatter;"
    " restraint by common practice, no source"
)
_DOMINANT = "Where some joints stay shut, the others take their part too and open more than this."
_OFFSET = "Any step between the two sides is not covered by this and goes to an engineer."
OPENING = Demand(
    name="base_joint_opening",
    title="Opening of a joint of the slab after tiling",
    subject="slab",
    domain=number_domain("base_joint_opening", "in", 0, 400),
    scale=RATIO,
    source=_SOURCE,
    reads=_READS,
    takes={},
    through=_THROUGH,
    kernel=_joint,
    collapse=_opening_collapse,
    reason="Over {length_m} of slab {to_come} of shrinkage and {drop_k} of cooling are still to come.",
    model_parameter="mix free_share cooling_share",
    branches=only_concrete,
    only_base=CONCRETE,
    notation=_NOTATION,
    steps=(_TO_COME, _DROP, Step("length_m", "L"), _OPEN),
    valid=(DRY_AIR,),
    cautions=(OPEN_DRYING, _DOMINANT, _OFFSET),
    rests_on=PRACTICE,
)
DEMANDS = (
    OPENING,
    Demand(
        name="crack_opening_to_come",
        title="Opening of a crack in the slab after tiling",
        subject="slab",
        domain=number_domain("crack_opening_to_come", "in", 0, 400),
        scale=RATIO,
        source=_SOURCE,
        reads=_READS,
        takes={},
        through={**_THROUGH, "crack_share": RAISES},
        kernel=_crack,
        collapse=_crack_collapse,
        reason="Over {length_m} of slab {to_come} of shrinkage and {drop_k} of cooling are still to come.",
        model_parameter="mix free_share cooling_share crack_share",
        branches=only_concrete,
        only_base=CONCRETE,
        notation=_NOTATION,
        steps=(_TO_COME, _DROP, Step("length_m", "u*L"), _OPEN),
        valid=(DRY_AIR,),
        cautions=(OPEN_DRYING, "On top of the width that it has today.", _OFFSET),
        rests_on=PRACTICE,
    ),
    Demand(
        name="slab_curl_lift",
        title="Lift of the slab's free ends still to come, its weight neglected",
        subject="slab",
        domain=number_domain("slab_curl_lift", "in", 0, 1e6),
        scale=RATIO,
        source="circular bending, own derivation; strain by ACI 209.2R-08, A.1.1, usual mixes and scatter",
        reads={**SLAB_READS, "slab_thickness": LOWERS, "slab_age": CHOICE, "base_joint_spacing": RAISES},
        takes={},
        through={"strain": RAISES, "mix": RAISES, "relative_humidity": LOWERS, "profile": RAISES},
        kernel=_curl,
        collapse=_curl_collapse,
        reason="The faces of the slab come to differ by {difference}.",
        model_parameter="mix profile",
        branches=only_concrete,
        only_base=CONCRETE,
        notation={**_NOTATION, "value": Notation("x", "mm", "lift of the free ends")},
        steps=(
            Step("difference", "p*ε_1*m"),
            Step("value", "δ*L**2/(8*H)", "circular bending; weight presses it down, so at most this"),
        ),
        valid=(DRY_AIR,),
        cautions=(
            "An upper bound: weight, dowels and steel hold ends down, and creep lets them settle.",
            "A rocking end or a step at a joint goes to an engineer.",
        ),
        rests_on=PRACTICE,
        informs=True,
    ),
    Demand(
        name="slab_thermal_movement",
        title="Movement of the slab between its joints over a year",
        subject="slab",
        domain=number_domain("slab_thermal_movement", "in", 0, 40),
        scale=RATIO,
        source="free expansion; expansion of concrete by its stone, a concrete trade magazine and tables",
        reads={
            "base": CHOICE,
            "concrete_aggregate": CHOICE,
            "base_joint_spacing": RAISES,
            "yearly_temperature_range": RAISES,
        },
        takes={},
        through={"expansion": RAISES},
        kernel=_heat,
        collapse=_heat_collapse,
        reason="The slab lengthens and shortens with the temperature of its face, as if free.",
        branches=only_concrete,
        only_base=CONCRETE,
        notation={**_NOTATION, "value": Notation("x", "mm", "change of length")},
        steps=(Step("value", "α*L*T"),),
        cautions=("The slab's middle swings less than its face, and friction holds it back.",),
        rests_on=PUBLISHED,
    ),
    Demand(
        name="slab_modulus",
        title="Elastic modulus of the concrete",
        subject="slab",
        domain=number_domain("slab_modulus", "psi", 0, 1e8),
        scale=RATIO,
        source="ACI 318M, 19.2.2, normal weight",
        reads={"base": CHOICE, "slab_strength": RAISES},
        takes={},
        through={},
        kernel=_modulus,
        collapse=lambda frame, tables: {},
        reason="Concrete of this strength and of normal weight, at 28 days.",
        branches=only_concrete,
        only_base=CONCRETE,
        notation={**_NOTATION, "value": Notation("E", "gpa", "modulus")},
        steps=(Step("value", "4700*sqrt(f/1000000)*1000000", "ACI 318M, 19.2.2, in MPa"),),
        cautions=("Measured concretes lie about a fifth either side.",),
        rests_on=PUBLISHED,
        informs=True,
        wanted="high",
    ),
)
