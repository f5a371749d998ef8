"""What the sheet does, as judged: against worked values, finite differences, and its own crack test."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import solve_banded

from undercourse.assembly.candidates import Assembler
from undercourse.base.columns import Columns, NumberColumn, spec_column
from undercourse.base.domains import read_spec
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS, Tables
from undercourse.demands.record import MEMORY
from undercourse.files.shipped import rulebook
from undercourse.judge.rulebook import unfit_limits
from undercourse.line.practice import read_practice

BOOK = rulebook(None)
INCH = 0.0254
# Tile of one stiffness and strength, so that each number has one answer.
ONE_TILE = replace(
    BOOK.tables,
    ranges={
        **BOOK.tables.ranges,
        "tile_modulus": {**BOOK.tables.ranges["tile_modulus"], "porcelain": (60e9, 60e9)},
    },
)
TILE = {"finish": "porcelain", "tile_thickness": "10 mm", "tile_long_edge": "300 mm"}
TESTED = {
    "membrane_tested_opening": "1/8 in",
    "membrane_tested_tile_edge": "12 in",
    "membrane_tested_tile_thickness": "8 mm",
}
NAMES = [name for name, demand in DEMANDS.items() if demand.subject == "membrane"]


def floor(facts: dict[str, str], **numbers: float) -> Frame:
    """One floor from what people write and from numbers in SI."""
    columns = Columns(BOOK.domains, 1)
    for name, text in facts.items():
        columns[name] = spec_column(read_spec(BOOK.domains[name], text))
    for name, number in numbers.items():
        columns[name] = NumberColumn(np.array([number]), np.array([number]))
    return Frame(columns)


def ends(name: str, frame: Frame, tables: Tables = ONE_TILE) -> tuple[float, float]:
    """Least and greatest value of a demand."""
    found = DEMANDS[name].value(frame, tables)
    return float(found.low[0]), float(found.high[0])


def sure(name: str, frame: Frame) -> tuple[bool, bool]:
    """Whether a demand's formula may hold and surely holds."""
    truth = DEMANDS[name].validity(frame, ONE_TILE)
    return bool(np.all(truth.may)), bool(np.all(truth.must))


@pytest.mark.parametrize(
    ("opening", "edge", "stiffness", "expected"),
    [
        (0.3, 300, 1.0, 2.222),  # free edge at 150 mm; finite differences 2.2223
        (0.3, 300, 0.1, 0.225),
        (0.3, 4000, 0.1, 0.3e-3 / 0.02 * np.sqrt(1e8 * 60e9 * 0.01) * np.tanh(2 * 0.4082483) / 1e6),
    ],
)
def test_pull_over_a_crack_is_the_worked_one(opening, edge, stiffness, expected):
    """kind = derived: crack form of the Volkersen equation, 60 GPa, 10 mm, checked by finite differences.

    The least value: grout passes nothing on. At most 3 MPa more where it does (from memory, 60 %).
    """
    frame = floor(
        {**TILE, **TESTED, "membrane_shear_yield": "5 MPa", "tile_long_edge": f"{edge} mm"},
        crack_growth=opening * 1e-3,
        membrane_shear_stiffness=stiffness * 1e9,
    )
    low, high = ends("crack_tile_stress", frame)
    assert low == pytest.approx(expected * 1e6, rel=5e-3)
    assert high == pytest.approx(low + 3e6)


def slip(length: float, layer: float, plateau: float, start: float, end_slope: float) -> np.ndarray:
    """Slip of tile of 60 GPa, 10 mm by central differences, the layer yielding where it must."""
    cells = 3000
    step = length / cells
    over = np.zeros(cells + 1, dtype=bool)
    for _ in range(100):
        bands, right = np.zeros((3, cells + 1)), np.where(over, plateau / 6e8 * step**2, 0.0)
        bands[0, 1:], bands[2, :-1] = 1.0, 1.0
        bands[1] = -2.0 - np.where(over, 0.0, layer / 6e8 * step**2)
        bands[1, 0], bands[0, 1], right[0] = 1.0, 0.0, start
        bands[2, -2] = 2.0
        right[-1] -= 2 * step * end_slope
        found = solve_banded((1, 1), bands, right)
        if np.array_equal(layer * found > plateau, over):
            return found
        over = layer * found > plateau
    raise AssertionError("the yielded part did not settle")


