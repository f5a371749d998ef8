"""The Model Code, GL2000, the ACI form by size and its age: printed values, ranges that peak inside."""

from __future__ import annotations

import numpy as np
import pytest
from tests.demands.concrete import C1, C1_FLOOR, DAY, both, single
from tests.demands.site import check_validity_ends, valid, worked

from undercourse.demands import DEMANDS
from undercourse.physics import shrinkage, shrinkage_ends

SIZED, AGE = "slab_remaining_shrinkage_by_size", "slab_age_for_remainder"
MC90, GL2000 = "slab_remaining_shrinkage_mc90", "slab_remaining_shrinkage_gl2000"
POINT = {"curing": 7 * DAY, "scatter": 1.0}
STRONG = {**C1_FLOOR, "slab_strength": "25 MPa"}


@pytest.mark.parametrize(("kind", "humidity", "strain"), [(5, 70, 453.2), (8, 80, 393.3)])
def test_model_code_in_the_end(kind: float, humidity: float, strain: float) -> None:
    """Kind derived: the printed form worked by hand, 445 x 1.55 x 0.657 and 520 x 1.55 x 0.488."""
    strength = "25 MPa" if kind == 5 else "37 MPa"
    floor = {**STRONG, "slab_strength": strength, "service_humidity": f"{humidity} %"}
    found = single(MC90, {**POINT, "mc90_cement": kind}, slab_age="7 day", **floor)
    assert found == pytest.approx(strain * 1e-6, rel=1e-3)


def test_model_code_has_seven_tenths_after_its_time_constant() -> None:
    """Kind published: ACI 209.2R-08, p. 209.2R-38: 350 ((V/S)/50)² days; √(1/2) has come by then."""
    point = {**POINT, "mc90_cement": 5}
    whole = single(MC90, point, slab_age="7 day", **STRONG)
    left = single(MC90, point, slab_age="1407 day", **STRONG)
    assert 1 - left / whole == pytest.approx(np.sqrt(0.5))


def test_gl2000_case() -> None:
    """Kind memory (88 %): k 1, mean strength 32.5 MPa, 70 %, V/S 100 mm, cured 7 days, at 365: 297e-6."""
    point = {**POINT, "gl2000_cement": 1.0}
    whole = single(GL2000, point, slab_age="7 day", **STRONG)
    left = single(GL2000, point, slab_age="365 day", **STRONG)
    assert whole == pytest.approx(865e-6 * 0.717, rel=2e-3)
    assert whole - left == pytest.approx(297e-6, rel=1e-2)


def test_models_stay_apart() -> None:
    """No factor of one model enters another: each reads only its own mix, and the ground is told."""
    aci = set(DEMANDS["slab_remaining_shrinkage"].through) | set(DEMANDS[SIZED].through)
    for name in (MC90, GL2000):
        demand = DEMANDS[name]
        assert not {"slump", "fines", "cement", "air"} & set(demand.through)
        assert "slab_strength" in demand.reads
    assert "cement_kind" not in aci
    assert "slab_strength" not in DEMANDS[SIZED].reads
    for name, demand in DEMANDS.items():
        if "from memory" in demand.source and demand.subject == "slab":
            assert demand.rests_on == "memory", name
            assert demand.informs, name


@pytest.mark.parametrize("name", [MC90, GL2000, SIZED, AGE])
def test_validity_ends(name: str) -> None:
    """Inside each range of validity the formula holds; beyond either end it does not."""
    check_validity_ends(name)


def test_not_valid_where_the_model_code_says_nothing() -> None:
    """Too dry, too damp, too weak: not valid here; the middle of each is."""
    floor = {**STRONG, "slab_age": "60 day"}
    assert valid(MC90, **floor).must.all()
    for wrong in ({"service_humidity": "38 %"}, {"service_humidity": "100 %"}, {"slab_strength": "10 MPa"}):
        assert not valid(MC90, **{**floor, **wrong}).may.any()
    assert not valid(SIZED, **{**floor, "slab_thickness": "7 in"}).may.any()
    assert valid(SIZED, **{**floor, "slab_thickness": "5 in"}).must.all()


def test_age_by_hand() -> None:
    """Kind derived: 349.5e-6 in the end, 200e-6 to come, V/S 100 mm: 7 + 107.3 x 0.7475 days."""
    ultimate = 349.5e-6
    half_time = 26 * np.exp(0.36 * 100 / 25.4)
    age = single(AGE, C1, **C1_FLOOR) / DAY
    assert age == pytest.approx(7 + half_time * (ultimate / 200e-6 - 1), rel=5e-3)


def test_age_and_remainder_are_each_other_turned_round() -> None:
    """At the age that the one gives, the other leaves just 200 µm/m."""
    for thickness in ("50 mm", "80 mm", "100 mm", "120 mm"):
        floor = {**C1_FLOOR, "slab_thickness": thickness, "service_humidity": "50 %"}
        age = single(AGE, C1, **floor) / DAY
        assert single(SIZED, C1, slab_age=f"{age} day", **floor) == pytest.approx(200e-6)


