"""Impact sound: printed values, the wall between two chains, floors of which a gain says nothing."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tests.demands.site import BOOK, cautions, valid, worked

from undercourse.advise.evaluating import evaluate
from undercourse.base.columns import NumberColumn, pick
from undercourse.base.domains import read_spec
from undercourse.demands import DEMANDS
from undercourse.facts.jobs import Area, ProposedLayer, Reading
from undercourse.files.samples import sample_areas
from undercourse.judge.results import EXCEEDS, MEETS, NOT_APPLY, NOT_SUITABLE, OPEN, SUITABLE, SUITABLE_IF
from undercourse.judge.rulebook import unfit_limits
from undercourse.line.records import Condition, Limit
from undercourse.physics import sound

SUBJECT = [name for name, demand in DEMANDS.items() if demand.subject == "impact sound"]
ISO = {
    "membrane_delta_lw",
    "bare_slab_impact_level",
    "covered_slab_impact_level",
    "floating_screed_gain",
    "floated_slab_impact_level",
}
ASTM = {"membrane_delta_iic", "delta_iic_wanted", "iic_wanted", "iic_basis", "test_slab_iic"}
BARE = {"base": "suspended slab", "ceiling_below": "none", "cushioned_or_floating_layer": False}
MAT = {"membrane_count": 1, "membrane_delta_lw": "15 dB", "membrane_delta_iic": "16 dB"}
DAY = dt.date(2026, 11, 25)


def kernel(name: str, **values: float) -> float:
    """The number at one point."""
    return float(DEMANDS[name].kernel({key: np.array([value]) for key, value in values.items()})[0][0])


@pytest.mark.parametrize(
    ("mass", "printed"),
    [(100, 94.00), (200, 83.46), (322, 76.23), (400, 72.93), (460, 70.80), (600, 66.76)],
)
def test_bare_slab_is_as_worked_from_the_mass_law(mass: float, printed: float) -> None:
    """Kind derived: EN 12354-2, 164 - 35 lg m' (formula as published, values computed)."""
    found = kernel("bare_slab_impact_level", slab_thickness=mass / 2000, slab_density=2000.0)
    assert found == pytest.approx(printed, abs=0.005)


def test_bare_slab_is_near_a_measured_one() -> None:
    """Kind published: 4 in slab IIC 25, Harris, Handbook of Acoustical Measurements; 106 less the class."""
    low, high = worked("bare_slab_impact_level", slab_thickness="4 in", **BARE)
    assert low - 2 < 106 - 25 < high
    assert high - low < 6.5


def test_covered_slab_is_as_worked() -> None:
    """Kind published: 322 kg/m2 under a layer of 33 dB with K 2 gives 45, EN 12354-2:2000, annex E.3."""
    found = kernel(
        "covered_slab_impact_level", slab_thickness=0.14, slab_density=2300.0, gain=33.0, flanking=2.0
    )
    assert found == pytest.approx(45.0, abs=0.5)
    low, high = worked("covered_slab_impact_level", slab_thickness="6 in", **BARE, **MAT)
    bare = worked("bare_slab_impact_level", slab_thickness="6 in", **BARE)
    assert (low, high) == pytest.approx((bare[0] - 15, bare[1] - 15 + 6))


def test_a_slab_without_membrane_gains_nothing() -> None:
    """No membrane is a gain of 0, whatever a sheet would state."""
    low, high = worked("covered_slab_impact_level", slab_thickness="6 in", membrane_count=0, **BARE)
    bare = worked("bare_slab_impact_level", slab_thickness="6 in", **BARE)
    assert (low, high) == pytest.approx((bare[0], bare[1] + 6))


# EN 12354-2 for s' in MN/m3 and m' in kg/m2: f0, and the fitted line (formulas published, values computed).
SCREEDS = [
    (10, 80, 56.57, 31.34),
    (8, 100, 45.25, 33.98),
    (20, 70, 85.52, 26.31),
    (30, 40, 138.56, 20.65),
    (6, 120, 35.78, 36.78),
]


