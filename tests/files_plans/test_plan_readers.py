"""Plans are read in metres, with names; files that cannot be read say why in plain words."""

from __future__ import annotations

import hashlib
import json
import math
from pathlib import Path

import pytest
from shapely.geometry import shape

from undercourse.base.problems import Problems
from undercourse.files import plans
from undercourse.files.plans import choose_areas, read_plan, read_plan_bytes

from .made import OPEN, areas_of, drawing, plan_of, told


def test_open_rooms_are_read_with_their_stated_areas():
    """All 60 polygons come with the area that the data set states for each."""
    features = json.loads((OPEN / "rooms.geojson").read_text(encoding="utf-8"))["features"]
    areas = choose_areas(read_plan(OPEN / "rooms.geojson"))
    assert [area.name for area in areas] == [feature["properties"]["name"] for feature in features]
    for area, feature in zip(areas, features, strict=True):
        assert math.isclose(area.polygon.area, feature["properties"]["area_m2"], abs_tol=2e-3)


def test_open_drawing_rooms_agree_with_the_same_rooms_as_polygons():
    """Rooms of the drawing in millimetres have the names and areas of the same rooms in metres."""
    areas = {area.name: area.polygon for area in choose_areas(read_plan(OPEN / "duplex_level1.dxf"))}
    assert len(areas) == 10
    features = json.loads((OPEN / "rooms.geojson").read_text(encoding="utf-8"))["features"]
    same = [f for f in features if f["properties"]["name"] in areas]
    assert len(same) >= 3
    for feature in same:
        expected = shape(feature["geometry"])
        found = areas[feature["properties"]["name"]]
        assert math.isclose(found.area, expected.area, rel_tol=1e-3)
        assert math.isclose(found.length, expected.length, rel_tol=1e-3)


def test_licence_note_lies_beside_the_open_data():
    """Attribution is a condition of the licence."""
    note = (OPEN / "LICENSE_AND_SOURCE.md").read_text(encoding="utf-8")
    assert "CC BY 4.0" in note
    assert all(name in note for name in ("rooms.geojson", "duplex_level1.dxf", "duplex.ifc"))
    digest = hashlib.sha256((OPEN / "duplex.ifc").read_bytes()).hexdigest()
    assert digest in note, "the note records the sum of the file as published"


@pytest.mark.parametrize(
    ("unit", "metres"), [(1, 0.0254), (2, 0.3048), (4, 0.001), (5, 0.01), (6, 1.0), (10, 0.9144)]
)
def test_drawing_unit_is_taken_from_the_header(unit, metres):
    """Exact factors: 1 in is 25.4 mm, 1 ft is 12 in, 1 yd is 3 ft (international yard and pound, 1959)."""
    document, space = drawing(unit)
    side = 4 / metres
    space.add_lwpolyline([(0, 0), (side, 0), (side, side), (0, side)], close=True)
    [area] = areas_of(document)
    assert math.isclose(area.polygon.area, 16.0, rel_tol=1e-9)


def test_drawing_without_unit_is_not_guessed():
    """A drawing that does not say its unit is refused until the unit is told."""
    document, space = drawing(0)
    space.add_lwpolyline([(0, 0), (400, 0), (400, 300), (0, 300)], close=True)
    told(lambda: plan_of(document), "does not say its unit", 'plan_unit = "cm"', "--unit cm", "4.00 m")
    assert math.isclose(areas_of(document, unit="cm")[0].polygon.area, 12.0)
    told(lambda: plan_of(document, unit="furlong"), "furlong")


def test_drawing_rooms_columns_names_and_layers():
    """The layer with named outlines wins; an unnamed outline inside is an obstacle; texts name areas."""
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (4, 0), (4, 3), (0, 3)], close=True, dxfattribs={"layer": "ROOMS"})
    space.add_circle((2, 1), 0.2, dxfattribs={"layer": "ROOMS"})
    space.add_polyline2d([(5, 0), (8, 0), (8, 3), (5, 3)], close=True, dxfattribs={"layer": "ROOMS"})
    space.add_lwpolyline([(-9, -9), (20, -9), (20, 20), (-9, 20)], close=True, dxfattribs={"layer": "FRAME"})
    space.add_text("Hall", height=0.2).set_placement((0.5, 2))
    space.add_text("11.9 m2", height=0.2).set_placement((0.5, 2.4))
    space.add_mtext("Wash\\Proom", dxfattribs={"insert": (6, 1), "char_height": 0.2})
    first, second = areas_of(document)
    assert (first.name, second.name) == ("Hall", "Wash room")
    assert math.isclose(first.polygon.area, 12 - math.pi * 0.04, rel_tol=1e-3)
    assert any('layer "ROOMS"' in note for note in plan_of(document).notes)
    [frame] = areas_of(document, layers=("frame",))
    assert math.isclose(frame.polygon.area, 29 * 29)
    told(lambda: areas_of(document, layers=("none",)), "none", "FRAME")


