"""Quantities against arithmetic that can be done by hand."""

from __future__ import annotations

import math

import pytest

from undercourse.assembly.costs import best_pack, coverage_for
from undercourse.files.shipped import rulebook
from undercourse.layout import layout_document
from undercourse.line.records import Product
from undercourse.takeoff import Geometry, join_layouts, laying_plan, sheet_for, take_off, tape_price_m
from undercourse.takeoff.counting import ALLOWANCE, BAND_LAP_M
from undercourse.takeoff.laying import HOURS_A_METRE

LINE = rulebook(None).line
FT2 = 0.3048**2


def only(document: dict[str, object], role: str) -> dict[str, object]:
    """The one line of a role."""
    lines = document["lines"]
    assert isinstance(lines, list)
    (line,) = [line for line in lines if line["role"] == role]
    found: dict[str, object] = line
    return found


def test_mortar_bags_are_area_with_allowance_over_coverage_rounded_up() -> None:
    """100 sq ft with 10 % at the coverage that the mortar's data state."""
    mortar = LINE.products["mortar-plain"]
    per_bag = next(c.per_pack for c in mortar.coverages if c.place == "below membrane")
    document = take_off("room", [("mortar below", mortar)], Geometry(100 * FT2, 12.0), "US")
    line = only(document, "mortar below")
    assert line["packs"] == math.ceil(100 * FT2 * (1 + ALLOWANCE) / per_bag)
    assert line["cost"] == pytest.approx(float(line["packs"]) * float(line["price"]))  # type: ignore[arg-type]
    # A 50 lb bag weighs 22.68 kg (NIST SP 811).
    assert line["weight_kg"] == pytest.approx(int(line["packs"]) * 22.6796185, abs=0.01)  # type: ignore[call-overload]


def test_seam_band_is_seams_edges_and_laps() -> None:
    """Band need: seams, head joints, edges and 2 in a corner, then 10 %."""
    band = next(p for p in LINE.products.values() if "seam tape" in p.roles)
    geometry = Geometry(20.0, 18.0, 8.0, 2.0, inside_corners=5, outside_corners=1)
    line = only(take_off("room", [("seam tape", band)], geometry), "seam tape")
    assert line["need"] == pytest.approx((8 + 2 + 18 + 6 * BAND_LAP_M) * 1.1, abs=1e-3)


def test_rolls_are_bought_whole_as_laid_out() -> None:
    """A 4 x 3 m room in 1 m strips takes one 14 m roll; the take-off buys it and nothing else."""
    product = LINE.products["low-meadow-3"]
    layout = laying_plan([("room", [(0, 0), (4, 0), (4, 3), (0, 3)], [])], product, "US")
    assert layout is not None
    lengths = tuple(roll.length_m for roll in layout.rolls)
    lines = take_off("room", [("membrane", product)], Geometry(12.0, 14.0, roll_lengths_m=lengths), "US")[
        "lines"
    ]
    assert sum(line["packs"] for line in lines) == len(lengths)
    assert sum(line["need"] for line in lines) >= 12.0


def test_cable_kits_never_exceed_the_heated_area() -> None:
    """A cable cannot be cut: the kits' areas sum to at most the heated area."""
    cable = next(p for p in LINE.products.values() if "heating cable" in p.roles)
    for area in (3.0, 7.06, 11.0, 31.0):
        document = take_off(
            "room", [("heating cable", cable)], Geometry(area, 10.0, heated_area_m2=area), "US"
        )
        assert sum(line["need"] for line in document["lines"] if line["packs"]) <= area + 1e-9


def test_goods_without_a_stated_coverage_say_so() -> None:
    """Nothing is guessed: no coverage, no packs, and a note."""
    mortar = LINE.products["mortar-plain"]
    bare = type(mortar)(**{**mortar.__dict__, "coverages": ()})
    line = only(take_off("room", [("mortar below", bare)], Geometry(10.0, 12.0)), "mortar below")
    assert line["packs"] is None
    assert "not stated" in str(line["note"])


