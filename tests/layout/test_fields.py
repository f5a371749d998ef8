"""Movement joints: no field too long, corners joined, tiles respected, the total near a bound."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box, unary_union
from shapely.affinity import rotate
from shapely.geometry import shape
from test_layout_rooms import floors

from undercourse.base.problems import Problems
from undercourse.layout.fields import least_joint_length, movement_joints

ROOMS = Path(__file__).parents[1] / "data" / "open" / "rooms.geojson"
FEATURES = json.loads(ROOMS.read_text(encoding="utf-8"))["features"]
FOOT = 0.3048


def check(outline: Polygon, longest: float, **options: object):
    """Divide, and check fields and joints by general geometry."""
    result = movement_joints(outline, longest, **options)
    fields = [rotate(field, -result.direction_deg, origin=(0, 0)) for field in result.fields]
    for field in fields:
        left, low, right, high = field.bounds
        assert max(right - left, high - low) <= longest + 2e-4
    assert math.isclose(sum(field.area for field in fields), outline.area, abs_tol=1e-3)
    joined = unary_union(result.fields)
    assert outline.buffer(1e-3).contains(joined)
    # What separates the fields is what the joints say: half of all field edges that are not the outline's.
    inner = sum(field.length for field in result.fields) - outline.length
    assert math.isclose(inner / 2, result.total_m, abs_tol=0.02 + 0.004 * len(result.joints))
    assert result.least_m <= result.total_m + 1e-6
    return result


def test_rule_of_25_feet_in_a_40_by_30_foot_floor():
    """Interior, dry: at most 25 ft each way, so one joint each way.

    kind = published: guideline EJ171 as quoted in trade magazines, 2018; the lengths are arithmetic.
    """
    result = check(box(0, 0, 40 * FOOT, 30 * FOOT), 25 * FOOT)
    assert len(result.joints) == 2
    assert sorted(round(joint.length / FOOT, 3) for joint in result.joints) == [30.0, 40.0]
    assert math.isclose(result.total_m, result.least_m, rel_tol=1e-4)


def test_rule_of_12_feet_in_a_40_by_30_foot_floor():
    """In sun or moisture at most 12 ft each way: three joints one way, two the other (same guideline)."""
    result = check(box(0, 0, 40 * FOOT, 30 * FOOT), 12 * FOOT)
    assert math.isclose(result.total_m / FOOT, 3 * 30 + 2 * 40, abs_tol=0.01)
    assert len(result.fields) == 12


@pytest.mark.parametrize("feature", FEATURES, ids=lambda feature: feature["properties"]["name"])
def test_open_rooms_are_divided(feature):
    """Each open room is divided, the largest in their first 12 m."""
    outline = shape(feature["geometry"])
    if outline.area > 200:
        outline = outline.intersection(box(0, 0, 12, 12)).buffer(0)
        outline = max(getattr(outline, "geoms", [outline]), key=lambda part: part.area)
    check(outline, 3.7)


def test_open_rooms_come_near_the_bound():
    """Over all open rooms up to 25 m2 the joints total at most a fifth above the proven least."""
    rooms = [shape(f["geometry"]) for f in FEATURES if f["properties"]["area_m2"] < 25]
    found = [movement_joints(room, 3.7, corner_limb_m=1e6) for room in rooms]
    assert sum(one.total_m for one in found) <= 1.2 * sum(one.least_m for one in found)


def test_l_shape_has_a_joint_at_its_corner():
    """A field must not run round the outside corner of an L."""
    room = Polygon([(0, 0), (5, 0), (5, 2), (2, 2), (2, 5), (0, 5)])
    result = check(room, 6.0)
    assert len(result.joints) == 1
    assert result.joints[0].distance(Point(2, 2)) < 0.001
    assert math.isclose(result.total_m, 2.0, abs_tol=1e-3)
    assert check(room, 6.0, corner_limb_m=4.0).joints == ()


def test_joints_lie_on_the_lines_of_the_tiles():
    """With tiles of 603 mm with joint from an origin of 100 mm, every joint lies on a line of the module."""
    room = Polygon([(0, 0), (9.3, 0), (9.3, 4.1), (4.0, 4.1), (4.0, 7.7), (0, 7.7)])
    result = check(room, 3.7, module_m=(0.603, 0.303), module_origin_m=(0.1, 0.2), direction_deg=0.0)
    assert result.joints
    for joint in result.joints:
        (x0, y0), (x1, _) = joint.coords[0], joint.coords[-1]
        off = (x0 - 0.1) / 0.603 if abs(x0 - x1) < 1e-9 else (y0 - 0.2) / 0.303
        assert abs(off - round(off)) < 1e-4


def test_joint_in_the_base_goes_through():
    """A joint of the base runs through the tiles where it is, and counts."""
    result = check(box(0, 0, 5, 4), 4.0, through=[LineString([(1.3, -1), (2.1, 9)])])
    assert any(joint.distance(Point(1.38, 0)) < 0.01 for joint in result.joints)
    assert len(result.fields) == 2
    assert math.isclose(result.total_m, math.hypot(4, 0.32), rel_tol=1e-3)


@pytest.mark.parametrize(
    ("outline", "expected"),
    [
        (box(0, 0, 3, 3), 0.0),
        (box(0, 0, 4, 3), 3.0),  # one joint across
        (box(0, 0, 7, 7), 28.0),  # two each way
        (Polygon([(0, 0), (6, 0), (0, 6)]), 6.0),  # runs above 3 m are half the height, both ways
    ],
)
def test_least_joint_length_of_simple_shapes(outline, expected):
    """The bound by hand for fields of 3 m."""
    assert math.isclose(least_joint_length(outline, 3.0), expected, rel_tol=1e-4, abs_tol=1e-6)


@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(floors(), st.floats(0.8, 4.0))
def test_random_floors_are_divided(outline, longest):
    """Whatever the floor, no field is too long and nothing is lost."""
    check(outline, longest)


Cell = tuple[int, int]


def _parts(
    cells: frozenset[Cell], walls: frozenset[tuple[Cell, Cell]] = frozenset()
) -> list[frozenset[Cell]]:
    """Connected parts of a set of unit cells, between walls."""
    left, parts = set(cells), []
    while left:
        stack = [left.pop()]
        part = set(stack)
        while stack:
            x, y = stack.pop()
            for other in ((x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)):
                if other in left and (min((x, y), other), max((x, y), other)) not in walls:
                    left.discard(other)
                    part.add(other)
                    stack.append(other)
        parts.append(frozenset(part))
    return parts


@cache
def least_by_trying(cells: frozenset[Cell], longest: int) -> float:
    """Least total of straight joints on cell edges, each from edge to edge of its part, by trying all."""
    reach = [max(cell[axis] for cell in cells) - min(cell[axis] for cell in cells) for axis in (0, 1)]
    if max(reach) < longest:
        return 0.0
    best = math.inf
    for axis in (0, 1):
        for at in sorted({cell[axis] for cell in cells}):
            ahead = (1, 0) if axis == 0 else (0, 1)
            pairs = [((x - ahead[0], y - ahead[1]), (x, y)) for x, y in sorted(cells) if (x, y)[axis] == at]
            pairs = [pair for pair in pairs if pair[0] in cells]
            runs: list[list[tuple[Cell, Cell]]] = []
            for pair in pairs:
                if runs and pair[1][1 - axis] == runs[-1][-1][1][1 - axis] + 1:
                    runs[-1].append(pair)
                else:
                    runs.append([pair])
            for run in runs:
                parts = _parts(cells, frozenset(run))
                if len(parts) > 1:
                    best = min(best, len(run) + sum(least_by_trying(part, longest) for part in parts))
    return best


def test_joints_of_small_grids_against_every_division():
    """80 random floors of unit squares without holes: never more joint than the best of all divisions on the
    grid (joints may also lie off the grid, and are then shorter).

    kind = derived: the least by brute force.
    """
    made = np.random.default_rng(11)
    tried = 0
    while tried < 80:
        across, up, longest = int(made.integers(3, 7)), int(made.integers(2, 6)), int(made.integers(2, 4))
        cells = frozenset((x, y) for x in range(across) for y in range(up) if made.random() < 0.8)
        cells = max(_parts(cells), key=len, default=frozenset())
        floor = unary_union([box(x, y, x + 1, y + 1) for x, y in cells])
        if len(cells) < 5 or not isinstance(floor, Polygon) or floor.interiors:
            continue
        if not isinstance(floor.buffer(-1e-3), Polygon):
            continue  # two squares that touch at a corner
        tried += 1
        least = least_by_trying(cells, longest)
        result = movement_joints(floor, float(longest), direction_deg=0.0, corner_limb_m=1e6)
        assert result.total_m <= least + 0.05, (sorted(cells), longest, least, result.total_m)


def test_kinds_of_joints_and_doorways():
    """A door inside the area gets a joint through, one in the wall is counted as a doorway; a change of
    material and a base joint run through; each joint says its kind."""
    room = Polygon([(0, 0), (6, 0), (6, 4), (3.2, 4), (3.2, 6), (1.8, 6), (1.8, 4), (0, 4)])
    result = movement_joints(
        room,
        7.0,
        corner_limb_m=1e6,
        through=[LineString([(4.5, -1), (4.5, 5)])],
        changes=[LineString([(-1, 1.5), (7, 1.5)])],
        doors=[LineString([(1.8, 4), (3.2, 4)]), LineString([(0.5, 0), (1.4, 0)])],
    )
    found = sorted(zip(result.kinds, (round(joint.length, 3) for joint in result.joints), strict=True))
    assert found == [
        ("base joint", 4.0),
        ("change of material", 6.0),
        ("doorway", 1.4),
    ]
    assert [round(door.length, 3) for door in result.thresholds] == [0.9]
    assert len(result.fields) == 5


@pytest.mark.parametrize(
    "call",
    [
        lambda: movement_joints(box(0, 0, 4, 4), 0.1),
        lambda: movement_joints(box(0, 0, 4, 4), float("nan")),
        lambda: movement_joints(box(0, 0, 4, 4), 1.0, module_m=(0.6, 0.6)),
        lambda: movement_joints(box(0, 0, 4, 4), 2.0, module_m=(0.0, 0.6)),
        lambda: movement_joints(Polygon(), 2.0),
    ],
)
def test_movement_joints_refuse_what_cannot_be(call):
    """Lengths that no tile keeps, and outlines that are none, are named."""
    with pytest.raises(Problems):
        call()
