"""Impact sound of a solid slab, bare and under a covering.

Two chains that never meet. ISO: levels, lower is better, and ΔLw. ASTM: IIC, higher is better, and ΔIIC.
No demand reads both; laboratory or building stands in each title.
"""

from __future__ import annotations

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.record import (
    CHOICE,
    LOWERS,
    MEMORY,
    OTHER,
    PRACTICE,
    RAISES,
    Demand,
    Notation,
    Step,
    Tables,
    Valid,
    Values,
)
from undercourse.demands.sound_parts import (
    ANNEX_B,
    BUILDING,
    EN,
    EQUIVALENT,
    FIELD,
    HOLLOW,
    LESS_AND_MORE,
    LEVEL,
    MASS_SPAN,
    NOT_IIC,
    NOTATION,
    ONE_MAT,
    PLAIN,
    SLAB_MASS,
    SOLID,
    SUBJECT,
    bare_level,
    covered_level,
    gain_of,
    mats,
    plain_slab,
    slab_mass_span,
    solid_slab,
    usual,
)
from undercourse.physics.sound import REFERENCE_FLOOR_CLASS


def _bare_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {"solid": solid_slab(frame), "plain": plain_slab(frame), **slab_mass_span(frame, tables)}


def _covered_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    covering = {"mats": mats(frame), "gain": gain_of(frame, "membrane_delta_lw")}
    return {**_bare_collapse(frame, tables), **covering, **usual(tables, "flanking")}


def _class_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    covering = {"mats": mats(frame), "class_gain": gain_of(frame, "membrane_delta_iic")}
    return {"solid": solid_slab(frame), "plain": plain_slab(frame), **covering}


def _covered(values: Values) -> tuple[Floats, Values]:
    return covered_level(values, values["gain"])


def _class(values: Values) -> tuple[Floats, Values]:
    rating: Floats = REFERENCE_FLOOR_CLASS + values["class_gain"]
    return rating, {}


_READS = {
    "base": CHOICE,
    "slab_thickness": LOWERS,
    "ceiling_below": CHOICE,
    "cushioned_or_floating_layer": CHOICE,
}
_WAYS = {"solid": LOWERS, "plain": LOWERS, "slab_density": LOWERS, "slab_mass_checked": LOWERS}
DEMANDS = (
    Demand(
        name="bare_slab_impact_level",
        title="Impact level below the bare slab (Ln,w,eq)",
        subject=SUBJECT,
        domain=number_domain("bare_slab_impact_level", "dB", 0, 150),
        scale=OTHER,
        source=f"{ANNEX_B}; density of concrete by common practice, no source",
        reads=_READS,
        takes={},
        through=_WAYS,
        kernel=bare_level,
        collapse=_bare_collapse,
        reason="A slab of {slab_mass} has this level by its mass alone.",
        model_parameter="slab_density",
        notation={**NOTATION, "value": LEVEL},
        steps=(SLAB_MASS, Step("value", EQUIVALENT, ANNEX_B)),
        valid=(SOLID, PLAIN, MASS_SPAN),
        cautions=(HOLLOW, NOT_IIC),
        rests_on=PRACTICE,
    ),
    Demand(
        name="covered_slab_impact_level",
        title="Impact level in the building below the slab with its covering (L'n,w)",
        subject=SUBJECT,
        domain=number_domain("covered_slab_impact_level", "dB", -60, 160),
        scale=OTHER,
        source=f"{EN}, simplified model; {BUILDING}; density of concrete by common practice, no source",
        reads=_READS,
        takes={"membrane_delta_lw": CHOICE, "membrane_count": CHOICE},
        through={**_WAYS, "mats": RAISES, "gain": LOWERS, "flanking": RAISES},
        kernel=_covered,
        collapse=_covered_collapse,
        reason="The bare slab has {bare_level}, its covering takes off {gain}, the walls add {flanking}.",
        model_parameter="slab_density flanking",
        notation={**NOTATION, "value": LEVEL},
        steps=(SLAB_MASS, Step("bare_level", EQUIVALENT, ANNEX_B), Step("value", LESS_AND_MORE)),
        valid=(SOLID, PLAIN, ONE_MAT, MASS_SPAN),
        cautions=(FIELD, HOLLOW, NOT_IIC),
        rests_on=PRACTICE,
    ),
    Demand(
        name="test_slab_iic",
        title="IIC of the test's own 6 in slab with the covering, laboratory",
        subject=SUBJECT,
        domain=number_domain("test_slab_iic", "dB", 0, 120),
        scale=OTHER,
        source="ASTM E2179: ΔIIC is the class of the covered slab less 28, the bare one (from memory, 92 %)",
        reads={**_READS, "slab_thickness": RAISES},
        takes={"membrane_delta_iic": CHOICE, "membrane_count": CHOICE},
        through={"solid": RAISES, "plain": RAISES, "mats": LOWERS, "class_gain": RAISES},
        kernel=_class,
        collapse=_class_collapse,
        reason="The bare slab of the test has class 28, the covering adds {class_gain}.",
        notation={
            **NOTATION,
            "class_gain": Notation(
                "Δ", "db", "ΔIIC of the covering", "the maker's, on the test slab; 0 if bare"
            ),
            "value": Notation("I", "db", "class; higher is better"),
        },
        steps=(Step("value", "28 + Δ", "ASTM E2179, definition of ΔIIC (from memory, 92 %)"),),
        valid=(
            SOLID,
            PLAIN,
            ONE_MAT,
            Valid("slab_thickness", 5.5 * 0.0254, 6.5 * 0.0254, "ASTM E2179: 6 in slab (from memory, 90 %)"),
        ),
        cautions=(
            "Laboratory: walls that carry sound past the floor take off from it in the building.",
            "ASTM chain: a ΔLw may not stand for the ΔIIC.",
        ),
        rests_on=MEMORY,
        wanted="high",
    ),
)
