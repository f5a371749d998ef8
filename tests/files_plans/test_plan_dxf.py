"""Drawings: every kind of line closes, blocks turn and grow, layers are chosen, doors and columns are known.

Lengths and areas are worked out by hand beside each case; the general library that wrote the drawings
(its `explode` and flattening) is the other side of the comparison where a shape has no plain formula.
"""

from __future__ import annotations

import math
from itertools import pairwise

import ezdxf
import pytest
from shapely import Polygon

from undercourse.files import dxf_loading
from undercourse.files.dxf_curves import arc_points, bulge_points

from .made import OPEN, SQUARE, areas_of, as_bytes, drawing, plan_of, told


def test_gap_in_an_outline_is_closed_and_listed():
    """A polyline whose ends miss by 3 mm is closed; where and by how much is told."""
    document, space = drawing(4)
    space.add_lwpolyline([(3, 0), (4000, 0), (4000, 3000), (0, 3000), (0, 0)])
    [area] = areas_of(document)
    assert area.polygon.area == pytest.approx(12.0, rel=1e-3)
    [repair] = area.repairs
    assert repair.size_m == pytest.approx(0.003)
    assert repair.at == pytest.approx((0.003, 0.0))


def test_gap_too_wide_is_an_open_outline():
    """An outline that is open by a whole side is not closed in silence: its ends are named."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, dxfattribs={"layer": "ROOMS"})
    space.add_lwpolyline([(10, 0), (13, 0), (13, 3), (10, 3)], close=True, dxfattribs={"layer": "ROOMS"})
    space.add_text("Den", height=0.2).set_placement((1, 1))
    space.add_text("Hall", height=0.2).set_placement((11, 1))
    text = told(lambda: areas_of(document), 'outline "Den"', "open by 3.000 m", "(0.000, 3.000)")
    assert "Hall" not in text
    [hall] = areas_of(document, "Hall")
    assert hall.polygon.area == pytest.approx(9.0)
    told(lambda: areas_of(document, "Den"), "open by")


def test_line_that_stops_short_of_another_is_drawn_up_to_it():
    """A dividing wall that ends 4 mm before the outer one still makes two rooms."""
    document, space = drawing(4)
    for start, end in [
        ((0, 0), (6000, 0)), ((6000, 0), (6000, 3000)), ((6000, 3000), (0, 3000)), ((0, 3000), (0, 0)),
        ((2000, 4), (2000, 2996)),
    ]:  # fmt: skip
        space.add_line(start, end)
    for name, x in (("Left", 500), ("Right", 4000)):
        space.add_text(name, height=200).set_placement((x, 1000))
    areas = {area.name: area for area in areas_of(document)}
    assert areas["Left"].polygon.area == pytest.approx(6.0)
    assert areas["Right"].polygon.area == pytest.approx(12.0)
    assert {repair.what for repair in areas["Left"].repairs} == {"a line was drawn up to another"}


def test_short_lines_of_a_curve_do_not_melt_together():
    """A circle of 1,800 lines of 3.5 mm each, below the tolerance, keeps its area pi r2."""
    document, space = drawing(4)
    turns = [k * math.tau / 1800 for k in range(1800)]
    corners = [(1000 * math.cos(turn), 1000 * math.sin(turn)) for turn in turns]
    for one, other in zip(corners, corners[1:] + corners[:1], strict=True):
        space.add_line(one, other)
    space.add_line((3000, 0), (4000, 0))
    [area] = areas_of(document, unit="mm")
    assert area.polygon.area == pytest.approx(math.pi, rel=1e-3)


def test_lines_arcs_and_splines_join():
    """Two lines, half a circle and a spline: 4 x 2 m, half a disc, and the library's own flattening."""
    document, space = drawing()
    space.add_line((0, 0), (4, 0))
    space.add_arc((4, 1), 1, 270, 90)
    space.add_line((4, 2), (0, 2))
    spline = space.add_spline([(0, 2), (-0.4, 1.5), (-0.4, 0.5), (0, 0)])
    [area] = areas_of(document)
    bow = Polygon([(p.x, p.y) for p in spline.flattening(1e-5)]).area
    assert area.polygon.area == pytest.approx(8 + math.pi / 2 + bow, rel=2e-3)
    assert bow > 0.3


def test_ellipse_is_a_room():
    """Half axes of 3 and 2 m: pi a b."""
    document, space = drawing()
    space.add_ellipse((10, 10), (3, 0), 2 / 3)
    [area] = areas_of(document)
    assert area.polygon.area == pytest.approx(math.pi * 6, rel=1e-3)