@pytest.mark.parametrize("stiffness", [0.02, 0.12, 0.4])
@pytest.mark.parametrize("opening", [0.4, 1.5875, 3.175])
def test_a_yielding_sheet_agrees_with_finite_differences(stiffness, opening):
    """kind = derived: the pull of the solved equation, 12 in tile, yield 0.1 MPa; within 1 %, never below."""
    frame = floor(
        {**TILE, **TESTED, "membrane_shear_yield": "0.1 MPa", "tile_long_edge": "12 in"},
        crack_growth=opening * 1e-3,
        membrane_shear_stiffness=stiffness * 1e9,
    )
    half = 6 * INCH
    found = slip(half, stiffness * 1e9, 1e5, opening * 0.5e-3, 0.0)
    shear = np.minimum(stiffness * 1e9 * found, 1e5)
    pull = (shear.sum() - (shear[0] + shear[-1]) / 2) * half / 3000 / 0.01
    low, _ = ends("crack_tile_stress", frame)
    assert pull * (1 - 1e-4) <= low <= pull * 1.01
    peak, most = ends("crack_layer_shear", frame)
    assert peak == most == pytest.approx(min(stiffness * opening / 2 * 1e6, 1e5))


@pytest.mark.parametrize(
    ("half", "middle", "edge"),
    [(0.15, 0.167, 0.0224), (0.5, 1.725, 0.0702), (1.5, 9.40, 0.1444), (3.0, 15.68, 0.1629)],
)
def test_shrinking_base_is_the_worked_one(half, middle, edge):
    """kind = derived: Chen and Nelson 1979 (form from memory, 95 %), 300e-6, K 0.5 N/mm3, rigid base."""
    frame = floor(
        {**TILE, **TESTED, "membrane_shear_yield": "5 MPa"},
        movement_joint_spacing=2 * half,
        membrane_shear_stiffness=0.5e9,
    )
    frame.give("shrinkage to come", NumberColumn(np.array([300e-6]), np.array([300e-6])))
    assert ends("shrinkage_tile_stress", frame)[1] == pytest.approx(middle * 1e6, rel=5e-3)
    assert ends("shrinkage_edge_shear", frame)[1] == pytest.approx(edge * 1e6, rel=5e-3)


def test_fully_bonded_field_comes_to_full_restraint():
    """kind = derived: E times strain, 60 GPa x 300e-6 = 18 MPa, whatever the mortar."""
    frame = floor(TILE, movement_joint_spacing=6.0)
    frame.give("shrinkage to come", NumberColumn(np.array([300e-6]), np.array([300e-6])))
    assert ends("shrinkage_tile_stress_bonded", frame) == pytest.approx((18e6, 18e6), rel=1e-3)


def test_bent_panel_pulls_and_bends_the_tile():
    """kind = derived: composite section, mortar so stiff that plane sections stay plane: E k (H/2 + t).

    18 mm of panel, tile 60 GPa, 10 mm, curvature 0.01 1/m: 60e9 x 0.01 x (9 + 10) mm = 11.4 MPa at the top of
    long tile, of which 60e9 x 0.01 x 5 mm = 3 MPa is bending that no sheet takes away.
    """
    frame = floor({**TILE, **TESTED, "tile_long_edge": "3 m"}, panel_total_thickness=0.018)
    frame.give("curvature over a joist", NumberColumn(np.array([0.01]), np.array([0.01])))
    assert ends("bending_tile_stress_bonded", frame) == pytest.approx((11.4e6, 11.4e6), rel=2e-3)
    soft = floor(
        {**TILE, **TESTED, "membrane_shear_yield": "5 MPa"},
        panel_total_thickness=0.018,
        membrane_thickness=0.003,
        membrane_shear_stiffness=1e6,
    )
    soft.give("curvature over a joist", NumberColumn(np.array([0.01]), np.array([0.01])))
    assert ends("bending_tile_stress", soft) == pytest.approx((3e6, 3e6), rel=1e-3)


def test_transfer_length_is_the_worked_one():
    """kind = derived: sqrt(E t / K), 775 mm at 1 N/mm3; mortar alone a hundredth and less of soft sheets."""
    frame = floor(TILE, membrane_shear_stiffness=1e9)
    assert ends("transfer_length", frame) == pytest.approx((0.7746, 0.7746), rel=1e-3)
    assert ends("transfer_length_bonded", frame)[1] < 0.1


def demo_frames() -> dict[str, Frame]:
    """Every membrane of the demo line on one cracked slab."""
    columns = Columns(BOOK.vocabulary.domains, 1)
    said = {**TILE, "base": "slab on ground", "tile_absorption": "0.3 %", "crack_growth": "1/16 in"}
    for name, text in said.items():
        columns[name] = spec_column(read_spec(BOOK.domains[name], text))
    maker = Assembler(BOOK.line, BOOK.practice, BOOK.made_so, Frame(columns), BOOK.line.date)
    return {one.id: maker.with_membrane(one).frame for one in BOOK.line.of_role("membrane", BOOK.line.date)}