def test_a_liquid_has_no_sheet() -> None:
    """A membrane that comes in pails is not laid out."""
    liquid = LINE.products["dewpond-liquid"]
    assert sheet_for(liquid) is None
    assert laying_plan([("room", [(0, 0), (4, 0), (4, 3), (0, 3)], [])], liquid) is None


def test_canadian_floors_get_canadian_packs() -> None:
    """The region's own item numbers and prices are used."""
    mortar = LINE.products["mortar-plain"]
    line = only(take_off("room", [("mortar below", mortar)], Geometry(10.0, 12.0), "Canada"), "mortar below")
    assert str(line["item_number"]).endswith("-CA")


def test_layouts_of_two_sheets_join_into_one_document_with_unique_labels() -> None:
    """Sums add up, rolls count on, labels stay unique, and each sheet keeps its own document."""
    room = [("room", [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)], [])]
    both = []
    for name in ("low-meadow-3", "high-meadow-8"):
        layout = laying_plan(room, LINE.products[name], "US")
        assert layout is not None
        both.append(layout_document(layout))
    joined = join_layouts(both)
    assert joined["rolls"] == sum(one["rolls"] for one in both)
    labels = [piece["id"] for piece in joined["pieces"]]
    assert len(labels) == len(set(labels)) == sum(len(one["pieces"]) for one in both)
    assert {piece["roll"] for piece in joined["pieces"]} == set(range(1, joined["rolls"] + 1))
    assert joined["consumed_area_m2"] == pytest.approx(sum(one["consumed_area_m2"] for one in both))
    assert joined["layouts"] == both
    assert join_layouts(both[:1]) == both[0]


def test_cells_of_a_sheet_are_told_beside_the_bed() -> None:
    """The note's volume is depth by open share by area; flat sheets and sheets alone have none."""
    mortar = LINE.products["mortar-large"]

    def notes(membrane: str, *more: tuple[str, Product]) -> list[str]:
        goods = [("membrane", LINE.products[membrane]), *more]
        found: list[str] = take_off("room", goods, Geometry(20.0, 18.0), "US")["notes"]
        return found

    (note,) = notes("high-meadow-8", ("mortar above", mortar))
    # 5 mm deep, 55 % open, 20 m2: 55 l; a cubic foot is 28.317 l (NIST SP 811).
    assert "55 l (1.9 cu ft)" in note
    assert notes("millrace-sheet", ("mortar above", mortar)) == []
    assert notes("high-meadow-8") == []


def test_work_is_weighed_against_sheet() -> None:
    """Where an hour costs more, a floor is laid of no more pieces; the price of tape adds to each seam."""
    product = LINE.products["low-meadow-3"]
    wing = [(0.0, 0.0), (5.8, 0.0), (5.8, 1.3), (3.3, 1.3), (3.3, 2.55), (0.0, 2.55)]
    pieces, seams = [], []
    for rate in (1.0, 60.0, 2000.0):
        layout = laying_plan([("room", wing, [])], product, "US", labor_rate=rate)
        assert layout is not None
        pieces.append(len(layout.pieces))
        seams.append(sum(area.seam_length_m for area in layout.areas))
    assert pieces == sorted(pieces, reverse=True)
    assert pieces[0] > pieces[2]
    assert seams[0] > seams[2]
    plain, taped = sheet_for(product, "US", 60.0), sheet_for(product, "US", 60.0, 2.5)
    assert plain is not None
    assert taped is not None
    lap, butt = HOURS_A_METRE["lap"], HOURS_A_METRE["butt"]
    assert taped.seam_cost_m - plain.seam_cost_m == pytest.approx(2.5 + 60.0 * (lap - butt))


def test_tape_costs_what_its_pack_says() -> None:
    """A pack's price over the seam it covers; nothing where a candidate has no tape."""
    tape = next(product for product in LINE.products.values() if "seam tape" in product.roles)
    pack, coverage = best_pack(tape), coverage_for(tape, "seam tape")
    assert pack is not None
    assert coverage is not None
    assert tape_price_m([("seam tape", tape)]) == pytest.approx(pack.price / coverage.per_pack)
    assert tape_price_m([("membrane", LINE.products["low-meadow-3"])]) is None
