"""Framing demands against span tables, beam tables and hand calculations; each case names its ground."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.constants import foot, inch, lbf
from scipy.integrate import quad

from undercourse.advise.cautions import cautions_of
from undercourse.advise.evaluating import evaluate
from undercourse.base.domains import read_spec
from undercourse.demands import DEMANDS
from undercourse.facts.jobs import Area, Reading, settle_facts
from undercourse.files.samples import sample_areas

from .floors import BOOK, JOISTS, STATED, ends, frame_of, known
from .test_published_spans import CELLS

PSF = lbf / foot**2
LB_IN2 = lbf * inch**2
EI_2X10 = 1.6e6 * 98.93164  # DF-L No.2 2x10: E of NDS Supplement Table 4A, I of 1.5 x 9.25 in
LIVE, TOTAL = "joist_live_deflection", "joist_total_deflection"


def feet_and_inches(metres: float) -> str:
    """A span as the tables print it."""
    whole = round(metres / inch, 6)
    assert whole == round(whole), "not a whole inch"
    return f"{round(whole) // 12}-{round(whole) % 12}"


# ---- allowable span and spacing


@pytest.mark.parametrize(("live", "dead", "size", "spacing", "species", "span"), CELLS)
def test_allowable_span_is_the_printed_one(
    live: str, dead: str, size: str, spacing: str, species: str, span: str
) -> None:
    """kind = published. IRC 2015 to 2021, Tables R502.3.1(1) and (2), as on a carpentry reference page."""
    found = known(
        "joist_allowable_span",
        JOISTS,
        live_load=live,
        existing_dead_load=dead,
        joist_size=size,
        joist_spacing=spacing,
        joist_species=species,
    )
    assert feet_and_inches(found) == span


# SPF at 19.2 in, 40/10 and 40/20 psf, 2x6 to 2x12, as printed in a city's copy of the 2018 IRC.
NARROW = [
    ("SS", "10 psf", "9-0 11-10 15-1 18-4"),
    ("No.2", "10 psf", "8-9 11-6 14-1 16-3"),
    ("No.3", "10 psf", "6-10 8-8 10-7 12-4"),
    ("SS", "20 psf", "9-0 11-10 15-1 17-9"),
    ("No.2", "20 psf", "8-3 10-6 12-10 14-10"),
]


@pytest.mark.parametrize(("grade", "dead", "row"), NARROW)
def test_allowable_span_of_other_grades_at_19_2_in(grade: str, dead: str, row: str) -> None:
    """kind = published. 2018 IRC Table R502.3.1(2), SPF rows, as adopted by a US city."""
    for size, span in zip(("2x6", "2x8", "2x10", "2x12"), row.split(), strict=True):
        facts = {**JOISTS, "joist_species": "SPF", "joist_grade": grade, "joist_spacing": "19.2 in"}
        found = known("joist_allowable_span", facts, joist_size=size, existing_dead_load=dead)
        assert feet_and_inches(found) == span


def test_the_table_read_for_spacing() -> None:
    """kind = derived. Unrounded spans of two printed cells, 187.27 and 206.96 in, give 16 and 12 in back."""
    bending = known("joist_allowable_spacing", JOISTS, joist_span="187.27 in")
    deflection = known("joist_allowable_spacing", JOISTS, joist_span="206.96 in", joist_species="SPF")
    assert bending == pytest.approx(16 * inch, rel=2e-4)
    assert deflection == pytest.approx(12 * inch, rel=2e-4)


def test_spacing_past_24_in_has_no_repetitive_member() -> None:
    """kind = published. NDS 4.3.9: C_r 1.15 holds for members no more than 24 in apart."""
    share = [known("joist_bending", JOISTS, joist_spacing=f"{s} in") / s for s in (16, 24, 25)]
    assert share[1] == pytest.approx(share[0], rel=1e-9)
    assert share[2] == pytest.approx(share[0] * 1.15, rel=1e-9)
    # Short joists: bending allows 24 in with the factor and less without; the answer stays at 24 in.
    q, moment = 50 * PSF, 900 * 1.1 * 21.390625 * lbf * inch
    length = (8 * moment * 1.05 / (q * 24 * inch)) ** 0.5 / inch
    found = known("joist_allowable_spacing", JOISTS, joist_span=f"{length} in", live_load="40 psf")
    assert found == pytest.approx(24 * inch, rel=1e-6)


def test_what_only_informs_carries_no_limit() -> None:
    """Spans, spacings and what comes after tiling are shown and never held against a floor."""
    for name in ("joist_allowable_span", "joist_allowable_spacing", "deflection_after_tiling"):
        assert DEMANDS[name].informs
        assert all(limit.demand != name for limit in BOOK.practice.rules)


# ---- several spans


def test_two_spans_bend_as_beam_tables_say() -> None:
    """kind = published. Steel manual beam diagrams: 0.0092 w L4 / EI with one of two spans loaded.

    Both loaded 0.00541 (Civil Engineering Reference Manual, 15th ed.); one span 5/384.
    """
    one, two = (known(LIVE, JOISTS, joist_spans=n) for n in ("1", "2"))
    assert two / one == pytest.approx(0.0092 / (5 / 384), rel=6e-3)
    load = np.array([40, 10]) * PSF * 16 * inch
    span, stiffness = 187 * inch, EI_2X10 * LB_IN2
    by_hand = (0.0092 * load[0] + 0.00541 * load[1]) * span**3 / stiffness
    assert known(TOTAL, JOISTS, joist_spans="2") == pytest.approx(by_hand, rel=6e-3)


def test_three_and_four_spans_moment_and_shear() -> None:
    """kind = published. Beam formula pages: two spans w L2/8 and 5 w L/8; four spans 0.1205 and 0.620."""
    w, span = 50 * PSF * 16 * inch, 187 * inch
    capacity = 900 * 1.1 * 1.15 * 21.390625 * lbf * inch, 1665 * lbf
    for spans, moment, shear in (("1", 0.125, 0.5), ("2", 0.125, 0.625), ("4", 0.1205, 0.620)):
        share = known("joist_bending", JOISTS, joist_spans=spans)
        assert share == pytest.approx(moment * w * span**2 / capacity[0], rel=1e-3)
        share = known("joist_shear", JOISTS, joist_spans=spans)
        assert share == pytest.approx(w * (shear * span - 9.25 * inch) / capacity[1], rel=1e-3)


def test_unknown_number_of_spans_is_never_worse_than_one_for_deflection() -> None:
    """One simple span is the hard case of deflection and moment; shear is greatest over two."""
    facts = {**JOISTS, "point_load": "300 lb"}
    del facts["joist_spans"]
    for name in (LIVE, TOTAL, "joist_bending", "joist_concentrated_deflection"):
        low, high = ends(name, facts)
        each = [known(name, facts, joist_spans=str(n)) for n in range(1, 6)]
        assert high == pytest.approx(each[0])
        assert low == pytest.approx(min(each))
    assert ends("joist_shear", facts)[1] == pytest.approx(known("joist_shear", JOISTS, joist_spans="2"))


# ---- stiffness that is stated


@pytest.mark.parametrize("base", ["I-joists", "open-web trusses", "cold-formed steel joists"])
def test_stated_ei_by_hand(base: str) -> None:
    """kind = derived. 5 w L4 / (384 EI): 40 psf at 16 in, EI 400 million lb in2, 187 in."""
    facts = {**STATED, "base": base, "framing_stated_as": "EI of one joist", "joist_ei": "400000000 lb in2"}
    by_hand = 5 * (40 / 144 * 16) * 187**3 / (384 * 400e6)
    assert known(LIVE, facts) == pytest.approx(by_hand, rel=1e-6)
    assert known(TOTAL, facts) == pytest.approx(by_hand * 50 / 40, rel=1e-6)
    assert known("joist_bending", facts) == 0.0


def test_stated_ratio_goes_with_the_load() -> None:
    """kind = derived. Linear elasticity: L/480 at 40 psf is L/320 at 60 psf and L/384 under 50 psf."""
    rated = {
        **{name: value for name, value in STATED.items() if name not in ("joist_spacing", "joist_span")},
        "framing_stated_as": "L/n for another load",
        "framing_rated_l_over": "L/480",
        "framing_rated_load": "40 psf",
    }
    assert 1 / known(LIVE, rated, live_load="60 psf") == pytest.approx(320)
    assert 1 / known(TOTAL, rated) == pytest.approx(384)
    span = {"joist_span": "15 ft", "joist_spacing": "16 in"}
    assert known("joist_total_deflection_m", {**rated, **span}) == pytest.approx(180 * inch / 384)


def test_ratio_for_this_floor_counts_as_it_stands() -> None:
    """An L/n without another load is for the job's load, whatever that is."""
    facts = {
        "base": "open-web trusses",
        "framing_stated_as": "L/n for this floor",
        "framing_live_l_over": "L/480",
    }
    for load in ("40 psf", "100 psf"):
        assert 1 / known(LIVE, facts, live_load=load) == pytest.approx(480)


