"""Plans and cut maps: true to scale, every piece numbered, every cut there."""

from __future__ import annotations

import math
from typing import Any

import pytest
from shapely.geometry import Polygon

from drawings.marks import extent, outside, overlaps, paths, words
from papers.fixtures import LAYOUT, ROOM, STRIPS
from undercourse.drawings import draw_cut_map, draw_cut_maps, draw_dry_fit, draw_plan, draw_shaped_pieces
from undercourse.drawings.plan import seam_lines, start_line

AREA = {**LAYOUT["areas"][0], **ROOM}
PIECES = LAYOUT["pieces"]


def _turned(points: list[list[float]], degrees: float) -> list[list[float]]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [[x * c - y * s, x * s + y * c] for x, y in points]


def test_room_and_strips_measure_back_to_their_areas() -> None:
    """The area of a polygon by shapely, on paper and on the floor."""
    sheet = draw_plan(AREA, PIECES)
    assert sheet.scale is not None
    (room,) = paths(sheet, "room")
    on_floor = Polygon(ROOM["outline"]).area
    assert Polygon(room).area * (sheet.scale / 1000) ** 2 == pytest.approx(on_floor, rel=1e-4)
    drawn = paths(sheet, "strip")
    assert len(drawn) == len(STRIPS)
    for points, strip in zip(drawn, STRIPS, strict=True):
        area = Polygon(points).area * (sheet.scale / 1000) ** 2
        assert area == pytest.approx(Polygon(strip["outline"]).area, rel=1e-3)


def test_plan_is_the_right_way_up() -> None:
    """Up the page is up the plan: the entrance at y = 0 lies at the foot of the room."""
    sheet = draw_plan(AREA, PIECES)
    (room,) = paths(sheet, "room")
    entrance = next(mark for mark in sheet.texts() if mark.text == "Entrance")
    assert entrance.at[1] > extent(room)[3]


def test_seams_of_three_strips_have_the_length_of_their_common_edges() -> None:
    """Three strips of 1 m by 2 m side by side with a gap: two seams of 2 m (kind = derived)."""
    strips = [
        {"id": f"S{i}", "outline": [[i * 1.002, 0], [i * 1.002 + 1, 0], [i * 1.002 + 1, 2], [i * 1.002, 2]]}
        for i in range(3)
    ]
    area = {"name": "A", "strips": strips}
    lines = seam_lines(area)
    assert len(lines) == 2
    assert sum(line.length for line in lines) == pytest.approx(4.0, abs=0.1)
    line = start_line(area)
    assert line is not None
    assert {round(x, 2) for x, _ in line} == {1.0}


def test_layouts_chalk_line_is_the_start_line() -> None:
    """The layout's word comes before a guess, with its distances to both walls."""
    chalk = {"start": [1.0, 0.0], "end": [1.0, 2.4], "left_m": [1.0, 1.0], "right_m": [2.6, 1.8]}
    area = {**AREA, "chalk_line": chalk}
    assert start_line(area) == ((1.0, 0.0), (1.0, 2.4))
    text = " ".join(words(draw_plan(area, PIECES)))
    assert "Start line" in text
    assert "8 ft 6-3/8 in (2600 mm) at its start" in text


def test_every_piece_number_and_chalk_distance_is_written() -> None:
    """Running distances name each seam across the strips, in both systems."""
    text = " ".join(words(draw_plan(AREA, PIECES)))
    for piece in PIECES:
        assert str(piece["id"]) in text
    for inches, millimetres in (
        ("3 ft 3-1/4 in", "998 mm"),
        ("6 ft 6-5/8 in", "1998 mm"),
        ("9 ft 10 in", "2998 mm"),
    ):
        assert inches in text
        assert millimetres in text
    assert "11 ft 9-3/4 in" in text
    assert "Shower" in text


def _strips(count: int, width: float, length: float) -> list[dict[str, Any]]:
    return [
        {
            "id": f"1.{i + 1}",
            "outline": [
                [i * width, 0],
                [i * width + width - 0.003, 0],
                [i * width + width - 0.003, length],
                [i * width, length],
            ],
        }
        for i in range(count)
    ]