def test_old_polylines_of_release_12_are_read():
    """POLYLINE with vertices and a bulge: 4 x 2 m and half a disc of 1 m radius."""
    document, space = drawing(release="R12")
    space.add_polyline2d([(0, 0, 0), (4, 0, 1), (4, 2, 0), (0, 2, 0)], format="xyb", close=True)
    [area] = areas_of(document, unit="m")
    assert area.polygon.area == pytest.approx(8 + math.pi / 2, rel=1e-3)
    told(lambda: plan_of(document), "does not say its unit")


@pytest.mark.parametrize("bulge", [1.0, -1.0, 0.41421356, -0.2, 2.5])
def test_bulges_agree_with_the_general_library(bulge):
    """Length and area of an arc by bulge against the library that wrote the format's reader."""
    points = bulge_points([(0, 0, bulge), (4, 1, 0), (4, 3, 0)], True, 1e-4)
    _, space = drawing()
    line = space.add_lwpolyline([(0, 0, bulge), (4, 1, 0), (4, 3, 0)], format="xyb", close=True)
    expected = Polygon([(p.x, p.y) for p in ezdxf.path.make_path(line).flattening(1e-5)])
    assert Polygon(points).area == pytest.approx(expected.area, rel=1e-3)
    assert Polygon(points).length == pytest.approx(expected.length, rel=1e-3)


def test_arcs_stay_within_the_chord():
    """Middles of chords are no farther from the circle than asked."""
    points = arc_points((0, 0), 5.0, 30.0, 200.0, 0.001)
    middles = [((a + c) / 2, (b + d) / 2) for (a, b), (c, d) in pairwise(points)]
    assert all(5.0 - 0.001001 <= math.hypot(*middle) <= 5.0 for middle in middles)
    assert math.atan2(points[0][1], points[0][0]) == pytest.approx(math.radians(30))


def test_blocks_in_blocks_are_turned_grown_and_mirrored():
    """A 3 x 2 m room, doubled, in a block that is placed turned by 30 degrees, and once mirrored."""
    document, space = drawing()
    inner = document.blocks.new("INNER")
    inner.add_lwpolyline([(0, 0), (3, 0), (3, 2), (0, 2)], close=True)
    outer = document.blocks.new("OUTER")
    outer.add_blockref("INNER", (1, 1), dxfattribs={"xscale": 2, "yscale": 2, "zscale": 2})
    space.add_blockref("OUTER", (10, 0), dxfattribs={"rotation": 30, "layer": "ROOMS"})
    space.add_blockref("OUTER", (-10, 0), dxfattribs={"xscale": -1, "layer": "ROOMS"})
    first, second = areas_of(document, layers=("rooms",))
    assert first.polygon.area == pytest.approx(24.0)
    assert second.polygon.area == pytest.approx(24.0)
    turn = math.radians(30)
    spot = (10 + math.cos(turn) - math.sin(turn), math.sin(turn) + math.cos(turn))
    assert min(math.dist(spot, corner) for corner in first.polygon.exterior.coords) < 1e-6
    assert second.polygon.bounds == pytest.approx((-17, 1, -11, 5))


def test_block_placed_in_rows_and_columns_is_counted_each_time():
    """Two columns by three rows of one room are six areas."""
    document, space = drawing()
    block = document.blocks.new("UNIT")
    block.add_lwpolyline([(0, 0), (3, 0), (3, 2), (0, 2)], close=True)
    grid = {"column_count": 2, "row_count": 3, "column_spacing": 5, "row_spacing": 4}
    space.add_blockref("UNIT", (0, 0), dxfattribs=grid)
    assert len(areas_of(document)) == 6


def test_attributes_of_a_block_name_the_room():
    """A room tag with an attribute is a name like any text."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, close=True)
    tag = document.blocks.new("TAG")
    tag.add_attdef("NAME", (0, 0))
    placed = space.add_blockref("TAG", (1, 1))
    placed.add_attrib("NAME", "Scullery", (1, 1))
    assert [area.name for area in areas_of(document)] == ["Scullery"]


def test_layers_by_pattern():
    """Several layers by one pattern, whatever the case; two patterns; none that matches."""
    document, space = drawing()
    for number, layer in enumerate(("A-ROOM-WET", "A-ROOM-DRY", "OTHER")):
        ring = [(x + 5 * number, y) for x, y in SQUARE]
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})
    assert len(areas_of(document, layers=("a-room*",))) == 2
    assert len(areas_of(document, layers=("other", "*wet"))) == 2
    told(lambda: plan_of(document, layers=("X*",)), "A-ROOM-WET", "X*")


def test_columns_on_their_own_layer_and_inside_are_obstacles():
    """A round column of 0.4 m on a layer of columns, a square one inside the room, one half in the wall."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, close=True, dxfattribs={"layer": "ROOMS"})
    space.add_lwpolyline([(2, 2), (2.5, 2), (2.5, 2.5), (2, 2.5)], close=True, dxfattribs={"layer": "ROOMS"})
    space.add_circle((1, 1), 0.2, dxfattribs={"layer": "S-COLS"})
    half = [(3.8, 1), (4.2, 1), (4.2, 1.4), (3.8, 1.4)]
    space.add_lwpolyline(half, close=True, dxfattribs={"layer": "S-COLS"})
    plan = plan_of(document)
    [area] = plan.areas
    assert area.polygon.area == pytest.approx(12 - 0.25 - math.pi * 0.04 - 0.08, rel=1e-3)
    assert len(area.polygon.interiors) == 2
    assert any("S-COLS" in note for note in plan.notes)