def settled(**facts: str) -> bool:
    """Whether facts can all be true, and an I-joist's L/n then says how it is stated."""
    readings = {n: Reading(read_spec(BOOK.vocabulary.domains[n], v), "test") for n, v in facts.items()}
    _, problems = settle_facts([Area("a", readings)], BOOK.vocabulary, BOOK.consistency)
    return not problems


def test_two_statements_of_one_stiffness_are_a_contradiction() -> None:
    """A stated L/n for this floor and another way of stating it cannot both be the statement that counts."""
    assert settled(base="I-joists", framing_live_l_over="L/480")
    assert settled(base="I-joists", framing_live_l_over="L/480", framing_stated_as="L/n for this floor")
    assert not settled(base="I-joists", framing_live_l_over="L/480", framing_stated_as="EI of one joist")
    assert not settled(
        base="open-web trusses", framing_total_l_over="at least L/360", framing_stated_as="other"
    )
    assert not settled(joist_plies="1", joist_sister_size="2x8")


# ---- sisters, wet service


def test_sister_of_another_size_adds_its_ei() -> None:
    """kind = published. Second moments of NDS Supplement Table 1A sizes: 98.93 + 47.63 = 146.56 in4."""
    sister = {"joist_sister_size": "2x8", "joist_sister_species": "DF-L", "joist_sister_grade": "No.2"}
    alone, both = known(LIVE, JOISTS), known(LIVE, {**JOISTS, **sister}, joist_plies="2")
    assert alone / both == pytest.approx(146.56 / 98.93, rel=1e-4)
    assert alone / known(LIVE, JOISTS, joist_plies="2", joist_sister_size="none") == pytest.approx(2.0)