@pytest.mark.parametrize("degrees", [0, 30, 90, 135])
@pytest.mark.parametrize(
    ("count", "width", "length"),
    [(1, 1.0, 1.2), (4, 1.0, 3.0), (12, 1.0, 30.0), (3, 0.15, 9.0), (25, 1.0, 4.0)],
)
def test_words_stay_apart_on_plans_of_many_shapes(
    count: int, width: float, length: float, degrees: float
) -> None:
    """Small and huge, dense and turned."""
    outline = [[0, 0], [count * width, 0], [count * width, length], [0, length]]
    area = {
        "name": "Room",
        "outline": _turned(outline, degrees),
        "strips": [{**s, "outline": _turned(s["outline"], degrees)} for s in _strips(count, width, length)],
        "direction_deg": (90 + degrees) % 180,
        "net_area_m2": count * width * length,
        "seam_length_m": (count - 1) * length,
        "north_deg": 10,
    }
    sheet = draw_plan(area)
    crowded = [(a, b) for a, b in overlaps(sheet) if not (a.startswith("1.") and b.startswith("1."))]
    assert crowded == []
    assert outside(sheet) == []
    assert len(paths(sheet, "strip")) == count


def test_pieces_on_the_roll_measure_back() -> None:
    """Length and width of every piece, and that pieces, offcuts and roll add up."""
    sheet = draw_cut_map(LAYOUT)
    assert sheet.scale is not None
    per_metre = 1000 / sheet.scale
    drawn = [extent(points) for points in paths(sheet, "piece")]
    for box, piece in zip(drawn, PIECES, strict=True):
        assert (box[2] - box[0]) / per_metre == pytest.approx(piece["length_m"], abs=1e-4)
        assert (box[3] - box[1]) / per_metre == pytest.approx(piece["width_m"], abs=1e-4)
    (roll,) = paths(sheet, "roll")
    offcuts = sum(Polygon(points).area for points in paths(sheet, "offcut"))
    whole = Polygon(roll).area / per_metre**2
    parts = sum(p["length_m"] * p["width_m"] for p in PIECES) + offcuts / per_metre**2
    assert parts == pytest.approx(whole, rel=5e-3)


def test_cross_cuts_and_rips_are_told_apart() -> None:
    """Four cross cuts over the roll; one rip where a piece is narrower than the roll."""
    sheet = draw_cut_map(LAYOUT)
    assert len(paths(sheet, "cut")) == 4
    full = [x for x in PIECES if x["width_m"] < 0.9]
    assert len(full) == 1
    assert any(extent(points)[2] - extent(points)[0] > 10 for points in paths(sheet, "rip"))
    assert "28 ft 9-1/2 in" in " ".join(words(sheet))


