"""What the demands of impact sound share: what counts as a bare solid slab, masses, kernels, notation.

A gain of a covering belongs to a bare solid slab. With joists, a ceiling, a second mat or a floating layer
the formulas do not hold, and the ranges of validity here say so.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import ChoiceColumn, Floats, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands.record import Notation, Step, Tables, Valid, Values
from undercourse.physics.sound import bare_slab_level, covered_slab_level, screed_weighted_gain

BUILDING = "K of EN 12354-2, table 1"
EN = "EN 12354-2:2000 (ISO 12354-2)"
SUBJECT = "impact sound"


def usual(tables: Tables, *names: str) -> dict[str, NumberColumn]:
    """Ranges of what is not asked for, by name."""
    ends = {name: tables.ranges["usual_sound"][name] for name in names}
    return {name: NumberColumn(np.array([low]), np.array([high])) for name, (low, high) in ends.items()}


def only(frame: Frame, name: str, choice: str) -> NumberColumn:
    """1 where a fact surely is a choice, 0 where it surely is not."""
    column = frame[name]
    assert isinstance(column, ChoiceColumn)
    bit = np.uint64(1 << frame.domain(name).choices.index(choice))
    must, may = (column.bits & ~bit) == 0, (column.bits & bit) != 0
    return NumberColumn(must.astype(np.float64), may.astype(np.float64))


def solid_slab(frame: Frame) -> NumberColumn:
    """1 for a suspended slab, 0 for any other base."""
    found: NumberColumn = frame.keep("base", "solid slab", lambda: only(frame, "base", "suspended slab"))
    return found


def plain_slab(frame: Frame) -> NumberColumn:
    """1 where neither a ceiling nor a soft layer of the floor takes part, 0 where one surely does."""
    found: NumberColumn = frame.keep("ceiling_below", "plain slab", lambda: _both_absent(frame))
    return found


def no_ceiling(frame: Frame) -> NumberColumn:
    """1 without a ceiling below, 0 with one."""
    found: NumberColumn = frame.keep(
        "ceiling_below", "no ceiling", lambda: only(frame, "ceiling_below", "none")
    )
    return found


def _both_absent(frame: Frame) -> NumberColumn:
    ceiling = no_ceiling(frame)
    soft = only(frame, "cushioned_or_floating_layer", "no")
    return NumberColumn(np.minimum(ceiling.low, soft.low), np.minimum(ceiling.high, soft.high))


def mats(frame: Frame) -> NumberColumn:
    """How many membranes lie in the assembly."""
    count = frame["membrane_count"]
    assert isinstance(count, NumberColumn)
    return count


def gain_of(frame: Frame, name: str) -> NumberColumn:
    """A covering's gain; nothing where there is no membrane."""
    found: NumberColumn = frame.keep("membrane_count", f"gain by {name}", lambda: _gain(frame, name))
    return found


def _gain(frame: Frame, name: str) -> NumberColumn:
    gain, count = frame[name], mats(frame)
    assert isinstance(gain, NumberColumn)
    return NumberColumn(np.where(count.low < 1, 0.0, gain.low), np.where(count.high < 1, 0.0, gain.high))