def test_weak_sister_sets_the_limit_of_both() -> None:
    """kind = derived. Equal curvature: both are spent when the No.3 sister of equal size is."""
    equal = {"joist_sister_size": "2x10", "joist_sister_species": "DF-L", "joist_sister_grade": "No.3"}
    share = known("joist_bending", {**JOISTS, **equal}, joist_plies="2")
    # E 1.6 and 1.4 million psi, Fb 900 and 525 psi: the sister is spent at 525 x (1.6 + 1.4) / 1.4.
    assert share == pytest.approx(known("joist_bending", JOISTS) * 900 / (525 * 3.0 / 1.4), rel=1e-9)
    strong = {**equal, "joist_sister_grade": "SS"}
    share = known("joist_bending", {**JOISTS, **strong}, joist_plies="2")
    assert share == pytest.approx(known("joist_bending", JOISTS) / (1 + 1.9 / 1.6), rel=1e-9)


def test_second_board_of_unknown_size_only_helps() -> None:
    """A second board that may be a sister of another size is never worse than the joist alone."""
    facts = {**JOISTS, "joist_plies": "2"}
    for name in (LIVE, TOTAL):
        low, high = ends(name, facts)
        assert high <= known(name, JOISTS) * (1 + 1e-9)
        assert low < known(name, facts, joist_sister_size="none") < high


def test_wet_service_factors() -> None:
    """kind = published. NDS Supplement Table 4A: 0.9 on E, 0.97 on Fv, 0.85 on Fb above 1150 psi, else 1."""
    wet = {**JOISTS, "joist_wet_service": "yes"}
    assert known(LIVE, wet) / known(LIVE, JOISTS) == pytest.approx(1 / 0.9)
    assert known("joist_shear", wet) / known("joist_shear", JOISTS) == pytest.approx(1 / 0.97)
    # Fb C_F: DF-L No.2 2x10 990 psi, SS 1650 psi.
    for grade, factor in (("No.2", 1.0), ("SS", 0.85)):
        shares = [known("joist_bending", facts, joist_grade=grade) for facts in (wet, JOISTS)]
        assert shares[0] / shares[1] == pytest.approx(1 / factor)