def test_drawing_bulge_is_an_arc():
    """A bulge of 1 is half a circle: 4 x 2 m and half a disc of radius 1 m."""
    document, space = drawing()
    points = [(0, 0, 0), (4, 0, 1), (4, 2, 0), (0, 2, 0)]
    space.add_lwpolyline(points, format="xyb", close=True)
    [area] = areas_of(document)
    assert math.isclose(area.polygon.area, 8 + math.pi / 2, rel_tol=1e-3)


def test_drawing_in_blocks_and_hidden_layers():
    """Outlines inside placed blocks are found; what is switched off is not."""
    document, space = drawing()
    block = document.blocks.new("UNIT")
    block.add_lwpolyline([(0, 0), (3, 0), (3, 2), (0, 2)], close=True, dxfattribs={"layer": "ROOMS"})
    space.add_blockref("UNIT", (10, 10), dxfattribs={"rotation": 90, "xscale": 2, "yscale": 2, "zscale": 2})
    hidden = document.layers.add("OLD")
    hidden.off()
    space.add_lwpolyline([(0, 0), (9, 0), (9, 9), (0, 9)], close=True, dxfattribs={"layer": "OLD"})
    [area] = areas_of(document)
    assert math.isclose(area.polygon.area, 24.0)
    assert area.polygon.bounds == pytest.approx((6, 10, 10, 16))


def test_drawing_of_loose_lines_and_arcs_is_joined():
    """Two rooms of lines whose ends miss by 2 mm, one with a rounded corner, close within the tolerance."""
    document, space = drawing(4)
    for start, end in [
        ((0, 0), (4000, 2)), ((4000, 0), (4000, 3001)), ((3999, 3000), (1, 3000)), ((0, 2999), (0, 1)),
        ((4001, 3000), (7000, 3000)), ((7000, 3000), (7000, 1000)), ((6000, 0), (4002, 0)),
    ]:  # fmt: skip
        space.add_line(start, end)
    space.add_arc((6000, 1000), 1000, 270, 0)
    space.add_text("Left", height=200).set_placement((1000, 1000))
    space.add_text("Right", height=200).set_placement((5000, 1000))
    plan = plan_of(document)
    areas = {area.name: area for area in plan.areas}
    assert math.isclose(areas["Left"].polygon.area, 12.0, rel_tol=2e-3)
    assert math.isclose(areas["Right"].polygon.area, 9 - (1 - math.pi / 4), rel_tol=2e-3)
    assert any("joined within 5 mm" in note for note in plan.notes)
    repairs = [repair for area in plan.areas for repair in area.repairs]
    assert any("joined" in repair.what for repair in repairs)
    assert all(0 < repair.size_m <= 0.005 for repair in repairs)


def test_drawing_with_open_lines_only_says_so():
    """Lines that enclose nothing are no area."""
    document, space = drawing()
    space.add_line((0, 0), (4, 0))
    space.add_line((4, 0), (4, 3))
    told(lambda: areas_of(document), "no closed outline", "2 open lines")


def test_drawing_with_a_crossing_outline_says_where():
    """An outline that crosses itself is named with the crossing."""
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (4, 3), (4, 0), (0, 2)], close=True)
    told(lambda: areas_of(document), "crosses or touches itself", "a.dxf")


def test_drawing_in_binary_form_is_read(tmp_path):
    """The binary form holds the same room."""
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (4, 0), (4, 3), (0, 3)], close=True)
    path = tmp_path / "made.dxf"
    document.saveas(path, fmt="bin")
    [area] = choose_areas(read_plan(path))
    assert math.isclose(area.polygon.area, 12.0)