def test_frame_around_named_rooms_is_left_out_and_said():
    """The outline of the house around two named rooms is no third room of walls."""
    document, space = drawing()
    space.add_lwpolyline([(-1, -1), (12, -1), (12, 4), (-1, 4)], close=True)
    for number, name in enumerate(("Kitchen", "Pantry")):
        space.add_lwpolyline([(x + 5 * number, y) for x, y in SQUARE], close=True)
        space.add_text(name, height=0.2).set_placement((1 + 5 * number, 1))
    plan = plan_of(document)
    assert [area.name for area in plan.areas] == ["Kitchen", "Pantry"]
    assert any("around named areas" in note for note in plan.notes)


def test_named_room_in_a_room_is_cut_out_of_it():
    """A closet with a name inside a bedroom is an area of its own and no part of the bedroom."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, close=True)
    space.add_lwpolyline([(0, 0), (1, 0), (1, 1), (0, 1)], close=True)
    space.add_text("Bedroom", height=0.2).set_placement((2, 2))
    space.add_text("Closet", height=0.2).set_placement((0.2, 0.5))
    areas = {area.name: area.polygon.area for area in areas_of(document)}
    assert areas == pytest.approx({"Bedroom": 11.0, "Closet": 1.0})


def test_outline_drawn_twice_is_taken_once_and_said():
    """Doubled outlines would be laid twice."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, close=True)
    space.add_lwpolyline(SQUARE[2:] + SQUARE[:2], close=True)
    plan = plan_of(document)
    assert len(plan.areas) == 1
    assert any("drawn twice" in note for note in plan.notes)


def test_doors_by_block_and_by_layer():
    """A door as a block lies in the edges on both sides of its wall; so does a line on a layer of doors."""
    document, space = drawing()
    left, right = [(0, 0), (4, 0), (4, 3), (0, 3)], [(4.1, 0), (8, 0), (8, 3), (4.1, 3)]
    for ring in (left, right):
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "ROOMS"})
    door = document.blocks.new("M_DOOR_0900")
    door.add_line((0, 0), (0, 0.9))
    door.add_arc((0, 0), 0.9, 0, 90)
    door.add_line((0, 0), (0.9, 0))
    space.add_blockref("M_DOOR_0900", (4.05, 1), dxfattribs={"rotation": 90})
    space.add_line((1, 0), (2, 0), dxfattribs={"layer": "A-DOOR"})
    first, second = areas_of(document)
    spots = [[sorted(point) for point in zip(*line, strict=True)] for line in first.doors]
    assert [pytest.approx([4, 4]), pytest.approx([1, 1.9])] in spots
    assert [pytest.approx([1, 2]), pytest.approx([0, 0])] in spots
    [line] = second.doors
    assert sorted(line) == [pytest.approx((4.1, 1)), pytest.approx((4.1, 1.9))]