@pytest.mark.parametrize("species", ["DF-L", "HF", "SPF", "SP"])
@pytest.mark.parametrize("grade", ["SS", "No.1", "No.2", "No.3"])
def test_every_tabulated_joist_has_a_number(species: str, grade: str) -> None:
    """kind = derived. E I by hand for 2x4 to 2x14; the deeper joist is stiffer and stronger."""
    before = np.inf, np.inf
    for size, depth in (
        ("2x4", 3.5),
        ("2x6", 5.5),
        ("2x8", 7.25),
        ("2x10", 9.25),
        ("2x12", 11.25),
        ("2x14", 13.25),
    ):
        facts = {**JOISTS, "joist_species": species, "joist_grade": grade, "joist_size": size}
        live, bending = known(LIVE, facts), known("joist_bending", facts)
        modulus = 5 * (40 / 144 * 16) * 187**3 / (384 * live * 1.5 * depth**3 / 12)
        assert 1.1e6 < modulus < 2.0e6
        assert round(modulus, -5) == pytest.approx(modulus, rel=1e-6), "E is tabulated in tenths of a million"
        assert live < before[0]
        assert bending < before[1]
        before = live, bending


# ---- concentrated loads and heavy things


def test_300_lb_on_one_joist() -> None:
    """kind = derived. P L3 / 48 EI: 300 lb amid 187 in of DF-L No.2 2x10; a heavier foot in its place."""
    name = "joist_concentrated_deflection"
    by_hand = 300 * 187**2 / (48 * EI_2X10)
    assert known(name, JOISTS, point_load="0 lb") == pytest.approx(by_hand, rel=1e-6)
    assert known(name, JOISTS, point_load="900 lb") == pytest.approx(3 * by_hand, rel=1e-6)
    two = known(name, JOISTS, point_load="0 lb", joist_spans="2")
    assert two / by_hand == pytest.approx(48 / 66.78, rel=1e-4)


def influence(x: float, span: float) -> float:
    """Midspan deflection under a unit force at x, EI 1: the textbook's P b (3 L2 - 4 b2) / 48."""
    near = min(x, span - x)
    return near * (3 * span**2 - 4 * near**2) / 48


def by_integration(facts: dict[str, float]) -> float:
    """Deflection over span of one joist, its loads integrated one by one. [-]"""
    span, spacing, width = facts["span"], facts["spacing"], facts["width"]
    start, end = facts["start"], min(facts["start"] + facts["length"], span)
    beside = facts["live"] * max(spacing - width, 0.0)
    under = facts["weight"] / (facts["length"] * width) * min(width, spacing) + beside
    whole = quad(influence, 0, span, (span,), points=[span / 2])[0]
    part = quad(influence, start, end, (span,), points=[span / 2])[0]
    load = facts["live"] * spacing
    return (load * (whole - part) + max(under, load) * part) / facts["ei"] / span


PLACES = [("centered", None), ("at the wall", 0.0), ("off center", 20.0)]


@pytest.mark.parametrize(("words", "near"), PLACES)
@pytest.mark.parametrize("width", [10.0, 60.0])
def test_tub_stands_in_place_of_the_area_load(words: str, near: float | None, width: float) -> None:
    """kind = derived. Influence line integrated by SciPy: 1200 lb over 60 in, 40 psf elsewhere."""
    facts = {
        "span": 187.0,
        "spacing": 16.0,
        "width": width,
        "length": 60.0,
        "live": 40 / 144,
        "weight": 1200.0,
        "ei": EI_2X10,
        "start": (187.0 - 60.0) / 2 if near is None else near,
    }
    stated = {
        "heavy_item_weight": "1200 lb",
        "heavy_item_length": "60 in",
        "heavy_item_width": f"{width} in",
        "heavy_item_from_support": "360 in" if near is None else f"{near} in",
    }
    assert known("joist_point_deflection", {**JOISTS, **stated}) == pytest.approx(
        by_integration(facts), rel=1e-6
    )
    low, high = ends("joist_point_deflection", {**JOISTS, **stated}, heavy_item_from_support="0..360 in")
    assert low * (1 - 1e-7) <= by_integration(facts) <= high * (1 + 1e-7)