@pytest.mark.parametrize(("stiffness", "mass", "resonance", "gain"), SCREEDS)
def test_floating_screed_is_as_worked(stiffness: float, mass: float, resonance: float, gain: float) -> None:
    """Kind derived: five screeds."""
    point = {
        "screed_thickness": mass / 2000,
        "screed_density": 2000.0,
        "screed_underlay_stiffness": stiffness * 1e6,
    }
    assert kernel("floating_screed_gain", **point) == pytest.approx(gain, abs=0.005)
    assert kernel("screed_resonance", **point) == pytest.approx(resonance, abs=0.005)
    on_slab = kernel(
        "floated_slab_impact_level", slab_thickness=0.161, slab_density=2000.0, flanking=2.0, **point
    )
    assert on_slab == pytest.approx(76.23 - gain + 2.0, abs=0.01)


def test_both_published_rules_of_a_screed_agree_where_the_demand_speaks() -> None:
    """Over the whole span the spectrum of annex C, in whole decibels, and its fitted line agree to 1.2 dB."""
    spans = {span.name: span for span in DEMANDS["floating_screed_gain"].valid}
    soft, heavy = spans["screed_underlay_stiffness"], spans["screed_mass_checked"]
    stiffness, mass = np.meshgrid(
        np.linspace(soft.low, soft.high, 60), np.linspace(heavy.low, heavy.high, 60)
    )
    spectrum = sound.floating_reduction(sound.floating_resonance(stiffness, mass), 30.0)
    apart = sound.weighted_impact_gain(spectrum).gain_db - sound.screed_weighted_gain(stiffness, mass)
    assert np.max(np.abs(apart)) < 1.2
    stiff = sound.floating_reduction(sound.floating_resonance(100e6, 60.0), 30.0)
    assert sound.weighted_impact_gain(stiff).gain_db - sound.screed_weighted_gain(100e6, 60.0) > 1.5


def test_tile_on_a_mat_resonates_by_its_weight() -> None:
    """160 sqrt(s'/m') worked apart: 9 mm porcelain of 2,200 to 2,500 kg/m3 and 3 to 14 kg/m2 of mortar."""
    low, high = worked(
        "mat_resonance",
        finish="porcelain",
        tile_thickness="9 mm",
        membrane_dynamic_stiffness="300 MN/m3",
        membrane_count=1,
    )
    assert low == pytest.approx(160 * math.sqrt(300 / (0.009 * 2500 + 14)))
    assert high == pytest.approx(160 * math.sqrt(300 / (0.009 * 2200 + 3)))


def test_class_of_the_test_slab_is_twenty_eight_and_the_gain() -> None:
    """Kind published: a dealer's article, bare slab about 28 and a mat of 16 give 44."""
    assert worked("test_slab_iic", slab_thickness="6 in", **BARE, **MAT) == (44.0, 44.0)


# ---- where nothing is said


NEEDS_SLAB = [name for name in SUBJECT if any(span.name == "solid" for span in DEMANDS[name].valid)]
FLOOR = {
    **BARE,
    **MAT,
    "slab_thickness": "6 in",
    "screed_thickness": "50 mm",
    "screed_underlay_stiffness": "10 MN/m3",
}


@pytest.mark.parametrize("name", NEEDS_SLAB)
def test_only_a_suspended_slab_has_a_number(name: str) -> None:
    """Joists, decks, slabs on ground: not valid here, whatever else is known; unknown: not surely valid."""
    assert valid(name, **FLOOR).must.all()
    for base in BOOK.domains["base"].choices:
        if base != "suspended slab":
            assert not valid(name, **{**FLOOR, "base": base}).may.any(), base
    half = valid(name, **{**FLOOR, "base": ["suspended slab", "sawn joists"]})
    assert half.may.all()
    assert not half.must.any()


