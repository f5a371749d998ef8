"""Movement joints against brute force: on small grids every division there is, columns and given joints too.

kind = derived: all sets of unit squares that hang together and keep the longest length are listed by growing
them square by square; which of them cover the floor with the least joint is left to a general solver.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from undercourse.layout.fields import movement_joints

Cell = tuple[int, int]
Walls = frozenset[frozenset[Cell]]
SIDES = ((1, 0), (-1, 0), (0, 1), (0, -1))


def neighbors(cell: Cell) -> list[Cell]:
    """The four squares beside one."""
    return [(cell[0] + dx, cell[1] + dy) for dx, dy in SIDES]


def connected(cells: set[Cell]) -> list[frozenset[Cell]]:
    """Connected parts, the largest first."""
    left, parts = set(cells), []
    while left:
        stack = [left.pop()]
        part = set(stack)
        while stack:
            for other in neighbors(stack.pop()):
                if other in left:
                    left.discard(other)
                    part.add(other)
                    stack.append(other)
        parts.append(frozenset(part))
    return sorted(parts, key=len, reverse=True)


def all_fields(cells: frozenset[Cell], longest: int, walls: Walls) -> list[frozenset[Cell]]:
    """Every connected set of squares no longer than allowed either way that no given joint runs through."""
    found: set[frozenset[Cell]] = set()
    ahead = {frozenset([cell]) for cell in cells}
    while ahead:
        found |= ahead
        grown = set()
        for field in ahead:
            for cell in field:
                for other in neighbors(cell):
                    if other in field or other not in cells or frozenset((cell, other)) in walls:
                        continue
                    whole = field | {other}
                    if all(
                        max(one[axis] for one in whole) - min(one[axis] for one in whole) < longest
                        for axis in (0, 1)
                    ):
                        grown.add(whole)
        ahead = grown - found
    return [field for field in found if not any(wall <= field for wall in walls)]


def least(cells: frozenset[Cell], longest: int, walls: Walls = frozenset()) -> float:
    """Length of the joints of the best division, in sides of a square."""
    order = {cell: number for number, cell in enumerate(sorted(cells))}
    fields = all_fields(cells, longest, walls)
    holds = lil_matrix((len(order), len(fields)))
    cost = np.zeros(len(fields))
    for column, field in enumerate(fields):
        for cell in field:
            holds[order[cell], column] = 1
            cost[column] += sum(other in cells and other not in field for other in neighbors(cell)) / 2
    rule = LinearConstraint(holds.tocsr(), 1, 1)
    done = milp(cost, integrality=np.ones(len(fields)), bounds=Bounds(0, 1), constraints=rule)
    assert done.status == 0
    return float(done.fun)


def floors(seed: int, count: int, columns: bool) -> Iterator[tuple[frozenset[Cell], int, Polygon]]:
    """Random floors of unit squares and a longest field of 2 or 3; with columns some squares are left out."""
    made = np.random.default_rng(seed)
    while count:
        across, up, longest = int(made.integers(3, 8)), int(made.integers(2, 6)), int(made.integers(2, 4))
        share = made.choice([0.8, 0.9, 0.95, 1.0])
        cells = {(x, y) for x in range(across) for y in range(up) if made.random() < share}
        if not cells:
            continue
        part = connected(cells)[0]
        floor = unary_union([box(x, y, x + 1, y + 1) for x, y in part])
        sound = isinstance(floor, Polygon) and floor.is_valid and isinstance(floor.buffer(-1e-3), Polygon)
        if len(part) < 5 or not sound or (columns and not floor.interiors):
            continue
        count -= 1
        yield part, longest, floor


@pytest.mark.parametrize("columns", [False, True])
@pytest.mark.parametrize("module", [None, (1.0, 1.0)])
def test_joints_are_the_least_of_all_divisions(columns: bool, module: tuple[float, float] | None) -> None:
    """On the grid none is shorter; off the grid ours may be."""
    for cells, longest, floor in floors(5 if columns else 4, 8, columns):
        best = least(cells, longest)
        found = movement_joints(floor, float(longest), direction_deg=0.0, corner_limb_m=1e6, module_m=module)
        assert found.total_m <= best + 1e-3, (sorted(cells), longest)
        if module is not None:
            assert found.total_m >= best - 1e-3
        assert found.least_m <= best + 1e-3


def test_joints_over_a_base_joint_are_the_least_of_all_divisions() -> None:
    """With a joint in the base that every division keeps, none has less joint in all."""
    made = np.random.default_rng(9)
    for cells, longest, floor in floors(6, 12, False):
        at = int(made.integers(1, 6))
        over = [frozenset(((at - 1, y), (at, y))) for y in range(7) if {(at - 1, y), (at, y)} <= cells]
        best = least(cells, longest, frozenset(over))
        line = LineString([(at, -1), (at, 8)])
        found = movement_joints(floor, float(longest), direction_deg=0.0, corner_limb_m=1e6, through=[line])
        assert found.total_m <= best + 1e-3, (sorted(cells), longest, at)
        carried = sum(
            joint.length
            for joint, kind in zip(found.joints, found.kinds, strict=True)
            if kind == "base joint"
        )
        assert carried == pytest.approx(len(over), abs=1e-3)


@pytest.mark.parametrize(
    ("name", "outline", "longest", "corners", "expected"),
    [
        # One joint from the corner parts an L into rectangles: the shorter limb's width.
        ("L", Polygon([(0, 0), (5, 0), (5, 2), (2, 2), (2, 5), (0, 5)]), 5.0, 1, 2.0),
        # A T: both corners on one line, so that one joint of the stem's width joins both.
        ("T", Polygon([(2, 0), (4, 0), (4, 4), (6, 4), (6, 6), (0, 6), (0, 4), (2, 4)]), 6.0, 2, 2.0),
        # A U: each inner corner takes the shorter way, across its leg or on to the outer wall.
        (
            "U",
            Polygon([(0, 0), (6, 0), (6, 5), (4.5, 5), (4.5, 2), (1.5, 2), (1.5, 5), (0, 5)]),
            6.0,
            2,
            3.0,
        ),
    ],
)
def test_shapes_of_letters_have_the_joints_that_a_hand_draws(
    name: str, outline: Polygon, longest: float, corners: int, expected: float
) -> None:
    """Each outside corner of two walls of a meter or more has a joint, and no more joint than needed."""
    found = movement_joints(outline, longest, direction_deg=0.0)
    assert found.total_m == pytest.approx(expected, abs=2e-3), name
    assert len(found.fields) == corners + 1 if name != "T" else 2
    ring = outline.exterior.coords[:-1]
    inner = [point for point in ring if outline.buffer(-0.01).distance(Point(point)) < 0.0101]
    assert all(min(joint.distance(Point(point)) for joint in found.joints) < 2e-3 for point in inner)


def test_column_between_two_fields_lets_the_joint_run_through_it() -> None:
    """A column 0.5 m wide near the middle of a 10 x 4 m hall, fields of 6 m: the joint runs into it and saves
    its width."""
    hall = Polygon(box(0, 0, 10, 4).exterior, [box(4.6, 1.5, 5.1, 2.0).exterior])
    found = movement_joints(hall, 6.0, direction_deg=0.0)
    assert found.total_m == pytest.approx(3.5, abs=2e-3)
    assert all(4.599 <= joint.bounds[0] <= 5.101 for joint in found.joints)


def test_joint_along_a_wall_or_given_twice_counts_once() -> None:
    """A base joint that runs on along a wall is joint only inside; a change of material over it adds none."""
    room = Polygon([(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)])
    line = LineString([(2, -1), (2, 5)])
    found = movement_joints(room, 5.0, direction_deg=0.0, through=[line], changes=[line], corner_limb_m=1e6)
    assert found.total_m == pytest.approx(2.0, abs=1e-3)
    assert found.kinds == ("base joint",)
    assert len(found.fields) == 2


def test_slanted_and_round_rooms_keep_the_longest_field() -> None:
    """A room under 30 degrees, a round one, a triangle: each field by its own extent along and across."""
    turn = np.deg2rad(30.0)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    slanted = Polygon(np.array([(0, 0), (9, 0), (9, 5), (4, 5), (4, 8), (0, 8)]) @ spin)
    for room in (slanted, Point(0, 0).buffer(4.5), Polygon([(0, 0), (9, 0), (0, 7)])):
        found = movement_joints(room, 3.6)
        angle = np.deg2rad(found.direction_deg)
        ways = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        for field in found.fields:
            assert np.ptp(np.asarray(field.exterior.coords) @ ways, axis=0).max() <= 3.6 + 1e-3
        assert sum(field.area for field in found.fields) == pytest.approx(room.area, rel=1e-6)
        assert found.total_m <= 1.35 * found.least_m + 4.0
