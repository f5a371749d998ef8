"""Shrinkage still to come by the ACI model; openings, curl, heat and modulus: against printed values."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy import constants as si
from tests.demands.concrete import C1, C1_FLOOR, DAY, both, single, working
from tests.demands.site import BOOK, cautions, check_validity_ends, frame, valid, worked

from undercourse.base.columns import NumberColumn
from undercourse.demands import DEMANDS

ACI = "slab_remaining_shrinkage"
OPENING = ("base_joint_opening", "crack_opening_to_come")
SLAB = {"base": "slab on ground", "slab_thickness": "5 in", "service_humidity": "45 %", "slab_age": "60 day"}
JOINTS = {"base_joint_spacing": "15 ft", "yearly_temperature_range": "20 deltaF"}


def test_aci_example_in_si() -> None:
    """Kind published: ACI 209.2R-08, C.1, p. 209.2R-31: factors to three figures, 350e-6 in the end."""
    printed = {"by_humidity": 0.686, "by_size": 0.749, "by_slump": 1.011, "by_fines": 0.860}
    printed |= {"by_cement": 0.999, "by_air": 1.000}
    found = working(ACI, C1, slab_age="7 day", **C1_FLOOR)
    for name, value in printed.items():
        assert float(found[name].item()) == pytest.approx(value, rel=5e-3), name
    # On the day on which curing ends all of it is still to come.
    assert single(ACI, C1, slab_age="7 day", **C1_FLOOR) == pytest.approx(350e-6, rel=5e-3)


def test_aci_example_in_inches() -> None:
    """Kind published: the inch column of the same page: V/S 4 in, 690 lb a cubic yard, 347e-6."""
    mix = {**C1, "cement": 690 * si.pound / si.yard**3}
    floor = {**C1_FLOOR, "slab_thickness": "4 in"}
    assert single(ACI, mix, slab_age="7 day", **floor) == pytest.approx(347e-6, rel=5e-3)


@pytest.mark.parametrize(
    ("days", "strain"), [(14, 58), (28, 131), (60, 211), (90, 246), (180, 291), (365, 318)]
)
def test_aci_example_over_time(days: int, strain: float) -> None:
    """Kind derived: what has come and what is to come are the 349.5e-6 of the example, half in 35 days."""
    to_come = single(ACI, C1, slab_age=f"{days} day", **C1_FLOOR)
    assert 349.5e-6 - to_come == pytest.approx(strain * 1e-6, rel=1e-2)


def test_both_forms_enclose_a_slab_of_a_magazine() -> None:
    """Kind published: a 6 in slab at 50 % humidity had 60 percent of its shrinkage at 100 days."""
    floor = {**SLAB, "slab_thickness": "6 in", "service_humidity": "50 %", "slab_age": "100 day"}
    plain = working(ACI, {**C1, "scatter": 1.0}, **floor)["left"].item()
    sized = working("slab_remaining_shrinkage_by_size", C1, **floor)["left"].item()
    assert plain < 1 - 0.60 < sized


def test_two_drying_faces_halve_the_depth() -> None:
    """A suspended slab open below dries like one of half its thickness; steel deck closes the underside."""
    thin = single(ACI, C1, **{**SLAB, "slab_thickness": "2.5 in"})
    hung = {**SLAB, "base": "suspended slab"}
    assert single(ACI, C1, slab_drying_faces=2, **hung) == pytest.approx(thin)
    assert single(ACI, C1, slab_drying_faces=1, **hung) == single(ACI, C1, **SLAB)
    deck = {**SLAB, "base": "concrete on steel deck"}
    assert single(ACI, C1, **deck) == single(ACI, C1, **SLAB)
    open_end = both(ACI, C1, **hung)
    assert open_end.low.item() == pytest.approx(single(ACI, C1, **SLAB))
    assert open_end.high.item() == pytest.approx(thin)


@pytest.mark.parametrize(
    "name",
    [
        ACI, "slab_remaining_shrinkage_by_size", "slab_remaining_shrinkage_mc90",
        "slab_remaining_shrinkage_gl2000", "slab_age_for_remainder", *OPENING, "slab_curl_lift",
        "slab_thermal_movement", "slab_modulus",
    ],
)  # fmt: skip
def test_only_concrete_slabs_have_it(name: str) -> None:
    """A wood floor has none of it, and an unknown base may have none."""
    facts = {**SLAB, **JOINTS, "slab_strength": "4000 psi", "slab_drying_faces": 1}
    assert worked(name, **{**facts, "base": "sawn joists"}) == (0.0, 0.0)
    unknown = {key: value for key, value in facts.items() if key != "base"}
    assert worked(name, **unknown)[0] == 0.0
    assert worked(name, **unknown)[1] > 0.0


def test_humidity_steps_up_at_80_percent() -> None:
    """The factor of the standard jumps from 0.584 to 0.600 there; a range across it holds both."""
    floor = {key: value for key, value in SLAB.items() if key != "service_humidity"}
    over = both(ACI, C1, service_humidity="79.5..85 %", **floor)
    inside = [single(ACI, C1, service_humidity=h, **floor) for h in np.linspace(79.5, 85.0, 400)]
    inside += [single(ACI, C1, service_humidity=h, **floor) for h in (80.0, 80.00001)]
    assert over.low.item() <= min(inside)
    assert max(inside) <= over.high.item()
    assert over.high.item() == pytest.approx(max(inside), rel=1e-3)
    assert single(ACI, C1, service_humidity=80.00001, **floor) / single(
        ACI, C1, service_humidity=80.0, **floor
    ) == pytest.approx(0.600 / 0.584, rel=1e-4)


def test_range_of_mix_and_curing_holds_every_concrete_and_is_close() -> None:
    """Dense sampling of what is not asked for, at three ages: nothing outside, and both ends are met."""
    usual = BOOK.tables.ranges["usual_concrete"]
    for age in ("3 day", "28 day", "400 day"):
        floor = {**SLAB, "slab_age": age}
        whole = both(ACI, {}, **floor)
        found = []
        for cured in np.linspace(*usual["curing"], 60):
            for names in itertools.product(
                *[usual[n] for n in ("slump", "fines", "cement", "air", "scatter")]
            ):
                mix = dict(zip(("slump", "fines", "cement", "air", "scatter"), names, strict=True))
                found.append(single(ACI, {"curing": cured, **mix}, **floor))
        assert whole.low.item() <= min(found) * (1 + 1e-9)
        assert max(found) <= whole.high.item() * (1 + 1e-9)
        assert whole.low.item() == pytest.approx(min(found), rel=2e-3)
        assert whole.high.item() == pytest.approx(max(found), rel=2e-3)


@pytest.mark.parametrize("name", [ACI, *OPENING, "slab_curl_lift"])
def test_not_valid_below_40_percent_humidity(name: str) -> None:
    """Kind published: ACI 209.2R-08, A.1.1 speaks of 40 to 100 %."""
    facts = {**SLAB, **JOINTS}
    assert not valid(name, **{**facts, "service_humidity": "39 %"}).may.any()
    assert valid(name, **{**facts, "service_humidity": "40 %"}).must.all()
    assert valid(name, **{**facts, "service_humidity": "100 %"}).must.all()
    open_air = valid(name, **{**facts, "service_humidity": "30..50 %"})
    assert open_air.may.all()
    assert not open_air.must.any()


@pytest.mark.parametrize("name", [ACI, *OPENING, "slab_curl_lift"])
def test_validity_ends(name: str) -> None:
    """Inside each range of validity the formula holds; beyond either end it does not."""
    check_validity_ends(name)


def test_joint_opening_of_a_road_slab() -> None:
    """Kind memory (90 %): AASHTO 1993, 0.80 on granular base, 15 ft, 40 °F, 300e-6: 0.07488 in."""
    point = {
        "base_joint_spacing": 15 * si.foot,
        "yearly_temperature_range": 40 * si.degree_Fahrenheit,
        "strain": 300e-6,
        "mix": 1.0,
        "relative_humidity": 0.5,
        "free_share": 0.80,
        "expansion": 9.9e-6,
        "cooling_share": 1.0,
    }
    opening, _ = DEMANDS["base_joint_opening"].kernel({k: np.asarray(v) for k, v in point.items()})
    assert float(opening) / si.inch == pytest.approx(0.07488)


def test_joint_opening_is_the_strain_of_the_shrinkage_sheet_times_the_length() -> None:
    """Kind derived: with no season and a free slab the opening is strain times spacing."""
    facts = {**SLAB, **JOINTS, "yearly_temperature_range": "0 deltaF"}
    strain = both(ACI, {}, **SLAB)
    opening = DEMANDS["base_joint_opening"].value(frame(**facts), BOOK.tables)
    assert opening.high.item() == pytest.approx(strain.high.item() * 15 * si.foot)
    assert opening.low.item() == pytest.approx(0.6 * strain.low.item() * 15 * si.foot)


def test_what_no_fact_narrows_decides_only_where_both_ends_agree() -> None:
    """The gentle value holds mix and scatter at their gentle end; the facts stay as open as they are."""
    demand = DEMANDS[ACI]
    known = frame(**SLAB)
    gentle, hard = demand.value(known, BOOK.tables, gentle=True), demand.value(known, BOOK.tables)
    assert gentle.high.item() == pytest.approx(gentle.low.item())
    assert gentle.low.item() == hard.low.item()
    older = frame(**{**SLAB, "slab_age": "60..600 day"})
    assert demand.value(older, BOOK.tables, gentle=True).high.item() == pytest.approx(
        gentle.high.item(), rel=0.2
    )


def test_openings_scale_as_they_must() -> None:
    """Twice the spacing opens twice as far and lifts four times; a crack takes half a bay or all of it."""
    facts = {**SLAB, **JOINTS}
    wide = {**facts, "base_joint_spacing": "30 ft"}
    for name in OPENING:
        assert worked(name, **wide) == pytest.approx([2 * end for end in worked(name, **facts)])
    joint, crack = worked("base_joint_opening", **facts), worked("crack_opening_to_come", **facts)
    assert crack == pytest.approx((joint[0] / 2, joint[1]))
    assert worked("slab_curl_lift", **wide)[1] == pytest.approx(4 * worked("slab_curl_lift", **facts)[1])
    assert worked("slab_curl_lift", **facts)[0] == 0.0


def test_curl_of_a_free_slab() -> None:
    """Kind derived: circular bending, 200e-6 over 4 in and 15 ft: 200e-6 x 180² / 32 = 0.2025 in."""
    point = {
        "slab_thickness": 4 * si.inch,
        "base_joint_spacing": 15 * si.foot,
        "strain": 200e-6,
        "mix": 1.0,
        "relative_humidity": 0.5,
        "profile": 1.0,
    }
    lift, _ = DEMANDS["slab_curl_lift"].kernel({k: np.asarray(v) for k, v in point.items()})
    assert float(lift) / si.inch == pytest.approx(0.2025)


@pytest.mark.parametrize(
    ("stone", "per_f"),
    [
        ("quartz", 6.6), ("sandstone", 6.5), ("gravel", 6.0), ("granite", 5.3), ("basalt", 4.8),
        ("limestone", 3.8),
    ],
)  # fmt: skip
def test_heat_movement_by_stone(stone: str, per_f: float) -> None:
    """Kind published: a concrete trade magazine's table, 1e-6 per °F; here over 25 ft and 30 °F."""
    low, high = worked(
        "slab_thermal_movement",
        base="slab on ground",
        concrete_aggregate=stone,
        base_joint_spacing="25 ft",
        yearly_temperature_range="30 deltaF",
    )
    assert low == high == pytest.approx(per_f * 1e-6 * 30 * 25 * 12, rel=0.01)