def test_every_level_and_gain_needs_a_slab() -> None:
    """Only resonances, which inform, speak of any floor."""
    assert {name for name in SUBJECT if name not in NEEDS_SLAB} == {"screed_resonance", "mat_resonance"}
    assert all(DEMANDS[name].informs for name in set(SUBJECT) - set(NEEDS_SLAB))


@pytest.mark.parametrize("name", ["bare_slab_impact_level", "covered_slab_impact_level", "test_slab_iic"])
def test_a_ceiling_or_a_soft_layer_ends_the_bare_slab(name: str) -> None:
    """Kind practice: an improvement adds to bare concrete without a ceiling and to nothing else."""
    for other in (
        {"ceiling_below": "suspended on hangers"},
        {"ceiling_below": "direct"},
        {"cushioned_or_floating_layer": True},
    ):
        assert not valid(name, **{**FLOOR, **other}).may.any(), other


@pytest.mark.parametrize("name", ["covered_slab_impact_level", "test_slab_iic", "mat_resonance"])
def test_two_mats_are_never_summed(name: str) -> None:
    """With a second membrane nothing is said; with a possible one nothing is sure."""
    assert not valid(name, **{**FLOOR, "membrane_count": 2}).may.any()
    maybe = valid(name, **{**FLOOR, "membrane_count": "1..2"})
    assert maybe.may.all()
    assert not maybe.must.any()


def test_no_demand_adds_a_screed_and_a_mat() -> None:
    """A demand takes one gain: the mat's or the screed's."""
    for name, demand in DEMANDS.items():
        gains = {"membrane_delta_lw", "membrane_delta_iic", "screed_underlay_stiffness"}
        assert len(gains & {*demand.reads, *demand.takes}) <= 1, name


@pytest.mark.parametrize("name", SUBJECT)
def test_formulas_say_where_they_hold(name: str) -> None:
    """At each end of a range of validity the formula holds, beyond it it does not."""
    demand = DEMANDS[name]
    middle = {span.name: (span.low + span.high) / 2 for span in demand.valid}

    def holds(at: dict[str, float]) -> Any:
        return demand.holds({k: NumberColumn(np.array([v]), np.array([v])) for k, v in at.items()})

    for span in demand.valid:
        step = 1e-3 * ((span.high - span.low) or 1.0)
        assert holds({**middle, span.name: span.low}).must.all()
        assert holds({**middle, span.name: span.high}).must.all()
        assert not holds({**middle, span.name: span.low - step}).may.any()
        assert not holds({**middle, span.name: span.high + step}).may.any()
        assert span.source


def test_mass_law_ends_at_600_kilograms() -> None:
    """Kind published: 100 to 600 kg/m2, EN 12354-2; density is not asked, so both ends must lie in."""
    for thickness, sure, possible in (
        ("2 in", False, True),  # 86 to 127 kg/m2
        ("3 in", True, True),
        ("9 in", True, True),  # 389 to 572
        ("12 in", False, True),  # 518 to 762
        ("15 in", False, False),  # from 648
        ("1.5 in", False, False),  # to 95
    ):
        found = valid("bare_slab_impact_level", slab_thickness=thickness, **BARE)
        assert (bool(found.must.all()), bool(found.may.all())) == (sure, possible), thickness


# ---- two chains


def test_no_demand_mixes_the_chains() -> None:
    """What reads ΔLw or a level reads no IIC or ΔIIC, and the other way; every name is one or the other."""
    assert {name for name in BOOK.domains if "iic" in name or "delta_lw" in name} <= ISO | ASTM
    for name, demand in DEMANDS.items():
        named = {name, *demand.reads, *demand.takes}
        assert not (named & ISO and named & ASTM), name
    assert any(set(demand.takes) & ISO for demand in DEMANDS.values())
    assert any(set(demand.takes) & ASTM for demand in DEMANDS.values())


