"""What lies over and under the heat: stated, by kind, and on which side of the heat it counts."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tests.demands.site import BOOK, frame

from undercourse.advise.evaluating import evaluate
from undercourse.assembly.heat_resistance import (
    LAYER_W_M_K,
    MEMBRANE_W_M_K,
    membrane_resistance,
    set_heat_columns,
    strange_resistance,
)
from undercourse.base.columns import NEVER, SURE, Columns, Truth
from undercourse.base.domains import read_spec
from undercourse.base.frame import Frame
from undercourse.demands.heat_layers import over_capacity, over_heat, under_contact
from undercourse.facts.jobs import Area, ProposedLayer, Reading

SHEET = BOOK.line.products["inglenook-heat"]


def candidate(
    proposed: tuple[ProposedLayer, ...] = (), only: str = "inglenook-heat", **facts: object
) -> Frame:
    """The columns of one candidate on a floor."""
    readings = {name: Reading(read_spec(BOOK.domains[name], raw), str(raw)) for name, raw in facts.items()}
    area = Area("here", readings, proposed=proposed)
    ids = ["proposed"] if proposed else [only]
    judged = evaluate([area], BOOK, dt.date(2026, 11, 25), only=ids)
    return (judged.own[0] if proposed else judged.judgements[0]).candidate.frame


def ends(found: Any, name: str) -> tuple[float, float]:
    column = found[name]
    return column.low.item(), column.high.item()


def stack(*layers: tuple[str, str, str]) -> tuple[ProposedLayer, ...]:
    """A proposed stack of stranger's layers: role, kind, thickness."""
    return tuple(ProposedLayer(role, "", kind, (), thickness, "proposed") for role, kind, thickness in layers)


def test_a_stated_resistance_counts_and_a_kind_bounds_the_rest() -> None:
    """Without its own number a sheet lies within what its kind may be made of, with one it has that."""
    assert membrane_resistance(SHEET) == (0.014, 0.014)
    properties = {name: value for name, value in SHEET.properties.items() if name != "thermal_resistance"}
    low, high = membrane_resistance(replace(SHEET, properties=properties))
    assert low < 0.014 < high
    assert (low, high) == pytest.approx((0.006 / 1.0, 0.006 / 0.05))


@pytest.mark.parametrize(
    ("kind", "conductivity"),
    [
        # Kind published: EN ISO 10456 tables as printed; polyethylene, PVC, rubber, cork and felt underlays.
        ("waterproofing sheet", 0.33),
        ("waterproofing sheet", 0.50),
        ("crack isolation sheet", 0.17),
        ("pan liner", 0.17),
        ("sound mat", 0.05),
        ("sound mat", 0.17),
        ("slip sheet", 0.10),
    ],
)
def test_a_kind_holds_what_is_printed_for_its_stuff(kind: str, conductivity: float) -> None:
    """No printed conductivity lies outside the range of a kind."""
    least, most = MEMBRANE_W_M_K[kind]
    assert least <= conductivity <= most


def test_mortar_and_concrete_lie_within_their_roles() -> None:
    """Kind memory (93 %): cement mortar 1.0; published: concrete of 1800 to 2000 kg/m3 1.15 and 1.35."""
    for role in ("mortar above", "mortar below", "mortar bed", "leveler"):
        assert LAYER_W_M_K[role][0] <= 1.0 <= LAYER_W_M_K[role][1]
    assert LAYER_W_M_K["leveler"][0] <= 1.35 <= LAYER_W_M_K["leveler"][1]


def test_layers_of_a_candidate_lie_on_their_side_of_the_sheet() -> None:
    """Mortar over the sheet; the cable's output where it surely lies there."""
    heat = {"heating": "electric cable", "heating_position": "in the membrane", "wants_heating": True}
    plain = candidate(**heat, jurisdiction="US", leveler_over_membrane=False)
    height = ends(plain, "above_membrane_height")[0]
    above = ends(plain, "above_membrane_resistance")
    assert 0 < above[0] <= above[1]
    # A known bed of known mortar: height over resistance is its conductivity, that of a demo mortar.
    assert 0.5 <= height / above[1] <= 1.4
    assert ends(plain, "membrane_thermal_resistance") == (0.014, 0.014)
    assert ends(plain, "cable_output") == pytest.approx((9.8425, 9.8425), abs=1e-4)
    assert ends(candidate(heating="none", only="low-meadow-3"), "cable_output") == (0.5, 100.0)


