"""Waits before a base is read: the trade's figures at both ends, and when they say nothing."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import constants as si
from tests.demands.site import cautions, valid, worked

from undercourse.demands.drying import EMISSION_SPREAD, HUMIDITY_SPREAD
from undercourse.physics.drying import wait_to_emission, wait_to_humidity

MONTH_S = si.Julian_year / 12
ON_GROUND = {"base": "slab on ground"}


def test_rule_of_days_an_inch_lies_in_its_wait() -> None:
    """Kind published: 28 to 30 days an inch, a rough guide; the spread is half to twice, no source."""
    low, high = worked("wait_to_humidity", slab_thickness="4 in", **ON_GROUND)
    assert low * MONTH_S / si.day == pytest.approx(112 / 2)
    assert high * MONTH_S / si.day == pytest.approx(120 * 2)


@pytest.mark.parametrize(
    ("ratio", "days"), [(0.4, 46), (0.5, 82), (0.6, 117), (0.7, 130), (0.8, 148), (0.9, 166), (1.0, 190)]
)
def test_days_to_low_emission_lie_in_the_middle_of_their_wait(ratio: float, days: float) -> None:
    """Kind memory (75 %): Brewer 1965, 4 in slab sealed below, to 3 lb per 1000 sq ft in 24 h."""
    low, high = worked("wait_to_emission", slab_thickness="4 in", water_cement_ratio=ratio, **ON_GROUND)
    assert low * MONTH_S / si.day == pytest.approx(days / EMISSION_SPREAD)
    assert high * MONTH_S / si.day == pytest.approx(days * EMISSION_SPREAD)
    assert np.sqrt(low * high) * MONTH_S / si.day == pytest.approx(days)


@pytest.mark.parametrize("inches", [2.0, 3.0, 4.0, 6.0, 8.0])
def test_waits_are_those_of_the_checked_formulas(inches: float) -> None:
    """A second way: the formulas that the printed rows check give the same two ends."""
    slab = {**ON_GROUND, "slab_thickness": f"{inches} in"}
    checked = wait_to_humidity(inches * si.inch, HUMIDITY_SPREAD - 1)
    found = [end * MONTH_S for end in worked("wait_to_humidity", **slab)]
    assert found == pytest.approx([checked.low_s.item(), checked.high_s.item()])
    checked = wait_to_emission(inches * si.inch, 0.55, EMISSION_SPREAD - 1)
    found = [end * MONTH_S for end in worked("wait_to_emission", **slab, water_cement_ratio=0.55)]
    assert found == pytest.approx([checked.low_s.item(), checked.high_s.item()])


def test_a_suspended_slab_may_dry_from_both_faces() -> None:
    """Half the depth at the early end, all of it at the late one; steel deck closes the underside."""
    ground = worked("wait_to_humidity", slab_thickness="6 in", **ON_GROUND)
    hung = worked("wait_to_humidity", slab_thickness="6 in", base="suspended slab")
    half = worked("wait_to_humidity", slab_thickness="3 in", **ON_GROUND)
    assert hung == pytest.approx((half[0], ground[1]))
    assert worked("wait_to_humidity", slab_thickness="6 in", base="concrete on steel deck") == ground


def test_waits_hold_every_slab_of_a_half_known_one() -> None:
    """Dense sampling between 3 and 7 in and between ratios: nothing outside the range."""
    span = worked("wait_to_emission", slab_thickness="3..7 in", water_cement_ratio="0.45..0.62", **ON_GROUND)
    found = [
        worked("wait_to_emission", slab_thickness=f"{inches} in", water_cement_ratio=ratio, **ON_GROUND)
        for inches in np.linspace(3, 7, 9)
        for ratio in np.linspace(0.45, 0.62, 7)
    ]
    assert span[0] <= min(low for low, _ in found)
    assert span[1] >= max(high for _, high in found)


@pytest.mark.parametrize(
    ("thickness", "days"), [("1/4 in", 2), ("1/2 in", 3), ("3/4 in", 5), ("1 in", 7), ("2 in", 14)]
)
def test_gypsum_waits_as_the_manual_has_it(thickness: str, days: float) -> None:
    """Kind published: trade reference manual on tile over gypsum, wait before testing."""
    assert worked("gypsum_wait", screed_thickness=thickness, screed_age="0 day") == pytest.approx(
        (days, days)
    )
    assert worked("gypsum_wait", screed_thickness=thickness, screed_age="1 day")[0] == pytest.approx(days - 1)
    assert worked("gypsum_wait", screed_thickness=thickness)[0] == 0.0
    assert valid("gypsum_wait", screed_thickness=thickness).must.all()


@pytest.mark.parametrize(("thickness", "days"), [("30 mm", 30), ("40 mm", 40), ("60 mm", 80)])
def test_calcium_sulfate_waits_as_trade_pages_have_it(thickness: str, days: float) -> None:
    """Kind published: trade pages, a day a mm to 40 mm and two days a mm beyond."""
    assert worked("anhydrite_wait", screed_thickness=thickness, screed_age="0 day")[1] == pytest.approx(days)
    assert worked("anhydrite_wait", screed_thickness=thickness, screed_age="200 day") == (0.0, 0.0)


def test_a_young_pour_is_cautioned_until_it_is_worth_a_test() -> None:
    """1 in waits 7 days; a screed of another kind and an unknown age say nothing."""
    poured = {"layer_1_kind": "poured gypsum", "layer_1_thickness": "1 in", "screed_thickness": "1 in"}
    assert "about 3 day" in cautions(**poured, top_surface="poured gypsum", screed_age="4 day")
    assert "too young" not in cautions(**poured, top_surface="poured gypsum", screed_age="7 day")
    assert "too young" not in cautions(**poured, top_surface="poured gypsum")
    assert "too young" not in cautions(top_surface="concrete", screed_thickness="1 in", screed_age="4 day")
    screed = {"top_surface": "calcium sulfate screed", "screed_thickness": "50 mm"}
    assert "about 30 day" in cautions(**screed, screed_age="30 day")
    assert "drying weather before it" not in cautions(**screed, screed_age="61 day")