def test_every_sheet_of_the_demo_spares_the_tile_against_fully_bonded():
    """Side by side: with each membrane the tile is pulled less than bonded, and softer sheets pull less."""
    pulls = {}
    for name, frame in demo_frames().items():
        with_sheet = ends("crack_tile_stress", frame, BOOK.tables)
        bonded = ends("crack_tile_stress_bonded", frame, BOOK.tables)
        assert with_sheet[1] < bonded[0]
        pulls[name] = with_sheet[0]
    assert pulls["high-meadow-8"] < pulls["low-meadow-3"] < pulls["hedgerow-crack"]


def test_only_sheets_with_a_crack_test_have_numbers_on_cracks():
    """No class, or a class of none: not valid here. A class below the opening: not valid here either."""
    frames = demo_frames()
    assert sure("crack_tile_stress", frames["high-meadow-8"]) == (True, True)
    assert sure("crack_tile_stress", frames["low-meadow-3"]) == (True, True)
    assert not sure("crack_tile_stress", frames["inglenook-heat"])[0]
    assert not sure("crack_tile_stress", frames["millrace-sheet"])[1]


@pytest.mark.parametrize(
    ("opening", "holds"), [("0 in", True), ("1/16 in", True), ("1/8 in", True), ("0.13 in", False)]
)
def test_nothing_is_said_beyond_the_tested_opening(opening, holds):
    """Both ends of the class: from nothing to 1/8 in, and not above, whatever the model says."""
    frame = floor(
        {**TILE, **TESTED, "crack_growth": opening, "membrane_shear_yield": "0.1 MPa"},
        membrane_shear_stiffness=1e8,
    )
    for name in ("crack_tile_stress", "crack_tile_share", "crack_layer_shear"):
        assert sure(name, frame) == (holds, holds)
    below = floor({**TILE, **TESTED, "membrane_tested_opening": "1/16 in", "crack_growth": "3/32 in"})
    assert not sure("crack_tile_stress", below)[0]


@pytest.mark.parametrize(
    ("stiffness", "plateau", "holds"), [(0.16, 5.0, True), (0.18, 5.0, False), (0.18, 0.2, True)]
)
def test_a_sheet_whose_stiffness_belies_its_test_has_no_numbers(stiffness, plateau, holds):
    """kind = derived: K w l / 2t at 1/8 in under 12 in tile of 8 mm is 4.8 MPa at 0.16 and 5.4 at 0.18 N/mm3.

    The weakest pressed tile bears 12 MPa in bending (EN 14411, group BIII, thin) and 0.425 of it in even
    tension (weakest link, modulus 5): 5.1 MPa. With a yield of 0.2 MPa it is y l / t = 3.8 MPa.
    """
    by_hand = min(stiffness * 3.175 / 2, plateau) * 152.4 / 8
    assert (by_hand <= 12 * 0.425) is holds
    frame = floor(
        {**TILE, **TESTED, "crack_growth": "0.02 in"},
        membrane_shear_stiffness=stiffness * 1e9,
        membrane_shear_yield=plateau * 1e6,
    )
    for name in ("crack_tile_stress", "shrinkage_tile_stress", "shrinkage_edge_shear", "bending_tile_stress"):
        assert sure(name, frame) == (holds, holds)


def test_twice_the_opening_pulls_twice_until_the_sheet_yields():
    """Scaling: linear below the yield slip, flat once it yields all along."""
    pulls = []
    for opening in (0.5e-3, 1e-3, 2.9e-3, 3.1e-3):
        frame = floor(
            {**TILE, **TESTED, "membrane_shear_yield": "0.1 MPa"},
            crack_growth=opening,
            membrane_shear_stiffness=1e8,
        )
        pulls.append(ends("crack_tile_stress", frame)[0])
    assert pulls[1] == pytest.approx(2 * pulls[0])
    assert pulls[3] == pytest.approx(pulls[2])


def test_all_of_it_rests_on_memory_and_no_maker_may_promise_it():
    """Each says so in its source, and a product's limit on one is refused when a line is read."""
    for name in NAMES:
        assert DEMANDS[name].rests_on == MEMORY
        assert "from memory" in DEMANDS[name].source
    product = BOOK.line.products["high-meadow-8"]
    limit = replace(product.limits[0], demand="crack_tile_share", product=product.id)
    line = replace(BOOK.line, products={product.id: replace(product, limits=(limit,))})
    assert unfit_limits(line, read_practice([], BOOK.domains))


def test_a_peak_is_never_called_a_pass():
    """Every number on shear says that a peak is not a bond strength, and every number on cracks its class."""
    for name in NAMES:
        said = " ".join(DEMANDS[name].cautions)
        if "shear" in name:
            assert "no pass" in said
        if name.startswith("crack") and "bonded" not in name:
            assert "beyond the opening of the membrane's own crack test" in said