def test_modulus_of_25_mpa() -> None:
    """Kind published: ACI 318M, 4700 √f'c: 23.5 GPa."""
    low, high = worked("slab_modulus", base="suspended slab", slab_strength="25 MPa")
    assert low == high == pytest.approx(23.5e9 / si.psi)


def test_a_young_slab_is_warned_of_and_an_old_one_is_not() -> None:
    """The caution is printed only where the favorable end of every range still goes past its mark."""
    floor = {"finish": "porcelain", "base": "slab on ground", "slab_thickness": "4 in"}
    young = cautions(service_humidity="45 %", slab_age="14 day", **floor)
    assert "will still shrink" in young
    assert "µm/m" in young
    assert "will still shrink" not in cautions(service_humidity="45 %", slab_age="3 year", **floor)
    assert "will still shrink" not in cautions(slab_age="14 day", **floor)


def test_joints_and_cracks_that_open_are_warned_of() -> None:
    """A hall slab without close joints opens each by more than 1/16 in; a step is an engineer's matter."""
    floor = {
        "finish": "porcelain", "base": "slab on ground", "slab_thickness": "4 in", "service_humidity": "45 %",
        "slab_age": "14 day", "base_joint_spacing": "120 ft", "base_joints": "contraction",
        "cracks": "in plane", "crack_offset": "0 in", "crack_moving": False,
    }  # fmt: skip
    text = cautions(**floor)
    assert "joints of this slab will still open" in text
    assert "cracks of this slab will still open" in text
    assert text.count("engineer") >= 2
    close = cautions(**{**floor, "base_joint_spacing": "12 ft"})
    assert "will still open" not in close


def test_arrays_agree_with_single_floors() -> None:
    """A column of ages is worked out as each age alone."""
    demand, ages = DEMANDS[ACI], np.array([2.0, 10.0, 40.0, 4000.0]) * DAY
    columns = frame(**SLAB).columns
    columns["slab_age"] = NumberColumn(ages, ages)
    found = demand.value(type(frame())(columns), BOOK.tables)
    for place, age in enumerate(ages):
        alone = both(ACI, {}, **{**SLAB, "slab_age": f"{age / DAY} day"})
        assert found.low[place] == pytest.approx(alone.low.item())
        assert found.high[place] == pytest.approx(alone.high.item())
