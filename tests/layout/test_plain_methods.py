"""The plain methods that the program is measured against: checked as strictly as the program itself.

A comparison is worth nothing if the other side breaks the rules, or is weaker than it need be.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import pytest
from benchmarks.made_rooms import made_rooms
from benchmarks.simple_laying import METHODS, document
from layout_validator import faults
from shapely import box
from shapely.geometry import shape

from undercourse.layout import Sheet

ROOMS = Path(__file__).parents[1] / "data" / "open" / "rooms.geojson"
FEATURES = json.loads(ROOMS.read_text(encoding="utf-8"))["features"]
SHEET = Sheet(1.0, (30.0,), seam_gap_m=0.004, edge_gap_m=0.006, smallest_piece_m=0.3)


@pytest.mark.parametrize("name", METHODS)
def test_plain_method_lays_real_and_drawn_rooms_without_a_fault(name: str) -> None:
    """Every sixth open room and some drawn ones pass the validator of the program's own layouts."""
    method = METHODS[name][1]
    rooms = {one["properties"]["name"]: shape(one["geometry"]) for one in FEATURES[::6]}
    for room, outline in {**rooms, **made_rooms(9)}.items():
        made = document(room, outline, SHEET, method(outline, SHEET))
        assert faults(made, {room: outline}, asdict(SHEET)) == [], room


def test_each_plain_method_is_no_worse_than_the_one_before() -> None:
    """Over some rooms together: what a method adds pays."""
    rooms = list(made_rooms(12).values())
    used = [sum(method(room, SHEET).consumed(SHEET) for room in rooms) for _, method in METHODS.values()]
    assert used == sorted(used, reverse=True)


def test_plain_methods_by_arithmetic() -> None:
    """A floor of 5 by 2.5 m, next to no gaps: 15 m along its long side, 12.5 m with nothing lost."""
    sheet = Sheet(1.0, (30.0,), seam_gap_m=1e-6, edge_gap_m=0.0, smallest_piece_m=0.3)
    floor = box(0, 0, 5, 2.5)
    used = {name: method(floor, sheet).consumed(sheet) for name, (_, method) in METHODS.items()}
    assert used["long side"] == pytest.approx(15.0, abs=1e-3)
    assert used["offcuts"] == pytest.approx(12.5, abs=1e-3)  # across: five strips of 2.5 m
    assert used["head joints"] == pytest.approx(12.5, abs=1e-3)


def test_drawn_rooms_are_the_same_each_time() -> None:
    """One seed, one set; another seed, another."""
    assert made_rooms(5) == made_rooms(5)
    assert made_rooms(5) != made_rooms(5, seed=8)