def test_drawing_cut_off_is_read_as_far_as_it_goes_or_refused():
    """A drawing cut off anywhere gives areas with a warning, or a problem; never a traceback."""
    data = (OPEN / "duplex_level1.dxf").read_bytes()
    warned = 0
    for share in (0.01, 0.2, 0.5, 0.9, 0.93, 0.96, 0.99):
        try:
            plan = read_plan_bytes(data[: int(len(data) * share)], "a.dxf")
        except Problems:
            continue
        else:
            assert any("ends early" in note for note in plan.notes)
            warned += 1
    assert warned


@pytest.mark.parametrize(
    ("data", "name", "words"),
    [
        (b"", "a.dxf", ("empty",)),
        (b"  \n", "a.geojson", ("empty",)),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + bytes(range(256)) * 20, "a.dxf", ("no DXF drawing",)),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "a.geojson", ("UTF-8",)),
        ('{"type": "Büro"}'.encode("utf-16"), "a.geojson", ("UTF-8",)),
        (b'{"type": "FeatureCollection", "features": [', "a.geojson", ("not JSON", "a.geojson:1")),
        (b"[1, 2]", "a.json", ("no object",)),
        (b"[" * 200_000, "a.json", ("a.json",)),
        (b'{"type": "FeatureCollection", "features": []}', "a.json", ("no polygon",)),
        (b'{"type": "FeatureCollection", "features": 3}', "a.json", ("features",)),
        (
            b'{"type": "Feature", "geometry": {"type": "Point", "coordinates": [1, 2]}}',
            "a.json",
            ("1 Point",),
        ),
        (b'{"type": "Polygon", "coordinates": [[[0, 0], [1, 1]]]}', "a.json", ("at least 3 corners",)),
        (b'{"type": "Polygon", "coordinates": [[[0, 0], [NaN, 1], [1, 1]]]}', "a.json", ("not finite",)),
        (b'{"type": "Polygon", "coordinates": [[[0, 0], ["x", 1], [1, 1]]]}', "a.json", ("no point",)),
        (b'{"type": "Polygon", "coordinates": 7}', "a.json", ("no list",)),
        (b'{"type": "Polygon", "coordinates": [[[0,0],[0.003,0],[0.003,0.003]]]}', "a.json", ("unit",)),
        (b'{"type": "Polygon", "coordinates": [[[0,0],[3000,0],[3000,3000]]]}', "a.json", ("unit", "3.00 m")),
        (b"0\nSECTION\n2\nHEADER\nrubbish\n\n", "a.dxf", ("a.dxf",)),
        (b"anything", "a.pdf", (".pdf",)),
    ],
    ids=range(19),
)
def test_bad_files_say_why(data, name, words):
    """Empty, binary, wrongly encoded, cut off or foreign files give a problem, never a traceback."""
    told(lambda: choose_areas(read_plan_bytes(data, name)), *words)


def test_missing_and_huge_files_are_refused_before_reading(tmp_path, monkeypatch):
    """A file of 100 MB is refused by its size; a missing one is named."""
    huge = tmp_path / "huge.dxf"
    with huge.open("wb") as file:
        file.truncate(100_000_000)
    monkeypatch.setattr(Path, "read_bytes", lambda self: pytest.fail("the file was read"))
    told(lambda: read_plan(huge), "100 MB", "huge.dxf")
    told(lambda: read_plan(tmp_path / "none.dxf"), "none.dxf", "No such file")
    assert plans.MOST_BYTES < 100_000_000


def test_polygons_share_a_name_and_are_kept_apart():
    """Two features of one name become two areas; parts of a MultiPolygon are numbered."""
    square = [[[0, 0], [2, 0], [2, 2], [0, 2], [0, 0]]]
    other = [[[5, 0], [7, 0], [7, 2], [5, 2], [5, 0]]]
    features = [
        {
            "type": "Feature",
            "properties": {"name": "A"},
            "geometry": {"type": "Polygon", "coordinates": square},
        },
        {
            "type": "Feature",
            "properties": {"name": "A"},
            "geometry": {"type": "Polygon", "coordinates": other},
        },
        {"type": "Feature", "id": 7, "geometry": {"type": "MultiPolygon", "coordinates": [square, other]}},
        {"type": "Feature", "properties": None, "geometry": None},
    ]
    data = json.dumps({"type": "FeatureCollection", "features": features}).encode()
    plan = read_plan_bytes(b"\xef\xbb\xbf" + data, "a.geojson")
    areas = plan.areas
    assert [area.name for area in areas] == ["A", "A (2)", "7 part 1", "7 part 2"]
    assert "left out" in plan.notes[0]