def test_door_leaf_beside_a_wall_opens_no_wall_that_it_lies_along():
    """The leaf stands open along a side wall 0.1 m off: the opening is in the wall of the frame only."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, close=True, dxfattribs={"layer": "ROOMS"})
    for start, end in (((0.1, 0), (0.1, 0.9)), ((0.1, 0), (1.0, 0))):
        space.add_line(start, end, dxfattribs={"layer": "DOOR"})
    [area] = areas_of(document)
    [line] = area.doors
    assert sorted(line) == [pytest.approx((0.1, 0)), pytest.approx((1.0, 0))]


def test_real_drawing_has_the_doors_of_the_model_it_was_cut_from():
    """Level 1 of the open model has 10 door leaves in 8 rooms: foyers 2, living rooms and bathrooms 1 each.

    Counted by hand in the model: relations of its doors to walls beside the rooms named here.
    """
    counts = {area.name: len(area.doors) for area in areas_of((OPEN / "duplex_level1.dxf").read_bytes())}
    assert counts == {
        "A101 Foyer": 2, "A102 Living Room": 1, "A103 Kitchen": 0, "A104 Bathroom 1": 1, "A105 Stair": 0,
        "B101 Foyer": 2, "B102 Living Room": 1, "B103 Kitchen": 0, "B104 Bathroom 1": 1, "B105 Room": 0,
    }  # fmt: skip


def test_drawing_turned_out_of_the_plan_is_read_in_world_coordinates():
    """A polyline drawn on the underside (extrusion -z) lies mirrored: x of the world is -x of its own."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, close=True, dxfattribs={"extrusion": (0, 0, -1)})
    [area] = areas_of(document)
    assert area.polygon.bounds == pytest.approx((-4, 0, 0, 3))


def test_paper_and_invisible_parts_are_not_read():
    """What lies on a sheet of paper, or is set invisible, is no room."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, close=True)
    space.add_lwpolyline([(20, 0), (29, 0), (29, 9)], close=True, dxfattribs={"invisible": 1})
    document.paperspace().add_lwpolyline([(40, 0), (49, 0), (49, 9)], close=True)
    assert len(areas_of(document)) == 1


def test_plain_parts_read_in_bulk_and_one_by_one_are_the_same(monkeypatch):
    """The quick way for plain lines gives the same rooms as the general reader alone."""
    document, space = drawing(4)
    space.add_lwpolyline(
        [(0, 0, 0), (4000, 0, 0.3), (4000, 3000, 0), (0, 3000, -0.2)], format="xyb", close=True
    )
    space.add_circle((2000, 1500), 300)
    space.add_polyline2d([(9000, 0), (12000, 0), (12000, 3000)], close=True)
    for corner, after in (((0, 5000), (1900, 5000)), ((1900, 5000), (1900, 6500)), ((1900, 6500), (0, 5000))):
        space.add_line(corner, after)
    for start in (0, 90, 180, 270):
        space.add_arc((20000, 0), 1500, start, start + 90)
    data = as_bytes(document)
    quick = areas_of(data)
    monkeypatch.setattr(dxf_loading, "take_bulk", lambda data, most: (dxf_loading.Bulk(), data))
    slow = areas_of(data)
    assert len(quick) == len(slow) == 4
    for one, other in zip(quick, slow, strict=True):
        assert one.polygon.symmetric_difference(other.polygon).area < 1e-9


@pytest.mark.parametrize("name", ["Büro Süd", "居間", "Salle à manger", "50 % wet"])
def test_names_in_any_script(name):
    """Names survive the drawing, in the newer encoding and, as far as it goes, in the older."""
    document, space = drawing()
    space.add_lwpolyline(SQUARE, close=True, dxfattribs={"layer": "RÄUME"})
    space.add_text(name, height=0.2).set_placement((1, 1))
    assert [area.name for area in areas_of(document, layers=("räume",))] == [name]


def test_far_off_and_turned_coordinates_are_moved_and_said():
    """Survey coordinates of 4,400 km, turned by 37 degrees: the same room, moved by whole meters."""
    document, space = drawing(4)
    turn, far = math.radians(37), (512_345_678.0, 4_400_123_456.0)
    ring = [
        (
            far[0] + 1000 * (x * math.cos(turn) - y * math.sin(turn)),
            far[1] + 1000 * (x * math.sin(turn) + y * math.cos(turn)),
        )
        for x, y in SQUARE
    ]
    space.add_lwpolyline(ring, close=True)
    space.add_text("Plant", height=200).set_placement((far[0] + 100, far[1] + 1500))
    plan = plan_of(document)
    [area] = plan.areas
    assert area.name == "Plant"
    assert area.polygon.area == pytest.approx(12.0, rel=1e-6)
    assert max(map(abs, area.polygon.bounds)) < 10
    assert plan.moved_m == (-512_343.0, -4_400_123.0)
    assert any("moved" in note for note in plan.notes)


def test_many_overlaps_are_told_by_the_largest_and_a_number():
    """Forty rooms drawn one over the next: the eight largest overlaps are named, the rest are counted."""
    document, space = drawing()
    for number in range(40):
        space.add_lwpolyline([(x + number * 3.5 + number**2 * 0.001, y) for x, y in SQUARE], close=True)
    text = told(lambda: areas_of(document), "31 more pairs of areas overlap", "1.50 m²")
    assert text.count("would be laid twice") == 8
