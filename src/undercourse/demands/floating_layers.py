"""Impact sound of layers that float: gain and resonance of a screed, resonance of tile on a mat."""

from __future__ import annotations

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.loads import TILE_WEIGHT, tile_weight
from undercourse.demands.record import (
    CHOICE,
    LOWERS,
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
    ANNEX_C,
    BUILDING,
    EN,
    EQUIVALENT,
    FIELD,
    LESS_AND_MORE,
    LEVEL,
    MASS_SPAN,
    NO_CEILING,
    NOT_IIC,
    NOTATION,
    SCREED_MASS,
    SLAB_MASS,
    SOLID,
    SUBJECT,
    covered_level,
    no_ceiling,
    screed_gain,
    screed_mass,
    screed_mass_span,
    slab_mass_span,
    solid_slab,
    usual,
)
from undercourse.physics.sound import floating_resonance


def _screed_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {"solid": solid_slab(frame), **screed_mass_span(frame, tables)}


def _floated_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    found = {**_screed_collapse(frame, tables), "no_ceiling": no_ceiling(frame)}
    return {**found, **slab_mass_span(frame, tables), **usual(tables, "flanking")}


def _density_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return usual(tables, "screed_density")


def _mat_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {"tile_weight": tile_weight(frame, tables), **usual(tables, "mortar_weight")}


def _floated(values: Values) -> tuple[Floats, Values]:
    gain, screed = screed_gain(values)
    level, slab = covered_level(values, gain)
    return level, {**slab, **screed, "screed_gain": gain}


def _screed_resonance(values: Values) -> tuple[Floats, Values]:
    mass = screed_mass(values)
    return floating_resonance(values["screed_underlay_stiffness"], mass), {"screed_mass": mass}


def _mat_resonance(values: Values) -> tuple[Floats, Values]:
    mass = values["tile_weight"] + values["mortar_weight"]
    return floating_resonance(values["membrane_dynamic_stiffness"], mass), {"top_mass": mass}