def test_island_as_heavy_as_the_area_load_changes_nothing() -> None:
    """kind = published. A stone-topped island is about 40 psf over its footprint (tile magazine, 2019)."""
    island = {"heavy_item_length": "36 in", "heavy_item_width": "72 in"}
    weight = f"{40 * 36 * 72 / 144} lb"
    found = known(
        "joist_point_deflection",
        {**JOISTS, **island},
        heavy_item_weight=weight,
        heavy_item_from_support="0 in",
    )
    assert found == pytest.approx(known(LIVE, JOISTS), rel=1e-9)


def test_heavy_thing_on_framing_of_stated_ratio() -> None:
    """kind = derived. An L/n for this floor's load is the EI 5 n p s L3 / 384, and the thing goes on that."""
    item = {
        "heavy_item_weight": "1200 lb",
        "heavy_item_length": "60 in",
        "heavy_item_width": "30 in",
        "heavy_item_from_support": "0 in",
    }
    ratio = {**STATED, **item, "framing_stated_as": "L/n for this floor", "framing_live_l_over": "L/480"}
    ei = 5 * 480 * (40 / 144) * 16 * 187**3 / 384
    by_ei = {**STATED, **item, "framing_stated_as": "EI of one joist", "joist_ei": f"{ei} lb in2"}
    name = "joist_point_deflection"
    assert known(name, ratio) == pytest.approx(known(name, by_ei), rel=1e-9)


# ---- after tiling, notches


def test_what_comes_after_tiling() -> None:
    """kind = derived. NDS 3.5.2, K_cr 1.5: live 0.447 in and 0.1118 in for 10 psf of dead load."""
    facts = {**JOISTS, "existing_dead_load": "2 psf", "layers_weight": "8 lb/ft2", "framing_moisture": "12 %"}
    by_hand = 0.4471 + 0.5 * 0.2 * 0.1118 + 1.5 * 0.8 * 0.1118
    assert known("deflection_after_tiling", facts) == pytest.approx(by_hand * inch, rel=1e-3)
    green = 0.4471 + 1.0 * 0.2 * 0.1118 + 2.0 * 0.8 * 0.1118
    assert known("deflection_after_tiling", facts, framing_moisture="25 %") == pytest.approx(
        green * inch, rel=1e-3
    )
    steel = {name: value for name, value in facts.items() if name[:6] != "joist_"} | {
        "base": "cold-formed steel joists",
        "framing_stated_as": "EI of one joist",
        "joist_ei": f"{EI_2X10} lb in2",
        **{name: JOISTS[name] for name in ("joist_span", "joist_spacing", "joist_spans")},
    }
    no_creep = 0.4471 + 0.8 * 0.1118
    assert known("deflection_after_tiling", steel) == pytest.approx(no_creep * inch, rel=1e-3)


NOTCHES = [
    ("outer third", "1.54 in", "1 in", 1.0),
    ("outer third", "0.5 in", "3.08 in", 1.0),
    ("at the bearing", "2.31 in", "3.5 in", 1.0),
]


@pytest.mark.parametrize(("place", "depth", "length", "share"), NOTCHES)
def test_printed_greatest_notches_use_the_whole_limit(
    place: str, depth: str, length: str, share: float
) -> None:
    """kind = published. Study page on IRC R502.8.1: 2x10, 1.54 in deep, 3.08 in long, 2.31 in at the ends."""
    notch = {"notch_place": place, "notch_depth": depth, "notch_length": length}
    assert known("joist_notch", {**JOISTS, **notch}) == pytest.approx(share, rel=3e-3)
    assert known("joist_notch", {**STATED, **notch, "joist_size": "2x10"}) == 0.0


def test_no_notch_in_the_middle_third_is_within_limits() -> None:
    """kind = published. IRC R502.8.1: none in the middle third, however small."""
    assert (
        known("joist_notch", JOISTS, notch_place="middle third", notch_depth="1/4 in", notch_length="0 in")
        > 1
    )