@pytest.mark.parametrize(
    ("leveler", "above", "below"),
    [
        (SURE, (0.005 + 0.006, 0.006 + 0.016), (0.0, 0.0)),
        (NEVER, (0.005, 0.006), (0.006, 0.016)),
        (Truth(SURE.may, NEVER.must), (0.005, 0.006 + 0.016), (0.0, 0.016)),
    ],
)
def test_a_leveler_counts_where_it_lies(
    leveler: Truth, above: tuple[float, float], below: tuple[float, float]
) -> None:
    """Over the sheet, under it, or either where nobody has said."""
    columns = Columns(BOOK.domains, 1)
    bed, poured = np.array([[0.005], [0.005]]), np.array([[0.010], [0.006]])
    amounts = {
        "mortar above": (bed, np.array([[0.005], [0.006]])),
        "leveler": (poured, np.array([[0.010], [0.016]])),
    }
    set_heat_columns(columns, SHEET, amounts, leveler)
    assert ends(columns, "above_membrane_resistance") == pytest.approx(above)
    assert ends(columns, "below_membrane_resistance") == pytest.approx(below)


def test_a_strange_stack_is_a_range_by_kind_and_thickness() -> None:
    """Of a stranger's sheet only kind and thickness are known; what is not told has no place."""
    found = candidate(
        stack(("mortar above", "", "3 mm"), ("membrane", "sound mat", "5 mm"), ("mortar below", "", "4 mm"))
    )
    assert ends(found, "membrane_thermal_resistance") == pytest.approx((0.005 / 0.25, 0.005 / 0.035))
    assert ends(found, "above_membrane_resistance") == pytest.approx((0.003 / 1.4, 0.003 / 0.5))
    assert ends(found, "below_membrane_resistance") == pytest.approx((0.004 / 1.4, 0.004 / 0.5))
    assert ends(found, "above_membrane_height") == pytest.approx((0.003, 0.003))
    assert strange_resistance("primer", "", None) == (0.0, 0.0)


def test_without_a_membrane_or_with_two_the_heat_may_lie_anywhere() -> None:
    """Then the least on either side of the heat is nothing of it."""
    bare = candidate(stack(("mortar above", "", "6 mm"), ("leveler", "", "10 mm")))
    assert ends(bare, "membrane_thermal_resistance") == (0.0, 0.0)
    for side in ("above", "below"):
        low, high = ends(bare, f"{side}_membrane_resistance")
        assert low == 0.0
        assert high == pytest.approx(0.006 / 0.5 + 0.010 / 0.6)
    two = candidate(
        stack(
            ("mortar above", "", "3 mm"),
            ("membrane", "waterproofing sheet", "0.5 mm"),
            ("mortar below", "", "3 mm"),
            ("membrane", "sound mat", "5 mm"),
        )
    )
    low, high = ends(two, "membrane_thermal_resistance")
    assert low == 0.0
    assert high == pytest.approx(0.0005 / 0.1 + 0.003 / 0.5 + 0.005 / 0.035)


SITE = {
    "finish": "glass", "tile_thickness": "8 mm", "above_membrane_resistance": "0.004 m2K/W",
    "above_membrane_height": "4 mm", "membrane_thermal_resistance": "0.05 m2K/W",
    "membrane_thickness": "6 mm", "below_membrane_resistance": "0.003 m2K/W",
}  # fmt: skip


@pytest.mark.parametrize(
    ("position", "over", "under", "cover"),
    [
        # Tile 8 mm at 0.9 to 1.2 and the bed 0.004: 0.01067 to 0.01289 m2 K/W; studs and screed on top of it.
        ("above the membrane", (0.010667, 0.012889), (0.053, 0.053), 0.008 + 0.001),
        ("in the membrane", (0.010667, 0.012889 + 0.006 / 0.5), (0.003, 0.053), 0.008 + 0.004),
        ("below the membrane", (0.010667 + 0.058, 0.012889 + 0.147), (0.0, 0.0), 0.008 + 0.004 + 0.010),
        ("other", (0.010667, 0.012889 + 0.147), (0.0, 0.053), 0.008 + 0.001),
    ],
)
def test_the_membrane_counts_on_its_side_of_the_heat(
    position: str, over: tuple[float, float], under: tuple[float, float], cover: float
) -> None:
    """In, above, below, or not known: then all three."""
    site = frame(**SITE, heating_position=position)
    found = over_heat(site, BOOK.tables)
    assert (found.resistance.low.item(), found.resistance.high.item()) == pytest.approx(over, abs=1e-6)
    assert found.cover.low.item() == pytest.approx(cover)
    assert found.conductivity.low.item() == pytest.approx(
        0.5 if position in ("other", "below the membrane") else 0.9
    )
    contact = under_contact(site, BOOK.tables)
    assert (contact.low.item(), contact.high.item()) == pytest.approx(under)
    capacity = over_capacity(site, BOOK.tables)
    assert capacity.low < capacity.high


def test_a_wider_floor_holds_each_narrower_one() -> None:
    """What is known less is known within more: every layer range of an open position holds the others."""
    wide = over_heat(frame(**SITE), BOOK.tables)
    for position in ("in the membrane", "above the membrane", "below the membrane"):
        one = over_heat(frame(**SITE, heating_position=position), BOOK.tables)
        for outer, inner in zip(wide, one, strict=True):
            assert np.all(outer.low <= inner.low + 1e-15)
            assert np.all(inner.high <= outer.high + 1e-15)