def test_no_limit_holds_one_chain_against_the_other() -> None:
    """Capacity and demand of a limit are of one chain, in rules, products and cautions."""
    limits = [*BOOK.practice.rules, *BOOK.practice.stops]
    limits += [limit for product in BOOK.line.products.values() for limit in product.limits]
    limits += [note.limit for note in BOOK.practice.cautions if note.limit is not None]
    for family, other in ((ISO, ASTM), (ASTM, ISO)):
        own = [limit for limit in limits if limit.demand in family]
        assert all(limit.capacity.column not in other for limit in own)
    assert any(limit.capacity.column == "iic_wanted" for limit in limits)


def test_memory_carries_no_promise() -> None:
    """What rests on memory warns in a rule; a product's limit on it is refused."""
    for name in SUBJECT:
        rule = Limit("x", name, "at_most", BOOK.practice.rules[0].capacity, Condition(), None, "b", "c")
        own = replace(rule, product="p")
        line, practice = replace(BOOK.line, products={}), replace(BOOK.practice, rules=(rule,))
        refused = (
            bool(unfit_limits(line, practice)),
            bool(unfit_limits(line, replace(practice, rules=(own,)))),
        )
        demand = DEMANDS[name]
        assert refused == (demand.informs, demand.informs or demand.rests_on == "memory"), name


# ---- ratings stay with their floor


SLAB_AREA = next(a for a in sample_areas(BOOK.vocabulary) if a.name.startswith("Condominium living room"))


def judged_mats(written: dict[str, Any], start: Area = SLAB_AREA) -> Any:
    """Every membrane on a sample floor with some facts written otherwise."""
    own = {name: Reading(read_spec(BOOK.domains[name], raw), str(raw)) for name, raw in written.items()}
    kept = {name: reading for name, reading in start.readings.items() if not name.startswith("joist")}
    return evaluate([Area("floor", {**kept, **own}, proposed=start.proposed)], BOOK, DAY)


def verdict(evaluated: Any, membrane: str) -> int:
    """The verdict of one membrane."""
    return next(int(j.verdict[0]) for j in evaluated.of_row(0) if j.candidate.id == membrane)


def status(evaluated: Any, membrane: str, limit: str) -> int | None:
    """The status of a limit's finding for one membrane; None where there is none."""
    judgement = next(j for j in evaluated.of_row(0) if j.candidate.id == membrane)
    found = [f for f in judgement.findings if f.limit is not None and f.limit.id == limit]
    return int(pick(found[0].status, 0)) if found else None


def test_a_gain_from_a_slab_is_credited_on_that_slab() -> None:
    """The control: on its own kind of floor the mat's tested gain counts."""
    found = judged_mats({})
    assert not found.problems
    assert status(found, "hayloft-sound", "hayloft-delta") == MEETS
    assert verdict(found, "hayloft-sound") in (SUITABLE, SUITABLE_IF)


@pytest.mark.parametrize(
    "base", [name for name in BOOK.domains["base"].choices if "joists" in name or "truss" in name]
)
def test_a_gain_from_a_slab_is_never_credited_on_joists(base: str) -> None:
    """Kind published: ASTM E2179 warns of light joist floors; no sound mat suits by its ΔIIC there."""
    asked = {"wants_sound_reduction": True, "delta_iic_wanted": "5 dB", "space_below": "occupied room"}
    start = Area("joists", {})
    found = judged_mats({"base": base, **asked}, start)
    assert not found.problems
    for judgement in found.of_row(0):
        assert int(judgement.verdict[0]) == NOT_SUITABLE, judgement.candidate.id
    assert status(found, "hayloft-sound", "delta-iic-not-on-wood") == EXCEEDS