def test_pieces_of_all_rolls_fit_pages_and_share_a_scale() -> None:
    """Twenty rolls do not fit one page."""
    pieces = [
        {"id": f"P{i}", "roll": i // 3 + 1, "width_m": 1.0, "length_m": 4.1, "at": [(i % 3) * 4.1, 0]}
        for i in range(60)
    ]
    sheets = draw_cut_maps({"pieces": pieces}, tallest_mm=220.0)
    assert len(sheets) > 1
    assert {sheet.scale for sheet in sheets} == {sheets[0].scale}
    assert all(sheet.height <= 220.0 for sheet in sheets)
    assert all(overlaps(sheet) == [] and outside(sheet) == [] for sheet in sheets)
    assert sum(len(paths(sheet, "piece")) for sheet in sheets) == 60


def test_a_roll_of_many_small_pieces_is_drawn_in_rows_that_can_be_read() -> None:
    """Six long pieces, eighteen short ones in three lanes: all are named, and no length is lost."""
    pieces = [
        {"id": f"1.{i}", "roll": 1, "width_m": 1.0, "length_m": 4.0, "at": [i * 4.0, 0]} for i in range(6)
    ]
    pieces += [
        {"id": f"1.1{i}{'abc'[lane]}", "roll": 1, "width_m": 0.3, "length_m": 0.7,
         "at": [24.0 + 0.7 * i, 0.3 * lane]}
        for i in range(6) for lane in range(3)
    ]  # fmt: skip
    layout = {"pieces": pieces, "roll_plan": [{"roll": 1, "length_m": 30.0, "used_m": 28.2}]}
    (sheet,) = draw_cut_maps(layout, tallest_mm=220.0)
    assert sheet.scale is not None
    assert overlaps(sheet) == []
    assert outside(sheet) == []
    assert {piece["id"] for piece in pieces} <= set(words(sheet))
    rows = [extent(points) for points in paths(sheet, "roll")]
    assert len(rows) > 1
    assert sum(row[2] - row[0] for row in rows) * sheet.scale / 1000 == pytest.approx(28.2, abs=1e-3)
    # 0.7 m is 27-9/16 in and 0.3 m is 11-13/16 in, 25.4 mm to the inch exactly (NIST SP 811, B.8).
    assert "27-9/16 in × 11-13/16 in (700 mm × 300 mm)" in " ".join(words(sheet))


def test_rows_of_a_roll_end_at_cuts_over_its_whole_width() -> None:
    """A piece that no row can hold keeps the roll in one row, to scale."""
    pieces = [
        {"id": "long", "roll": 1, "width_m": 0.5, "length_m": 28.0, "at": [0, 0]},
        *(
            {"id": f"s{i}", "roll": 1, "width_m": 0.5, "length_m": 0.4, "at": [i * 0.4, 0.5]}
            for i in range(60)
        ),
    ]
    (row,) = paths(draw_cut_map({"pieces": pieces}), "roll")
    assert extent(row)[2] - extent(row)[0] <= 170.0


@pytest.mark.parametrize("at", [1.704, 1.706])
def test_the_start_line_is_measured_where_it_is_drawn(at: float) -> None:
    """Two edges bound a seam of 2 mm; the value in the chain is that of the edge which is snapped."""
    ring = [[0, 0], [4, 0], [4, 3], [0, 3]]
    edges = [(0.006, 0.702), (0.704, 1.704), (1.706, 2.706), (2.708, 3.708), (3.71, 3.994)]
    strips = [
        {"id": str(i), "outline": [[a, 0.006], [b, 0.006], [b, 2.994], [a, 2.994]], "pieces": [str(i)]}
        for i, (a, b) in enumerate(edges)
    ]
    area = {"name": "x", "outline": ring, "strips": strips, "direction_deg": 90.0,
            "chalk_line": {"start": [at, 0.006], "end": [at, 2.994],
                           "left_m": [at, at], "right_m": [4 - at, 4 - at]}}  # fmt: skip
    pieces = [
        {"id": str(i), "area": "x", "width_m": b - a, "length_m": 2.988} for i, (a, b) in enumerate(edges)
    ]
    other = 3.41 - at
    for sheet in (draw_plan(area, pieces), *draw_dry_fit(area, pieces)):
        text = " ".join(words(sheet))
        assert f"{at * 1000:.0f} mm" in text
        assert f"{other * 1000:.0f} mm" not in text
        assert f"{1000 * (at + 1.002):.0f} mm" in text


def test_a_slit_beside_a_cut_out_gives_no_second_mark() -> None:
    """The slit to a column ends 4 mm above the edge of the cut-out: one distance, not two."""
    ring = [
        [2.495, 1.994], [2.495, 1.788], [6.194, 1.788], [6.194, 2.788], [0.006, 2.788], [0.006, 1.788],
        [2.493, 1.788], [2.493, 1.998], [2.494, 1.998], [2.494, 2.406], [2.906, 2.406], [2.906, 1.994],
    ]  # fmt: skip
    area = {"name": "x", "outline": [[0, 0], [6.2, 0], [6.2, 3.1], [0, 3.1]], "direction_deg": 0.0}
    piece = {"id": "1", "area": "x", "width_m": 1.0, "length_m": 6.188, "outline": ring}
    area["strips"] = [{"id": "1", "outline": ring, "pieces": ["1"]}]
    (sheet,) = draw_shaped_pieces(area, [piece])
    text = " ".join(words(sheet))
    # From the corner of the blank: 1.994 less 1.788, 2.406 less 1.788, 2.906 less 0.006.
    assert all(f"{value} mm" in text for value in (206, 618, 2900))
    assert "210 mm" not in text
