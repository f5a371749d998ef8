"""Layouts of real rooms and of random ones, checked by a validator that knows no layout code."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from layout_validator import faults, is_guillotine
from shapely import Polygon, box, get_parts, set_precision, union_all
from shapely.affinity import rotate
from shapely.geometry import shape

from undercourse.layout.document import layout_document
from undercourse.layout.plan import lay_out
from undercourse.layout.sheets import AreaPlan, Sheet

ROOMS = Path(__file__).parents[1] / "data" / "open" / "rooms.geojson"
FEATURES = json.loads(ROOMS.read_text(encoding="utf-8"))["features"]
BUTTED = Sheet(1.0, (14.0,), seam_gap_m=0.003, edge_gap_m=0.006)
WIDE_LEAST = Sheet(1.0, (30.0,), seam_gap_m=0.004, edge_gap_m=0.006, smallest_piece_m=0.3)
LAPPED = Sheet(1.5, (30.0, 20.0), seam_gap_m=-0.05, edge_gap_m=0.0, stagger_m=0.5)


def check(areas: dict[str, Polygon], sheet: Sheet, **options: object) -> dict:
    """Lay out, validate and return the document."""
    plans = [AreaPlan(name, outline) for name, outline in areas.items()]
    document = layout_document(lay_out(plans, sheet, **options))
    json.dumps(document, allow_nan=False)
    assert faults(document, areas, asdict(sheet)) == []
    return document


@pytest.mark.parametrize("feature", FEATURES, ids=lambda feature: feature["properties"]["name"])
def test_lay_out_each_open_room_is_valid(feature):
    """Every open room and floor is covered with gaps kept and cuts possible."""
    outline = shape(feature["geometry"])
    name = feature["properties"]["name"]
    document = check({name: outline}, BUTTED, effort="quick")
    assert not document["uncovered"]
    assert math.isclose(document["net_area_m2"], feature["properties"]["area_m2"], abs_tol=2e-3)


def test_lay_out_leaves_hardly_a_piece_under_the_smallest():
    """A strip ripped along a slanted wall is parted only where both parts stay wide enough.

    One floor of the 60 keeps two such pieces, in the tip of a slanted nook; plain methods keep some on two to
    five (`benchmarks/simple_laying.py`).
    """
    small = []
    for feature in FEATURES:
        document = layout_document(lay_out([AreaPlan("a", shape(feature["geometry"]))], WIDE_LEAST))
        least = min(min(piece["width_m"], piece["length_m"]) for piece in document["pieces"])
        if least < WIDE_LEAST.smallest_piece_m - 1e-4:
            small.append(feature["properties"]["name"])
    assert len(small) <= 1, small


def test_lay_out_all_small_rooms_together_is_valid():
    """Rooms of a job share rolls; labels stay unique; together they use no more than apart."""
    small = {
        f["properties"]["name"]: shape(f["geometry"]) for f in FEATURES if f["properties"]["area_m2"] < 15
    }
    document = check(small, BUTTED, effort="quick")
    whole_rolls_apart = sum(
        layout_document(lay_out([AreaPlan(name, outline)], BUTTED, effort="quick"))["rolls"]
        for name, outline in small.items()
    )
    assert document["rolls"] < whole_rolls_apart


@pytest.mark.parametrize("index", [3, 7, 20, 45, 51, 57])
def test_lay_out_lapped_sheets_with_two_roll_lengths_is_valid(index):
    """Lapped sheets lap by the lap and no more; both roll lengths may be used."""
    outline = shape(FEATURES[index]["geometry"])
    check({"room": outline}, LAPPED, effort="quick")


@pytest.mark.parametrize("index", [7, 34, 43, 50])
def test_lay_out_without_head_joints_is_valid_or_says_why(index):
    """Where head joints are not allowed each strip is one piece, or the area is named as uncovered."""
    sheet = Sheet(1.0, (8.5,), seam_gap_m=0.003, head_joints_allowed=False)
    outline = shape(FEATURES[index]["geometry"])
    document = check({"room": outline}, sheet, effort="quick")
    for entry in document["uncovered"]:
        assert "longest roll" in entry["why"]


@pytest.mark.parametrize("angle", [0, 17, 45, 90, 133.3, 400, -30])
def test_lay_out_at_a_given_direction_keeps_it(angle):
    """A given direction is kept, whatever the edges say."""
    document = check({"room": box(0, 0, 4, 5)}, BUTTED, direction=angle)
    assert math.isclose(document["areas"][0]["direction_deg"], angle % 180)


def test_lay_out_twice_gives_the_same_document():
    """Same input and seed, same layout, to the last digit."""
    areas = {f["properties"]["name"]: shape(f["geometry"]) for f in FEATURES[21:24]}
    assert check(areas, BUTTED, seed=3, effort="quick") == check(areas, BUTTED, seed=3, effort="quick")


def test_lay_out_turned_room_uses_about_the_same():
    """Turning a room turns its layout: waste does not depend on how the plan lies."""
    room = Polygon([(0, 0), (6, 0), (6, 2.3), (3.4, 2.3), (3.4, 5), (0, 5)])
    straight = check({"room": room}, BUTTED)
    turned = check({"room": rotate(room, 23.0, origin=(0, 0))}, BUTTED)
    assert math.isclose(straight["consumed_area_m2"], turned["consumed_area_m2"], rel_tol=2e-3)


def test_lay_out_exact_rectangle_wastes_nothing():
    """Arithmetic: 4 strips of 5 m exactly fill a 4 x 5 m room without gaps, from 2 rolls of 10 m."""
    sheet = Sheet(1.0, (10.0,), seam_gap_m=0.0, edge_gap_m=0.0)
    document = check({"room": box(0, 0, 4, 5)}, sheet)
    assert document["rolls"] == document["roll_bound"] == 2
    assert math.isclose(document["consumed_area_m2"], 20.0)
    assert document["waste"] == 0.0
    # 3 seams of 5 m; a room has 4 inside corners and 18 m of edge.
    area = document["areas"][0]
    assert math.isclose(area["seam_length_m"], 15.0)
    assert (area["inside_corners"], area["outside_corners"], area["edge_length_m"]) == (4, 0, 18.0)


def test_lay_out_rip_uses_the_offcut():
    """Arithmetic: 0.5 m left over twice comes from one width: 5 x 4.5 and 5 x 4.5 m need 45 m, not 50 m."""
    sheet = Sheet(1.0, (50.0,), seam_gap_m=0.0, edge_gap_m=0.0)
    document = check({"a": box(0, 0, 5, 4.5), "b": box(0, 0, 5, 4.5)}, sheet, direction=0.0)
    assert math.isclose(document["consumed_area_m2"], 45.0, abs_tol=1e-3)


def test_lay_out_head_joint_uses_the_roll_end():
    """Arithmetic: strips of 5 m from rolls of 14 m leave 4 m ends, which head joints use: 20, not 24 m2."""
    sheet = Sheet(1.0, (14.0,), seam_gap_m=0.0, edge_gap_m=0.0)
    room = {"room": box(0, 0, 5, 4)}
    assert math.isclose(check(room, sheet, direction=0.0)["consumed_area_m2"], 20.0, abs_tol=1e-3)
    plain = Sheet(1.0, (14.0,), seam_gap_m=0.0, edge_gap_m=0.0, head_joints_allowed=False)
    assert math.isclose(check(room, plain, direction=0.0)["consumed_area_m2"], 24.0, abs_tol=1e-3)


def test_lay_out_around_column_leaves_its_gap():
    """A column has 4 outside corners, and the sheet around it keeps the edge gap and is slit."""
    room = box(0, 0, 4, 4).difference(box(1.7, 1.7, 2.1, 2.1))
    document = check({"room": room}, BUTTED)
    assert document["areas"][0]["outside_corners"] == 4
    assert math.isclose(document["areas"][0]["edge_length_m"], 17.6)


def test_chalk_line_in_a_wedge_has_two_offsets():
    """The wall that is not parallel shows as two different distances of the chalk line."""
    wedge = Polygon([(0, 0), (6, 0), (6, 4.6), (0, 4.0)])
    line = check({"room": wedge}, BUTTED, direction=0.0)["areas"][0]["chalk_line"]
    assert math.isclose(line["right_m"][0], line["right_m"][1], abs_tol=1e-3)
    assert math.isclose(line["left_m"][1] - line["left_m"][0], 0.6, abs_tol=0.01)


@st.composite
def floors(draw: st.DrawFn) -> Polygon:
    """A random floor: overlapping rectangles or a star of walls, turned, less some columns."""
    if draw(st.booleans()):
        sides = st.floats(0.6, 5.0)
        parts = [box(0, 0, draw(sides), draw(sides))]
        for _ in range(draw(st.integers(0, 3))):
            x, y = draw(st.floats(-1.5, 3)), draw(st.floats(-1.5, 3))
            parts.append(box(x, y, x + draw(sides), y + draw(sides)))
        joined = union_all(parts)
        floor = joined if isinstance(joined, Polygon) else max(joined.geoms, key=lambda part: part.area)
    else:
        radii = draw(st.lists(st.floats(0.8, 6.0), min_size=3, max_size=14))
        step = 2 * math.pi / len(radii)
        floor = Polygon([(r * math.cos(i * step), r * math.sin(i * step)) for i, r in enumerate(radii)])
    for _ in range(draw(st.integers(0, 2))):
        spot = floor.representative_point()
        size, shift = draw(st.floats(0.1, 0.6)), draw(st.floats(-1, 1))
        column = box(spot.x + shift, spot.y, spot.x + shift + size, spot.y + size)
        left = floor.difference(column)
        floor = left if isinstance(left, Polygon) and left.is_valid else floor
    turned = rotate(floor, draw(st.sampled_from([0, 0, 10, 33.3])), origin=(0, 0))
    clean = set_precision(turned, 1e-5)
    return max(get_parts(clean), key=lambda part: part.area)


@st.composite
def sheets(draw: st.DrawFn) -> Sheet:
    """A random sheet with rules."""
    return Sheet(
        width_m=draw(st.sampled_from([0.6, 0.95, 1.0, 1.5])),
        roll_lengths_m=draw(st.sampled_from([(5.0,), (14.0,), (30.0, 14.0), (3.0, 10.0)])),
        seam_gap_m=draw(st.sampled_from([0.0, 0.002, 0.005, -0.05])),
        edge_gap_m=draw(st.sampled_from([0.0, 0.003, 0.01])),
        smallest_piece_m=draw(st.sampled_from([0.0, 0.1, 0.25])),
        head_joints_allowed=draw(st.sampled_from([True, True, False])),
        stagger_m=draw(st.sampled_from([0.0, 0.3, 0.6])),
        trim_m=draw(st.sampled_from([0.0, 0.0, 0.02])),
    )


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(st.lists(floors(), min_size=1, max_size=3), sheets())
def test_lay_out_random_floors_is_valid(outlines, sheet):
    """Whatever the floor and the sheet, the layout is valid or says why it is not there."""
    check({f"area {number}": outline for number, outline in enumerate(outlines)}, sheet, effort="quick")


def test_validator_finds_planted_faults():
    """The validator itself can fail: each planted fault is found."""
    areas, sheet = {"room": box(0, 0, 4, 5)}, asdict(BUTTED)
    good = layout_document(lay_out([AreaPlan("room", areas["room"])], BUTTED))

    def spoil(change):
        document = json.loads(json.dumps(good))
        change(document)
        return faults(document, areas, sheet)

    assert spoil(lambda d: None) == []
    assert spoil(lambda d: d["pieces"][0].update(at=[13.9, 0.0]))
    assert spoil(lambda d: d["pieces"][1].update(id=d["pieces"][0]["id"]))
    assert spoil(lambda d: d["pieces"][0].update(length_m=0.5))
    assert spoil(lambda d: d.update(rolls=9))
    assert spoil(lambda d: d["pieces"][0].update(outline=d["pieces"][1]["outline"]))
    assert spoil(lambda d: d["bounds"].update(these_strips=99))
    pinwheel = [(0, 0, 2, 1), (2, 0, 3, 2), (1, 2, 3, 3), (0, 1, 1, 3)]
    assert not is_guillotine(pinwheel)
    assert is_guillotine(pinwheel[:3])