@pytest.mark.parametrize(
    "other",
    [{"ceiling_below": "suspended on hangers"}, {"slab_thickness": "4 in"}, {"delta_iic_wanted": "18 dB"}],
    ids=str,
)
def test_a_gain_is_not_credited_beyond_its_test(other: dict[str, Any]) -> None:
    """A ceiling, a thinner slab than the tested 6 in, a higher number: not suitable on the mat's word."""
    assert verdict(judged_mats(other), "hayloft-sound") not in (SUITABLE, SUITABLE_IF)


# ---- the code between homes


CODE = {
    "jurisdiction": "US",
    "occupancy": "dwelling",
    "space_below": "occupied room",
    "wants_sound_reduction": True,
    "delta_iic_wanted": "0 dB",
}


@pytest.mark.parametrize(
    ("basis", "wanted", "separates", "expected"),
    [
        # Kind published: IBC 1206.3, IIC 50 in the laboratory, 45 in the field, between dwelling units.
        ("laboratory", 50, True, MEETS),
        ("laboratory", 49, True, EXCEEDS),
        ("laboratory", 45, True, EXCEEDS),
        ("laboratory", 45, False, NOT_APPLY),
        ("field", 45, True, MEETS),
        ("field", 44, True, EXCEEDS),
        ("field", 44, False, NOT_APPLY),
    ],
)
def test_code_minimum_between_homes(basis: str, wanted: int, separates: bool, expected: int) -> None:
    """Laboratory and field each against its own minimum, and only between homes."""
    asked = {"iic_basis": basis, "iic_wanted": f"{wanted} dB", "separates_dwellings": separates}
    found = judged_mats({**CODE, **asked})
    rule = {"laboratory": "iic-50-laboratory", "field": "iic-45-field"}
    assert status(found, "hayloft-sound", rule[basis]) in (
        (expected, None) if expected == NOT_APPLY else (expected,)
    )
    other = rule["field" if basis == "laboratory" else "laboratory"]
    assert status(found, "hayloft-sound", other) in (NOT_APPLY, None)


def test_a_low_goal_asks_who_lives_below() -> None:
    """Where nobody said whose rooms are below, a goal under the code's is open, not refused."""
    found = judged_mats({**CODE, "iic_basis": "laboratory", "iic_wanted": "45 dB"})
    assert status(found, "hayloft-sound", "iic-50-laboratory") == OPEN


@pytest.mark.parametrize("below", ["ground", "crawl space", "outdoors"])
def test_nobody_lives_below_ground(below: str) -> None:
    """A floor on ground is none between homes."""
    assert judged_mats({"space_below": below, "separates_dwellings": True}, Area("a", {})).problems


def test_cautions_of_sound() -> None:
    """Between homes, short of the goal on the test's slab, and none of it where it does not hold."""
    homes = {"jurisdiction": "US", "separates_dwellings": True}
    assert "lies between homes" in cautions(**homes)
    assert "lies between homes" not in cautions(jurisdiction="US")
    assert "lies between homes" not in cautions(jurisdiction="UK", separates_dwellings=True)
    slab = {**BARE, "slab_thickness": "6 in", "wants_sound_reduction": True, "iic_basis": "laboratory"}
    # 28 and the line's greatest ΔIIC of 17 are 45.
    assert "comes to IIC" in cautions(**slab, iic_wanted="50 dB")
    assert "comes to IIC" not in cautions(**{**slab, "base": "sawn joists"}, iic_wanted="50 dB")
    assert "comes to IIC" not in cautions(**slab, iic_wanted="28 dB")


def test_two_proposed_mats_are_cautioned() -> None:
    """A stack of the asker's own with two mats is told that gains do not add."""
    from undercourse.advise.cautions import cautions_of

    for count, said in ((2, True), (1, False)):
        layers = tuple(ProposedLayer("membrane", "hayloft-sound", "", (), "", "test") for _ in range(count))
        found = judged_mats({}, replace(SLAB_AREA, proposed=layers))
        texts = " ".join(item["text"] for item in cautions_of(found, BOOK, 0, "proposed"))
        assert ("never added" in texts) is said
