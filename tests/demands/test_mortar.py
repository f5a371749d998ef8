"""Beds, contact, cells and bags against geometry and the bag coverage that guides and the line print."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import constants as si
from tests.demands.site import BOOK, cautions, worked

from undercourse.assembly.costs import coverage_for
from undercourse.demands.mortar import LEAST_LEFT, MOST_LEFT
from undercourse.physics.mortar import (
    LEAST_TROWELED,
    MOST_TROWELED,
    square_notch_bed,
    u_notch_bed,
    v_notch_bed,
)

UPRIGHT = np.pi / 2
QUARTER, HALF = si.inch / 4, si.inch / 2
FLAT = {"membrane_cavity_depth": "0 mm", "membrane_open_share": "0 %"}


@pytest.mark.parametrize(
    ("notch", "bed_m", "printed_in"),
    [
        # Kind derived: geometry of the notch, to 0.0001 in.
        ("3/16 in V", v_notch_bed(0.1875 * si.inch, 5 / 32 * si.inch, 0.1875 * si.inch, UPRIGHT), 0.0781),
        ("1/4 in square", square_notch_bed(QUARTER, QUARTER, QUARTER, UPRIGHT), 0.125),
        ("1/4 x 3/8 in", square_notch_bed(QUARTER, 0.375 * si.inch, QUARTER, UPRIGHT), 0.1875),
        ("1/4 x 3/8 in U", u_notch_bed(QUARTER, 0.375 * si.inch, QUARTER, UPRIGHT), 0.1741),
        ("1/2 in square", square_notch_bed(HALF, HALF, HALF, UPRIGHT), 0.25),
    ],
)
def test_bed_of_a_notch_is_its_geometry(notch: str, bed_m: np.ndarray, printed_in: float) -> None:
    """The table of notches holds the beds of the checked formulas; 46 to 60 % stay on the floor."""
    assert float(bed_m) / si.inch == pytest.approx(printed_in, abs=1e-4)
    low, high = worked("mortar_bed", trowel_notch=notch)
    assert low == pytest.approx(0.46 * printed_in, abs=1e-4)
    assert high == pytest.approx(0.60 * printed_in, abs=1e-4)


def test_share_that_stays_is_within_what_geometry_allows() -> None:
    """A blade at 45 degrees would leave 0.71; bag coverage shows less."""
    assert LEAST_TROWELED <= LEAST_LEFT < MOST_LEFT < MOST_TROWELED


@pytest.mark.parametrize(
    ("notch", "least_ft2", "most_ft2"),
    # Kind published: area of a 50 lb bag, two general tile guides.
    [("1/4 in square", 85, 95), ("1/4 x 3/8 in", 60, 70), ("1/2 in square", 40, 50)],
)
def test_bag_covers_what_guides_print(notch: str, least_ft2: float, most_ft2: float) -> None:
    """Printed coverage lies in the range, and the range is not so wide as to hold anything."""
    low, high = worked("bag_area", trowel_notch=notch, **FLAT)
    assert low <= least_ft2
    assert high >= most_ft2
    assert low > 0.6 * least_ft2
    assert high < 1.6 * most_ft2


def test_bag_covers_what_the_line_states_for_the_take_off() -> None:
    """The coverage that a take-off counts lies in the range of a notch of the mortar's stated bed."""
    notches = {0.125: "1/4 in square", 0.1875: "3/8 in square"}
    seen = 0
    for product in BOOK.line.products.values():
        bed, coverage = product.number("bed_thickness_above"), coverage_for(product, "mortar above")
        notch = notches.get(round((bed or 0.0) / si.inch, 4))
        fifty = any("50 lb" in pack.text for pack in product.packs)
        if notch is None or coverage is None or not fifty:
            continue
        seen += 1
        low, high = worked("bag_area", trowel_notch=notch, **FLAT)
        assert low <= coverage.per_pack / si.foot**2 <= high, product.id
    assert seen >= 3


@pytest.mark.parametrize(
    ("share_of_height", "contact"), [(1.0, 0.50), (0.8, 0.625), (0.625, 0.80), (0.526, 0.95), (0.5, 1.0)]
)
def test_contact_follows_the_volume(share_of_height: float, contact: float) -> None:
    """Kind derived: ridges as wide as their gaps, pressed to a share of their height.

    What stays of the notch makes ridges of 0.46 to 0.60 times 1/4 in; each end is pressed to the share.
    """
    for place, left in enumerate((LEAST_LEFT, MOST_LEFT)):
        pressed = left * 0.25 * share_of_height
        found = worked("mortar_contact", trowel_notch="1/4 in square", pressed_bed=f"{pressed} in")[place]
        assert found == pytest.approx(100 * contact, abs=0.1)