def test_what_never_shrinks_so_far_needs_no_wait() -> None:
    """In damp air less than the mark comes in all: the age is the end of curing."""
    damp = {**C1_FLOOR, "service_humidity": "95 %"}
    assert single(AGE, C1, **damp) == pytest.approx(7 * DAY)
    assert single(AGE, C1, **{**C1_FLOOR, "service_humidity": "100 %"}) == pytest.approx(7 * DAY)


def test_neither_is_monotone_in_thickness() -> None:
    """The reason for the enclosure: from thin to thick the age, and what is to come, rise and then fall."""
    inches = np.linspace(1.0, 16.0, 120)
    floor = {**C1_FLOOR, "service_humidity": "50 %"}
    for name, more in ((AGE, {}), (SIZED, {"slab_age": "60 day"})):
        found = np.array([single(name, C1, **{**floor, "slab_thickness": f"{t} in"}, **more) for t in inches])
        top = int(found.argmax())
        assert 0 < top < len(inches) - 1
        whole = both(name, C1, **{**floor, "slab_thickness": "1..16 in"}, **more)
        assert whole.high.item() == pytest.approx(found.max(), rel=1e-3)
        assert found.max() <= whole.high.item() * (1 + 1e-9)
        assert whole.low.item() == pytest.approx(found.min())


@pytest.mark.parametrize(
    ("name", "age"), [(SIZED, "3..9 day"), (SIZED, "30..60 day"), (SIZED, "200..900 day"), (AGE, "1..1 day")]
)
def test_ranges_hold_every_completion_and_are_close(name: str, age: str) -> None:
    """Dense sampling over thickness, age, humidity, curing: nothing outside, ends met to a hundredth."""
    rng = np.random.default_rng(4)
    first, last = (float(end) for end in age.removesuffix(" day").split(".."))
    facts: dict[str, object] = {"slab_thickness": "2..12 in", "service_humidity": "45..60 %"}
    if name == SIZED:
        facts["slab_age"] = age
    mix = {key: value for key, value in C1.items() if key != "curing"}
    whole = both(name, mix, base="slab on ground", **facts)
    found = []
    for _ in range(3000):
        ends = rng.choice([0.0, 1.0, rng.uniform(), rng.uniform()], 4)
        known: dict[str, object] = {
            "slab_thickness": f"{2 + 10 * ends[0]} in",
            "service_humidity": f"{45 + 15 * ends[1]} %",
        }
        if "slab_age" in facts:
            known["slab_age"] = f"{first + (last - first) * ends[2]} day"
        point = {**mix, "curing": (1 + 13 * ends[3]) * DAY}
        found.append(single(name, point, base="slab on ground", **known))
    assert whole.low.item() <= min(found) * (1 + 1e-9)
    assert max(found) <= whole.high.item() * (1 + 1e-9)
    assert whole.low.item() == pytest.approx(min(found), rel=0.01)
    assert whole.high.item() == pytest.approx(max(found), rel=0.01)


def test_turning_points_are_where_a_search_finds_them() -> None:
    """Kind derived: each closed form against a fine search of the model itself."""
    days = np.linspace(1.0, 90.0, 40_001)
    for total in (20.0, 63.0, 140.0, 500.0):
        value = shrinkage.aci_curing_factor(days * DAY) / (total - np.minimum(days, total - 1e-6))
        inside = days < total - 5
        turn = shrinkage_ends.curing_of_least_remainder((total - 35) * DAY, 35 * DAY) / DAY
        assert turn == pytest.approx(days[inside][value[inside].argmin()], abs=0.01)
    sizes = np.linspace(0.0, 0.6, 40_001)
    half = shrinkage.aci_half_time(sizes)
    for drying in (30 * DAY, 300 * DAY):
        value = np.exp(-0.12 * sizes / 0.0254) * half / (half + drying)
        # The SI form of the size factor rounds 0.12 / 25.4 mm to 0.00472.
        assert shrinkage_ends.size_of_greatest_remainder(drying) == pytest.approx(
            sizes[value.argmax()], abs=2e-3
        )
    for ratio in (1.5, 4.0):
        value = half * np.maximum(ratio * np.exp(-4.72 * sizes) - 1, 0.0)
        assert max(shrinkage_ends.size_of_greatest_age(ratio), 0.0) == pytest.approx(
            sizes[value.argmax()], abs=1e-4
        )
        for time in (20 * DAY, 200 * DAY):
            over = ratio * shrinkage.aci_curing_factor(days * DAY) - 1
            value = days * DAY + time * np.maximum(over, 0.0)
            turn = shrinkage_ends.curing_of_least_age(ratio, time) / DAY
            assert min(max(turn, 1.0), 90.0) == pytest.approx(days[value.argmin()], abs=0.01)


def test_unknown_slab_says_little_and_breaks_nothing() -> None:
    """With only the base told every demand is a finite range from nothing up."""
    for name in (SIZED, AGE, MC90, GL2000, "slab_remaining_shrinkage", "base_joint_opening"):
        low, high = worked(name, base="slab on ground")
        assert np.isfinite([low, high]).all()
        assert low <= high
