"""What a look at a line says of crack classes: claims beyond the test, and a stiffness that belies it.

The two openings of ANSI A118.12 are from memory (confidence 75 to 80); the stresses are worked by hand in
each test (kind = derived).
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from small_line import bound, product

from undercourse.advise.auditing import audit
from undercourse.demands import membrane_test
from undercourse.files.shipped import rulebook
from undercourse.line import crack_tests

DAY = dt.date(2026, 11, 25)
TEST = """
[[evidence]]
id = "cracked"
standard = "ANSI A118.12"
laboratory = "Invented"
report = "1"
date = 2025-01-01
tested = [
  { role = "tile class", what = "ceramic", long_edge = "12 in", thickness = "8 mm" },
  { role = "base", what = "split slab" },
]
respects = [{ fact = "crack_width", at_most = "1/8 in" }]

[[limit]]
demand = "crack_width"
at_most = "1/8 in"
because = "So it was tested."
basis = "evidence:cracked"
"""


def sheet(properties: str, test: str = TEST) -> str:
    """A membrane with properties and a crack test."""
    return product("x", f"\n[properties]\n{properties}\n{test}")


def told(tmp_path: Path, text: str) -> list[dict[str, Any]]:
    """What the look says of cracks and shear."""
    faults: list[dict[str, Any]] = audit(bound(tmp_path / "line", {"x.toml": text}), [], DAY)["faults"]
    marks = ("crack_class", "shear_stiffness", "crack_width", "crack_growth")
    found = [row for row in faults if any(mark in row["where"] for mark in marks)]
    return [row for row in found if "no row states" not in row["what"]]


def test_a_stiffness_that_would_have_cracked_the_tested_tile_is_a_fault(tmp_path: Path) -> None:
    """1 N/mm3 x 3.175/2 mm x 152.4 mm / 8 mm = 30.2 MPa, a little less as it gives; 5.1 MPa is borne."""
    [row] = told(tmp_path, sheet('crack_class = "high"\nshear_stiffness = "1 N/mm3"'))
    assert row["severity"] == "fault"
    assert "does not reproduce cracked" in row["what"]
    assert "1/8 in" in row["what"]
    assert "29." in row["what"] or "30." in row["what"]
    assert "5.10 MPa" in row["what"]
    assert "shear_yield" in row["fix"]


@pytest.mark.parametrize(
    "properties",
    [
        'shear_stiffness = "0.16 N/mm3"',  # 4.84 MPa
        'shear_stiffness = "1 N/mm3"\nshear_yield = "0.25 MPa"',  # 0.25 x 152.4 / 8 = 4.76 MPa
        "",
    ],
)
def test_a_sheet_that_reproduces_its_test_is_no_fault(tmp_path: Path, properties: str) -> None:
    """Soft enough, yielding early enough, or without a stated stiffness."""
    assert told(tmp_path, sheet(f'crack_class = "high"\n{properties}')) == []


def test_the_model_is_held_at_the_stated_class_where_the_test_went_further(tmp_path: Path) -> None:
    """Standard class, test to 1/8 in: 0.3 N/mm3 gives 4.5 MPa at 1/16 in and would give 9 at 1/8 in."""
    text = sheet('crack_class = "standard"\nshear_stiffness = "0.3 N/mm3"')
    assert not [row for row in told(tmp_path, text) if "shear_stiffness" in row["where"]]


def test_a_limit_above_class_or_test_is_a_fault(tmp_path: Path) -> None:
    """Class standard (1/16 in) with a limit of 1/8 in; a class above the test's opening."""
    [row] = told(tmp_path, sheet('crack_class = "standard"'))
    assert row["severity"] == "fault"
    assert "class and test go to 1/16 in" in row["what"]
    short = TEST.replace('at_most = "1/8 in" }', 'at_most = "1/16 in" }')
    (tmp_path / "two").mkdir()
    rows = told(tmp_path / "two", sheet('crack_class = "high"', short))
    assert any("stands for 1/8 in" in row["what"] and "1/16 in" in row["what"] for row in rows)


def test_a_limit_on_further_opening_counts_too(tmp_path: Path) -> None:
    """What may still open is a crack like any other."""
    more = (
        TEST
        + """
[[limit]]
demand = "crack_growth"
at_most = "1/4 in"
because = "So it is."
basis = "maker's statement"
"""
    )
    [row] = told(tmp_path, sheet('crack_class = "high"', more))
    assert "class and test go to 1/8 in" in row["what"]


def test_a_class_without_a_test_is_a_note(tmp_path: Path) -> None:
    """Nobody knows how far it opened below which tile."""
    [row] = told(tmp_path, sheet('crack_class = "high"', ""))
    assert row["severity"] == "note"
    assert "no test by ANSI A118.12" in row["what"]


def test_a_test_that_does_not_tell_its_tile_is_a_note(tmp_path: Path) -> None:
    """Without the tile the model cannot be held against the test."""
    blank = TEST.replace('long_edge = "12 in", ', "")
    [row] = told(tmp_path, sheet('crack_class = "high"\nshear_stiffness = "0.1 N/mm3"', blank))
    assert row["severity"] == "note"
    assert "how large" in row["what"]


def test_the_demo_line_reproduces_every_crack_test_it_cites() -> None:
    """Each stated stiffness lets its tested tile live, and no product is good beyond its test."""
    book = rulebook(None)
    held = 0
    for one in book.line.products.values():
        test, stiffness = crack_tests.crack_test(one), one.number("shear_stiffness")
        if test is None or stiffness is None or test.tile_edge_m is None or test.tile_thickness_m is None:
            continue
        held += 1
        opening = crack_tests.tested_opening(one)
        assert opening is not None
        assert opening <= test.opening_m
        plateau = one.number("shear_yield") or np.inf
        case = (opening, test.tile_edge_m, test.tile_thickness_m, stiffness, plateau)
        by_hand = min(stiffness * opening / 2, plateau) * test.tile_edge_m / 2 / test.tile_thickness_m
        bears = membrane_test.tested_tile_bears(book.tables)
        share = membrane_test.own_test_share(*map(np.asarray, case), bears=bears)
        assert share <= 1
        assert share * bears == pytest.approx(by_hand, rel=0.05)
    assert held == 6