# A test holds the two together over the whole span.
_FIGURE = f"{EN}, annex C: where its spectrum and its fitted line agree to 1.2 dB (derived)"
_SCREEDS = (
    SOLID,
    Valid("screed_mass_checked", 60.0, 160.0, _FIGURE),
    Valid("screed_underlay_stiffness", 6e6, 50e6, _FIGURE),
)
_GAIN = "13*log10(m_s) - 14.2*log10(s/1000000) + 20.8"
_STIFFNESS = f"{EN}, annex C; stiffness in MN/m³"
DEMANDS = (
    Demand(
        name="floating_screed_gain",
        title="ΔLw of a floating cement screed",
        subject=SUBJECT,
        domain=number_domain("floating_screed_gain", "dB", -100, 120),
        scale=OTHER,
        source=f"{ANNEX_C}; density of screed by common practice, no source",
        reads={"base": CHOICE, "screed_thickness": RAISES, "screed_underlay_stiffness": LOWERS},
        takes={},
        through={"solid": RAISES, "screed_density": RAISES, "screed_mass_checked": RAISES},
        kernel=screed_gain,
        collapse=_screed_collapse,
        reason="A screed of {screed_mass} floats on {screed_underlay_stiffness}.",
        model_parameter="screed_density",
        notation={**NOTATION, "value": Notation("ΔL", "db", "ΔLw; higher is better")},
        steps=(SCREED_MASS, Step("value", _GAIN, ANNEX_C)),
        valid=_SCREEDS,
        cautions=("Never added to the ΔLw of a mat above it.", "One bridge to slab or wall undoes it."),
        rests_on=PRACTICE,
        wanted="high",
    ),
    Demand(
        name="floated_slab_impact_level",
        title="Impact level in the building below the slab with its floating screed (L'n,w)",
        subject=SUBJECT,
        domain=number_domain("floated_slab_impact_level", "dB", -130, 260),
        scale=OTHER,
        source=f"{EN}, simplified model and annex C; {BUILDING}; densities by common practice, no source",
        reads={
            "base": CHOICE,
            "slab_thickness": LOWERS,
            "ceiling_below": CHOICE,
            "screed_thickness": LOWERS,
            "screed_underlay_stiffness": RAISES,
        },
        takes={},
        through={
            "solid": LOWERS,
            "no_ceiling": LOWERS,
            "slab_density": LOWERS,
            "slab_mass_checked": LOWERS,
            "screed_density": LOWERS,
            "screed_mass_checked": LOWERS,
            "flanking": RAISES,
        },
        kernel=_floated,
        collapse=_floated_collapse,
        reason="The slab has {bare_level}, the screed takes off {screed_gain}, the walls add {flanking}.",
        model_parameter="slab_density screed_density flanking",
        notation={**NOTATION, "value": LEVEL},
        steps=(
            SLAB_MASS,
            SCREED_MASS,
            Step("bare_level", EQUIVALENT, ANNEX_B),
            Step("screed_gain", _GAIN, ANNEX_C),
            Step("value", LESS_AND_MORE),
        ),
        valid=(*_SCREEDS, NO_CEILING, MASS_SPAN),
        cautions=("A mat above the screed is not counted: gains are never added.", FIELD, NOT_IIC),
        rests_on=PRACTICE,
    ),
    Demand(
        name="screed_resonance",
        title="Resonance of a floating screed",
        subject=SUBJECT,
        domain=number_domain("screed_resonance", "Hz", 0, 1e6),
        scale=OTHER,
        source=f"{EN}, annex C; density of screed by common practice, no source",
        reads={"screed_thickness": LOWERS, "screed_underlay_stiffness": RAISES},
        takes={},
        through={"screed_density": LOWERS},
        kernel=_screed_resonance,
        collapse=_density_collapse,
        reason="A screed of {screed_mass} floats on {screed_underlay_stiffness}.",
        notation={**NOTATION, "value": Notation("f", "hz", "resonance; nothing is gained below it")},
        steps=(SCREED_MASS, Step("value", "160*sqrt(s/1000000/m_s)", _STIFFNESS)),
        rests_on=PRACTICE,
        informs=True,
    ),
    Demand(
        name="mat_resonance",
        title="Resonance of the tile on a sound mat",
        subject=SUBJECT,
        domain=number_domain("mat_resonance", "Hz", 0, 1e6),
        scale=OTHER,
        source=f"{EN}, annex C; weight of mortar by common practice, no source",
        reads={"finish": CHOICE, "tile_thickness": CHOICE},
        takes={"membrane_dynamic_stiffness": RAISES, "membrane_count": RAISES},
        through={"tile_weight": LOWERS, "mortar_weight": LOWERS},
        kernel=_mat_resonance,
        collapse=_mat_collapse,
        reason="Tile and mortar of {top_mass} lie on {membrane_dynamic_stiffness}.",
        notation={
            "membrane_dynamic_stiffness": Notation(
                "s", "mn_m3", "dynamic stiffness of the membrane", "the maker's"
            ),
            "membrane_count": NOTATION["mats"],
            "tile_weight": TILE_WEIGHT,
            "mortar_weight": NOTATION["mortar_weight"],
            "top_mass": Notation("m", "kg_m2", "mass of tile and mortar"),
            "value": Notation("f", "hz", "resonance; little is gained below it"),
        },
        steps=(Step("top_mass", "m_t + m_b"), Step("value", "160*sqrt(s/1000000/m)", _STIFFNESS)),
        valid=(Valid("membrane_count", 1.0, 1.0, "one mat; two in series are softer than either"),),
        cautions=(
            "Tile is bonded to its mat, so this tells where the gain begins; its size only a test tells.",
        ),
        rests_on=PRACTICE,
        informs=True,
    ),
)