def test_shear_beside_an_end_notch() -> None:
    """kind = memory, 95. NDS 3.4.3.2 (a): 1305 lb of a 2x8 become 1305 (3/4)^3 over a quarter's notch."""
    facts = {**JOISTS, "joist_size": "2x8", "notch_place": "at the bearing", "notch_depth": "1.8125 in"}
    reaction = 50 / 144 * 16 * 187 / 2
    assert known("joist_notched_shear", facts) == pytest.approx(reaction / (1305 * 0.75**3), rel=1e-6)
    assert known("joist_notched_shear", facts, notch_place="outer third") == 0.0


# ---- one basis a limit, no sum of joist and panel


def test_joist_and_panel_are_never_added() -> None:
    """No demand reads both what a joist spans and what a panel is rated, so no number sums the two."""
    joist = {"joist_span", "joist_size", "joist_ei", "framing_live_l_over", "framing_total_l_over"}
    panel = {"panel_rating", "second_panel_rating"}
    for demand in DEMANDS.values():
        assert not (joist & demand.reads.keys() and panel & demand.reads.keys()), demand.name


def test_each_deflection_rule_names_one_load_basis() -> None:
    """kind = published. IRC R301.7 live; IBC Table 1604.3 and the stone rules total; 300 lb concentrated."""
    named = {rule.id: rule.demand for rule in BOOK.practice.rules if "deflection" in rule.demand}
    assert named["framing-live-l360"] == LIVE
    assert named["framing-total-l240"] == named["stone-total-l720"] == TOTAL
    assert named["stone-seven-thirty-seconds"] == "joist_total_deflection_m"
    assert named["panels-concentrated-l360"] == "panel_concentrated_deflection"


@pytest.mark.parametrize(
    ("span", "allowed"), [("13 ft 1 in", 157 / 720), ("14 ft", 168 / 720), ("15 ft", 7 / 32)]
)
def test_stone_limits(span: str, allowed: float) -> None:
    """kind = published. Stone institute: L/720 under total load, over 14 ft at most 7/32 in too."""
    rules = {rule.id: rule for rule in BOOK.practice.rules}
    limits = []
    frame = frame_of({"base": "sawn joists", "finish": "natural stone", "joist_span": span})
    for name in ("stone-total-l720", "stone-seven-thirty-seconds"):
        rule = rules[name]
        if all(bool(frame.says(n, s).must[0]) for n, s in rule.when.terms):
            assert rule.capacity.spec is not None
            high = rule.capacity.spec.high  # type: ignore[union-attr]
            length = frame["joist_span"].high[0]  # type: ignore[union-attr]
            limits.append(high * length if name == "stone-total-l720" else high)
    assert min(limits) / inch == pytest.approx(allowed, rel=1e-6)


# ---- cautions


SAMPLES = {area.name: area for area in sample_areas(BOOK.vocabulary)}


def cautions(**facts: str) -> str:
    """All cautions of the kitchen over joists, with other facts."""
    area = SAMPLES["Kitchen over a basement, 16 in joists"]
    readings = dict(area.readings)
    for name, raw in facts.items():
        readings[name] = Reading(read_spec(BOOK.vocabulary.domains[name], raw), "test", said=raw)
    evaluated = evaluate([Area(area.name, readings)], BOOK, None)
    return " ".join(row["text"] for row in cautions_of(evaluated, BOOK, 0, None))


def test_cautions_stand_only_where_the_number_surely_goes_past() -> None:
    """A heavy tub at mid-span and a deep notch are told of; nothing is said of what is not known."""
    tub = {"joist_span": "14 ft", "heavy_item_length": "36 in", "heavy_item_width": "60 in"}
    assert "heavy thing" not in cautions()
    assert "heavy thing" not in cautions(**tub)
    assert "heavy thing" in cautions(**tub, heavy_item_weight="3000 lb")
    assert "notch is past" not in cautions(framing_condition="notched or bored")
    cut = {"framing_condition": "notched or bored", "notch_place": "at the bearing", "notch_length": "4 in"}
    assert "notch is past" in cautions(**cut, notch_depth="4 in")
    assert "notch is past" not in cautions(**cut, notch_depth="1 in")
