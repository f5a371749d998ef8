"""Outlines: each thing that can be wrong is named; corners and directions follow from the shape."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate

from undercourse.base.problems import Problems
from undercourse.layout import (
    AreaPlan,
    Sheet,
    check_outline,
    check_sheet,
    count_corners,
    edge_directions,
    lay_out,
    make_outline,
)

SQUARE = [(0, 0), (4, 0), (4, 4), (0, 4)]


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        ([], "0 different points"),
        ([(0, 0), (1, 1)], "2 different points"),
        ([(0, 0), (1, 1), (0, 0), (1, 1)], "2 different points"),
        ([(0, 0), (2, 2), (4, 4)], "encloses no area"),
        ([(0, 0), (4, 3), (4, 0), (0, 2)], "crosses or touches itself"),
        ([(0, 0), (4, 0), (4, 4), (2, 0), (0, 4)], "crosses or touches itself"),
        ([(0, 0), (4, 0), (float("nan"), 4)], "not finite"),
        ([(0, 0), (4, 0), (float("inf"), 4)], "not finite"),
        ([(0, 0), (4, 0), "ab"], "is no point"),
        ([(0, 0), (4, 0), (4,)], "is no point"),
        ([(0, 0), (4, 0), (None, 4)], "is no point"),
        ([(0, 0), (4, 0), (10**400, 4)], "is no point"),
        ("square", "is no list of points"),
        (None, "is no list of points"),
        ([(0, 0), (0.003, 0), (0.003, 0.003), (0, 0.003)], "only 0.003 m"),
        ([(0, 0), (3000, 0), (3000, 3000), (0, 3000)], "reaches over 3000 m"),
        ([(0, 0), (4, 0), (4, 1e-7), (0, 1e-7)], "encloses no area"),
        (Polygon(), "empty"),
        (MultiPolygon([box(0, 0, 1, 1), box(2, 2, 3, 3)]), "a MultiPolygon"),
        (Point(0, 0), "a Point"),
    ],
    ids=range(20),
)
def test_check_outline_names_what_is_wrong(outline, words):
    """Each broken outline gives one problem with place, thing and fix, and cannot be made."""
    [problem] = check_outline(outline, where="jobs/a.toml:9: outline")
    assert words in problem.what
    assert problem.where.startswith("jobs/a.toml:9: outline")
    assert problem.fix
    with pytest.raises(Problems):
        make_outline(outline)


@pytest.mark.parametrize(
    ("obstacles", "words"),
    [
        ([[(8, 8), (9, 8), (9, 9)]], "lies outside the area"),
        ([[(4, 1), (5, 1), (5, 2), (4, 2)]], "lies outside the area"),
        ([[(-1, -1), (5, -1), (5, 5), (-1, 5)]], "covers the whole area"),
        ([[(1, -1), (2, -1), (2, 5), (1, 5)]], "cut the area into 2 parts"),
        ([[(1, 1), (2, 2)]], "2 different points"),
        ([[(1, 1), (2, 2), (2, 1), (1, 2)]], "crosses or touches itself"),
        ("column", "obstacles are no list"),
    ],
)
def test_check_outline_names_a_bad_obstacle(obstacles, words):
    """Obstacles outside, around or across the area are told."""
    problems = check_outline(SQUARE, obstacles)
    assert any(words in problem.what for problem in problems), problems


def test_check_outline_lists_all_problems_in_one_pass():
    """Two bad obstacles are two problems."""
    problems = check_outline(SQUARE, [[(8, 8), (9, 8), (9, 9)], [(1, 1), (2, 2)]])
    assert [problem.where for problem in problems] == ["outline, obstacle 1", "outline, obstacle 2"]


def test_make_outline_cuts_obstacles_out():
    """Net area is the square less two columns, of which one stands half in the wall."""
    made = make_outline(
        [*SQUARE, SQUARE[0]], [box(1, 1, 2, 2).exterior.coords, box(-1, 0, 1, 1).exterior.coords]
    )
    assert math.isclose(made.area, 16 - 1 - 1)


def test_count_corners_of_known_shapes():
    """Plain counts: L-shape 5 inside and 1 outside, square column 4 outside, round column none."""
    assert count_corners(box(0, 0, 4, 5)) == (4, 0)
    assert count_corners(Polygon([(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)])) == (5, 1)
    assert count_corners(box(0, 0, 4, 4).difference(box(1, 1, 2, 2))) == (4, 4)
    assert count_corners(box(0, 0, 4, 4).difference(Point(2, 2).buffer(0.5, 16))) == (4, 0)


@settings(max_examples=50, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.integers(1, 5), st.integers(1, 5)), min_size=1, max_size=6), st.floats(0, 180))
def test_count_corners_of_square_outlines_differ_by_four(steps, angle):
    """Turns around any outline of right angles sum to 360 degrees: inside less outside is 4."""
    points, x, y = [(0.0, 0.0)], 0.0, 0.0
    for dx, dy in steps:  # a staircase up and to the right, closed along the axes
        points.append((x + dx, y))
        x, y = x + dx, y + dy
        points.append((x, y))
    points.append((0.0, y))
    inside, outside = count_corners(rotate(Polygon(points), angle))
    assert inside - outside == 4
    assert inside + outside == len(points)


def test_edge_directions_longest_first():
    """Directions are those of the edges, by total length."""
    assert edge_directions(box(0, 0, 4, 5)) == [90.0, 0.0]
    turned = edge_directions(rotate(box(0, 0, 4, 5), 30, origin=(0, 0)))
    assert turned == pytest.approx([120.0, 30.0])


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"width_m": 0.0}, "width_m"),
        ({"width_m": float("nan")}, "width_m"),
        ({"roll_lengths_m": ()}, "roll_lengths_m"),
        ({"roll_lengths_m": (14.0, 14.0)}, "roll_lengths_m"),
        ({"roll_lengths_m": (-1.0,)}, "roll_lengths_m"),
        ({"seam_gap_m": 0.5}, "seam_gap_m"),
        ({"seam_gap_m": -0.9}, "seam_gap_m"),
        ({"edge_gap_m": -0.1}, "edge_gap_m"),
        ({"smallest_piece_m": 0.8}, "smallest_piece_m"),
        ({"stagger_m": -1.0}, "stagger_m"),
        ({"trim_m": 0.5}, "trim_m"),
        ({"roll_prices": (1.0, 2.0)}, "roll_prices"),
        ({"seam_cost_m": -1.0}, "seam_cost_m"),
        ({"cut_cost": -1.0}, "cut_cost"),
    ],
)
def test_check_sheet_names_the_field(change, field):
    """A sheet that cannot be laid is refused by the name of its field, and lay_out refuses it too."""
    sheet = Sheet(**{"width_m": 1.0, "roll_lengths_m": (14.0,), **change})
    assert [problem.where for problem in check_sheet(sheet)] == [f"sheet.{field}"]
    with pytest.raises(Problems):
        lay_out([AreaPlan("room", box(0, 0, 4, 5))], sheet)


def test_lay_out_refuses_twin_names_no_areas_and_bad_angles():
    """Names tell areas apart; a direction is a finite angle."""
    sheet = Sheet(1.0, (14.0,))
    room = AreaPlan("room", box(0, 0, 4, 5))
    for areas, direction in (([], None), ([room, room], None), ([room], float("nan"))):
        with pytest.raises(Problems):
            lay_out(areas, sheet, direction=direction)


def test_lay_out_an_area_narrower_than_its_edge_gaps_is_explained():
    """A strip of floor 10 mm wide cannot be covered with 6 mm edge gaps; the other area still is."""
    areas = [AreaPlan("slot", box(0, 0, 3, 0.01)), AreaPlan("room", box(0, 0, 2, 2))]
    result = lay_out(areas, Sheet(1.0, (14.0,)))
    assert [problem.where for problem in result.uncovered] == ['area "slot"']
    assert "0.006 m from all its edges" in result.uncovered[0].what
    assert len(result.areas[1].strips) == 2
