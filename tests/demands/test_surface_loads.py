"""Wheels and feet as judged: published contact pressures and slab stresses, groups of tile, limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from undercourse.base.columns import Columns, NumberColumn, spec_column
from undercourse.base.domains import read_spec
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS, Tables, surface_load_parts
from undercourse.demands.record import MEMORY
from undercourse.demands.tiles import tile_strength, tile_tension
from undercourse.files.shipped import rulebook

BOOK = rulebook(None)
PSI, LBF, INCH = 6894.757293168, 4.4482216152605, 0.0254
NAMES = [name for name in DEMANDS if name.startswith(("wheel_", "foot_"))]


def floor(facts: dict[str, str], **numbers: float) -> Frame:
    """One floor from what people write and from numbers in SI."""
    columns = Columns(BOOK.domains, 1)
    for name, text in facts.items():
        columns[name] = spec_column(read_spec(BOOK.domains[name], text))
    for name, number in numbers.items():
        columns[name] = NumberColumn(np.array([number]), np.array([number]))
    return Frame(columns)


def tables(**ranges: dict[str, float]) -> Tables:
    """The shipped tables with single values in place of ranges."""
    changed = {
        quantity: {**BOOK.tables.ranges[quantity], **{key: (one, one) for key, one in values.items()}}
        for quantity, values in ranges.items()
    }
    return replace(BOOK.tables, ranges={**BOOK.tables.ranges, **changed})


def ends(name: str, frame: Frame, given: Tables = BOOK.tables) -> tuple[float, float]:
    """Least and greatest value of a demand."""
    found = DEMANDS[name].value(frame, given)
    return float(found.low[0]), float(found.high[0])


@pytest.mark.parametrize(("pounds", "peak_psi"), [(14400, 41408), (1680, 14144)])
def test_steel_roller_on_concrete_presses_as_printed(pounds, peak_psi):
    """kind = published: engineering forum thread, steel roller 6 in diameter by 3 in on 4000 psi concrete.

    12,000 lb (with its factor of 1.2) gives a peak of 41,408 psi, 1,400 lb 14,144 psi. The mean is pi/4 of
    it. E of concrete 57,000 sqrt(4000) psi (ACI 318), of steel 29e6 psi; Poisson 0.2 of concrete is not
    printed. The least value of the demand: standing still, steel at Poisson 0.3.
    """
    frame = floor(
        {"wheels": "steel", "finish": "cement tile", "wheel_width": "3 in", "wheel_diameter": "6 in"},
        wheel_load=pounds * 0.45359237,
    )
    given = tables(tread_modulus={"steel": 29e6 * PSI}, tile_modulus={"cement tile": 57000 * 4000**0.5 * PSI})
    assert ends("wheel_contact_pressure", frame, given)[0] == pytest.approx(
        np.pi / 4 * peak_psi * PSI, rel=2e-3
    )


def test_moving_adds_the_printed_factor():
    """kind = published: cornering 1.4, one engineer's figures (structural engineers' mail list, 2004).

    Pressure goes with the square root of the load; tread of one stiffness but for its Poisson ratio.
    """
    frame = floor(
        {"wheels": "steel", "finish": "porcelain"}, wheel_load=100.0, wheel_width=0.05, wheel_diameter=0.1
    )
    low, high = ends(
        "wheel_contact_pressure",
        frame,
        tables(tread_modulus={"steel": 2e11}, tile_modulus={"porcelain": 1e30}),
    )
    assert high / low == pytest.approx(np.sqrt(1.4 * (1 - 0.09) / (1 - 0.25)))


def test_slab_under_a_foot_is_the_textbook_slab(monkeypatch):
    """kind = memory (confidence 93): Huang, Pavement Analysis and Design, examples 4.2 to 4.4.

    10,000 lb on a circle of 6 in radius, 10 in thick, 4e6 psi, Poisson 0.15, 100 pci: edge 279.4 psi, inside
    143.7 psi. Inputs on a public course page.
    """
    monkeypatch.setattr(surface_load_parts, "POISSON", 0.15)
    facts = {"finish": "cement tile", "tile_thickness": "6 in", "wheels": "steel"}
    frame = floor(
        facts,
        point_load=10000 * 0.45359237,
        point_load_width=12 * INCH,
        tile_thickness=10 * INCH,
        membrane_bed_modulus=100 * LBF / INCH**3,
    )
    given = tables(tile_modulus={"cement tile": 4e6 * PSI}, tile_strength={"cement tile": PSI})
    assert ends("foot_tile_share", frame, given) == pytest.approx((279.4, 279.4), rel=2e-3)
    # A wheel of 1 m whose contact has the area of that circle: a strip 6 in long on a tread pi x 6 in wide.
    values = {
        "wheel_load": 10000 * 0.45359237,
        "wheel_width": np.pi * 6 * INCH,
        "wheel_diameter": 1.0,
        "dynamic": 1.0,
        "contact_modulus": 2 * 10000 * LBF * 1.0 / (np.pi * np.pi * 6 * INCH * (3 * INCH) ** 2),
        "tile_thickness": 10 * INCH,
        "tile_modulus": 4e6 * PSI,
        "membrane_bed_modulus": 100 * LBF / INCH**3,
        "tile_strength": PSI,
    }
    inside, _ = DEMANDS["wheel_tile_share_inside"].kernel(
        {key: np.array([one]) for key, one in values.items()}
    )
    assert inside[0] == pytest.approx(143.7, rel=3e-3)


def test_pressure_on_the_sheet_is_the_lesser_of_two_spreads():
    """Worked by hand, with 3/32 in of mortar.

    Wide tile on a soft sheet: 1.205 P / l2 (Ioannides 1985, from memory, 95 %); on a hard one the cone of 45
    degrees (common practice, no source).
    """
    tile = {"finish": "porcelain", "tile_thickness": "10 mm", "tile_short_edge": "600 mm"}
    given = tables(tile_modulus={"porcelain": 60e9})
    soft = floor(tile, point_load=100.0, point_load_width=0.01, membrane_bed_modulus=1e9)
    reach = (60e9 * 1e-6 / (12 * 0.96 * 1e9)) ** 0.25
    assert ends("foot_membrane_pressure", soft, given)[1] == pytest.approx(
        1.205 * 980.665 / reach**2, rel=2e-3
    )
    hard = floor(tile, point_load=100.0, point_load_width=0.01, membrane_bed_modulus=1e13)
    side = 0.01 * np.sqrt(np.pi) / 2
    assert ends("foot_membrane_pressure", hard, given)[1] == pytest.approx(
        980.665 / (side + 0.010 + 0.00238) ** 2, rel=1e-6
    )


@pytest.mark.parametrize(
    ("finish", "absorption", "thickness", "least_mpa"),
    [
        ("porcelain", "0.4 %", "9 mm", 35),
        ("ceramic", "2 %", "9 mm", 30),
        ("ceramic", "5 %", "9 mm", 22),
        ("ceramic", "8 %", "9 mm", 18),
        ("ceramic", "15 %", "9 mm", 15),
        ("ceramic", "15 %", "6 mm", 12),
        ("ceramic", "?", "9 mm", 15),
        ("ceramic | natural stone", "0.4 %", "9 mm", 2.4),
        ("porcelain", "?", "9 mm", 35),
    ],
)
def test_least_strength_goes_by_group(finish, absorption, thickness, least_mpa):
    """kind = published: ISO 13006 by absorption (8 % from memory, 92 %); stone by ASTM C616, 350 psi."""
    frame = floor({"finish": finish, "tile_absorption": absorption, "tile_thickness": thickness})
    assert tile_strength(frame, BOOK.tables).low[0] == pytest.approx(least_mpa * 1e6, rel=6e-3)
    assert tile_tension(frame, BOOK.tables).high[0] < tile_strength(frame, BOOK.tables).high[0]


WHEEL = {"wheels": "steel", "wheel_width": "2 in", "wheel_diameter": "4 in", "finish": "porcelain",
         "tile_thickness": "10 mm", "tile_short_edge": "12 in", "tile_absorption": "0.3 %"}  # fmt: skip


def test_a_pallet_jack_on_a_soft_mat_breaks_tile_and_a_chair_does_not():
    """A steel wheel of 1,000 kg on a 2 N/mm3 mat is surely too much; a person on a chair leg is not."""
    frame = floor({**WHEEL, "membrane_bed_modulus": "2 N/mm3"}, wheel_load=1000.0)
    assert ends("wheel_tile_share_inside", frame)[0] > 1
    assert ends("wheel_tile_share", frame)[0] > ends("wheel_tile_share_inside", frame)[0]
    chair = floor({**WHEEL, "membrane_bed_modulus": "30 N/mm3"}, point_load=25.0, point_load_width=0.03)
    assert ends("foot_tile_share", chair)[1] < 1


def test_a_car_tire_bends_tile_less_than_the_same_load_on_a_steel_wheel():
    """Wide soft tread: the bound of wide patches counts, far below the stress of a point."""
    tire = {**WHEEL, "wheels": "soft rubber", "wheel_width": "7 in", "wheel_diameter": "25 in"}
    shares = []
    for facts in (tire, {**tire, "wheels": "steel"}):
        frame = floor({**facts, "membrane_bed_modulus": "30 N/mm3"}, wheel_load=450.0)
        shares.append(ends("wheel_tile_share", frame))
    assert shares[0][1] < 1
    assert shares[0][1] < shares[1][0]


@pytest.mark.parametrize(
    ("diameter", "holds"), [(0.071, (True, True)), (0.068, (True, False)), (0.040, (False, False))]
)
def test_a_tread_that_flattens_too_far_is_outside_hertz(diameter, holds):
    """kind = derived: half the strip over the radius is sqrt(8 P / (pi W D E)), at most 0.3.

    50 kg on 2 in of 5 MPa: with 1.4 for moving and E / 0.91 it is 0.3 at D = 69.5 mm, standing still and with
    E / 0.75 at 41.0 mm. Between the two nothing is sure.
    """
    frame = floor(
        {**WHEEL, "wheels": "soft rubber", "membrane_bed_modulus": "5 N/mm3"},
        wheel_load=50.0,
        wheel_diameter=diameter,
    )
    given = tables(tread_modulus={"soft rubber": 5e6}, tile_modulus={"porcelain": 1e30})
    truth = DEMANDS["wheel_contact_pressure"].validity(frame, given)
    assert (bool(np.all(truth.may)), bool(np.all(truth.must))) == holds


@pytest.mark.parametrize(("bed", "holds"), [("2 N/mm3", True), ("1000 N/mm3", False)])
def test_tile_on_a_bed_as_hard_as_mortar_is_outside_the_plate(bed, holds):
    """Reach over thickness at least 1.75: a mat, and mortar alone."""
    frame = floor({**WHEEL, "membrane_bed_modulus": bed}, wheel_load=100.0)
    for name in ("wheel_tile_share", "wheel_tile_share_inside"):
        truth = DEMANDS[name].validity(frame, BOOK.tables)
        assert (bool(np.all(truth.may)), bool(np.all(truth.must))) == (holds, holds)


def test_open_wheel_details_leave_wide_ranges():
    """Only material and load known: the contact may be anything from a tire's to a knife's."""
    frame = floor({"wheels": "hard rubber", "wheel_load": "250 lb", "finish": "porcelain"})
    low, high = ends("wheel_contact_pressure", frame)
    assert high > 100 * low


def test_the_floor_load_class_is_never_computed():
    """It reads the use and the kind of wheel, no load and no stress; every sheet of ours says so."""
    assert set(DEMANDS["floor_load_class"].reads) == {"occupancy", "wheels"}
    for name in NAMES:
        if "tile_share" in name:
            assert any("Not the floor-load class" in said for said in DEMANDS[name].cautions)


def test_all_of_it_rests_on_memory():
    """No maker may promise on these numbers."""
    assert len(NAMES) == 6
    for name in NAMES:
        assert DEMANDS[name].rests_on == MEMORY