@pytest.mark.parametrize(
    ("place", "asked"),
    [
        # Kind published: ANSI A108.5 as quoted in trade magazines; stone as they give it.
        ({"exposure": "interior", "wet_exposure": "dry", "finish": "porcelain"}, 0.80),
        ({"exposure": "interior", "wet_exposure": "wet", "finish": "porcelain"}, 0.95),
        ({"exposure": "exterior open", "wet_exposure": "dry", "finish": "quarry"}, 0.95),
        ({"exposure": "interior", "wet_exposure": "dry", "finish": "natural stone"}, 0.95),
    ],
)
def test_tile_beaten_to_the_gap_has_the_coverage_asked_for(place: dict[str, str], asked: float) -> None:
    """Pressed to exactly the computed gap, the contact is what place and stone ask for."""
    low, high = worked("coverage_gap", trowel_notch="1/2 in square", **place)
    assert low == pytest.approx(0.46 * 0.25 / asked)
    assert high == pytest.approx(0.60 * 0.25 / asked)
    at_low = worked("mortar_contact", trowel_notch="1/2 in square", pressed_bed=f"{low} in")
    at_high = worked("mortar_contact", trowel_notch="1/2 in square", pressed_bed=f"{high} in")
    assert at_low[0] == pytest.approx(100 * asked)
    assert at_high[1] == pytest.approx(100 * asked)


def test_coverage_asked_for_is_that_of_the_rules() -> None:
    """Where a rule of coverage surely applies, the gap is worked with its share."""
    rules = {rule.id: rule for rule in BOOK.practice.rules if rule.demand == "mortar_coverage"}
    for name, place in (
        ("coverage-dry", {"exposure": "interior", "wet_exposure": "dry", "finish": "ceramic"}),
        ("coverage-wet", {"exposure": "interior", "wet_exposure": "steam", "finish": "ceramic"}),
        ("coverage-exterior", {"exposure": "exterior covered", "wet_exposure": "dry", "finish": "ceramic"}),
        ("coverage-stone", {"exposure": "interior", "wet_exposure": "dry", "finish": "natural stone"}),
    ):
        asked = rules[name].capacity.end(upper=False).low.item()
        bed = worked("mortar_bed", trowel_notch="1/4 in square")[0]
        assert bed / worked("coverage_gap", trowel_notch="1/4 in square", **place)[0] == pytest.approx(asked)


def test_cells_are_depth_by_open_share_and_cost_area() -> None:
    """Kind derived: 5 mm deep, 55 % open is 2.75 mm; a bag covers so much less."""
    sheet = {"membrane_cavity_depth": "5 mm", "membrane_open_share": "55 %"}
    assert worked("cavity_fill", **sheet) == pytest.approx((2.75, 2.75))
    flat = worked("bag_area", trowel_notch="1/2 in square", **FLAT)
    filled = worked("bag_area", trowel_notch="1/2 in square", **sheet)
    bed_mm = [share * 0.25 * 25.4 for share in (MOST_LEFT, LEAST_LEFT)]
    for place in (0, 1):
        assert filled[place] / flat[place] == pytest.approx(bed_mm[place] / (bed_mm[place] + 2.75))


def test_cells_of_the_line_weigh_what_its_sheets_state() -> None:
    """Depth by open share at 2,000 kg/m3 (set mortar; common practice, no source) is the stated fill."""
    seen = 0
    for product in BOOK.line.products.values():
        depth, share = product.number("cavity_depth"), product.number("open_share")
        fill = product.number("fill")
        if depth is None or share is None or fill is None:
            continue
        seen += bool(fill)
        assert depth * share * 2000 == pytest.approx(fill, abs=0.05), product.id
        assert depth <= (product.number("thickness") or 0.0), product.id
    assert seen >= 4


def test_a_notch_that_cannot_fill_is_cautioned() -> None:
    """A 1/4 in notch under a tile that stands off 1/8 in reaches 46 to 60 %; unknown beds say nothing."""
    tiled = {"finish": "porcelain", "trowel_notch": "1/4 in square"}
    assert "46 % to 60 % of the tile's back" in cautions(**tiled, pressed_bed="1/8 in")
    assert "larger notch" not in cautions(**tiled, pressed_bed="1/16 in")
    assert "larger notch" not in cautions(**tiled)