def slab_mass_span(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Density of a slab that nobody weighs, and its mass, for the range of the rule."""
    return _kept(frame, tables, "slab")


def screed_mass_span(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Density of a screed that nobody weighs, and its mass, for the range of the rule."""
    return _kept(frame, tables, "screed")


def _kept(frame: Frame, tables: Tables, what: str) -> dict[str, NumberColumn]:
    found: dict[str, NumberColumn] = frame.keep(
        f"{what}_thickness", f"{what} mass", lambda: _weighed(frame, tables, what)
    )
    return found


def _weighed(frame: Frame, tables: Tables, what: str) -> dict[str, NumberColumn]:
    depth, density = frame[f"{what}_thickness"], f"{what}_density"
    assert isinstance(depth, NumberColumn)
    found = usual(tables, density)
    least, most = depth.low * found[density].low, depth.high * found[density].high
    return {**found, f"{what}_mass_checked": NumberColumn(least, most)}


def bare_level(values: Values) -> tuple[Floats, Values]:
    """Level of the bare slab by its mass. [dB]"""
    mass = values["slab_thickness"] * values["slab_density"]
    return bare_slab_level(mass).level_db, {"slab_mass": mass}


def covered_level(values: Values, gain: Floats) -> tuple[Floats, Values]:
    """Level in the building, with the gain of what lies on the slab. [dB]"""
    bare, working = bare_level(values)
    level = covered_slab_level(working["slab_mass"], gain, values["flanking"]).level_db
    return level, {**working, "bare_level": bare}


def screed_mass(values: Values) -> Floats:
    """Mass of the screed; where there is none, that of a millimeter. [kg/m2]"""
    mass: Floats = np.maximum(values["screed_thickness"], 1e-3) * values["screed_density"]
    return mass


def screed_gain(values: Values) -> tuple[Floats, Values]:
    """Gain of a floating screed. [dB]"""
    mass = screed_mass(values)
    return screed_weighted_gain(values["screed_underlay_stiffness"], mass), {"screed_mass": mass}


_USUAL = "usual range, not asked for; common practice, no source"
LEVEL = Notation("L", "db", "weighted impact level; lower is better")
NOTATION = {
    "slab_thickness": Notation("h", "mm"),
    "slab_density": Notation("ρ", "kg_m3", "density of the slab", f"lightweight to dense concrete; {_USUAL}"),
    "slab_mass": Notation("m", "kg_m2", "mass of the slab"),
    "slab_mass_checked": Notation("m_c", "kg_m2", "mass of the slab, against the rule's range", "h times ρ"),
    "solid": Notation("k_s", "1", "a solid suspended slab (1 yes, 0 no)"),
    "plain": Notation("k_p", "1", "neither ceiling nor floating or cushioned layer (1 yes, 0 no)"),
    "no_ceiling": Notation("k_c", "1", "no ceiling below (1 yes, 0 no)"),
    "mats": Notation("n", "count", "membranes in the assembly"),
    "gain": Notation("ΔL", "db", "ΔLw of the covering", "the maker's, on the ISO reference slab; 0 if bare"),
    "flanking": Notation(
        "K", "db", "what flanking walls add", f"0 to 6 in buildings; {BUILDING}, solid slabs and walls"
    ),
    "bare_level": Notation("L_0", "db", "impact level of the bare slab"),
    "screed_thickness": Notation("d", "mm"),
    "screed_underlay_stiffness": Notation("s", "mn_m3"),
    "screed_density": Notation("ρ_s", "kg_m3", "density of the screed", f"cement screed; {_USUAL}"),
    "screed_mass": Notation("m_s", "kg_m2", "mass of the screed"),
    "screed_mass_checked": Notation(
        "m_d", "kg_m2", "mass of the screed, against the rule's range", "d times ρ_s"
    ),
    "screed_gain": Notation("ΔL", "db", "ΔLw of the floating screed"),
    "mortar_weight": Notation("m_b", "kg_m2", "weight of the mortar above the mat", _USUAL),
}
SLAB_MASS, SCREED_MASS = Step("slab_mass", "h*ρ"), Step("screed_mass", "max(d, 0.001)*ρ_s")
EQUIVALENT = "164 - 35*log10(m)"
ANNEX_B, ANNEX_C = f"{EN}, annex B", f"{EN}, annex C, cement screeds"
LESS_AND_MORE = "L_0 - ΔL + K"
SOLID = Valid(
    "solid", 1.0, 1.0, f"{EN}, annex B: homogeneous slabs; no joists, hollow decks, slabs on ground"
)
PLAIN = Valid(
    "plain",
    1.0,
    1.0,
    "gains belong to a bare slab: no ceiling, no other soft layer; common practice, no source",
)
NO_CEILING = Valid("no_ceiling", 1.0, 1.0, f"{EN}: the slab alone, without a ceiling")
ONE_MAT = Valid("mats", 0.0, 1.0, "gains of two mats are never added; a build of both needs its own test")
MASS_SPAN = Valid("slab_mass_checked", 100.0, 600.0, f"{EN}, annex B: 100 to 600 kg/m²")
NOT_IIC = "A level of the ISO chain is no IIC, and a ΔIIC may not stand for the ΔLw."
FIELD = "A level in the building: not to be held against a laboratory minimum."
HOLLOW = "For a solid slab: hollow planks and ribbed slabs are lighter and sound otherwise."
