"""A line that goes out and back through a zone without crossing itself.

Lines lie on a square lattice of one spacing. A tree of lattice squares is grown from near the control: a
square joins it over one side when its other two corners are still free. The edge of such a tree is one closed
line that passes every corner once, so that neighboring stretches keep one spacing everywhere, and what it
encloses can be reached from its one opening without crossing it.

References
----------
"Spanning-tree based coverage of continuous areas by a mobile robot", Annals of
Mathematics and Artificial Intelligence 31 (2001) (from memory): the tree of squares two spacings wide.
"""

from __future__ import annotations

import heapq
import math
from collections import deque
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import shapely

Cell = tuple[int, int]

MOST_ACROSS = 800
"""Squares along one side of the lattice; larger zones are covered only so far."""

LEAST_FINGER = 4
"""A line out and back is added in what the tree left free when it is at least so many squares long."""

_SIDES: tuple[Cell, ...] = ((1, 0), (-1, 0), (0, 1), (0, -1))


@dataclass(frozen=True)
class Lattice:
    """Squares of one spacing, their corners places for the line; ``fits`` says which lie in the free zone."""

    origin: tuple[float, float]
    spacing: float
    fits: npt.NDArray[np.bool_]

    def has(self, cell: Cell) -> bool:
        """Whether a square lies in the free zone."""
        i, j = cell
        return 0 <= i < self.fits.shape[0] and 0 <= j < self.fits.shape[1] and bool(self.fits[i, j])


@dataclass
class Tree:
    """Squares in the order they joined, each with the square it hangs on."""

    lattice: Lattice
    order: list[Cell] = field(default_factory=list)
    parents: dict[Cell, Cell | None] = field(default_factory=dict)
    taken: set[Cell] = field(default_factory=set)  # corners that the line passes
    beyond: list[Cell] = field(default_factory=list)  # squares that fit but that no two lines reach

    @property
    def points(self) -> int:
        """Corners that the whole line passes."""
        return 2 * (len(self.order) + 1)

    def may_join(self, cell: Cell, way: Cell) -> bool:
        """Whether a square can join over the side that it is entered by."""
        return self.lattice.has(cell) and not any(corner in self.taken for corner in _far(cell, way))

    def join(self, cell: Cell, parent: Cell | None) -> None:
        """Let a square join."""
        self.order.append(cell)
        self.parents[cell] = parent
        self.taken.update(_corners(cell))


def make_lattice(free: shapely.Geometry, spacing: float, shift: tuple[float, float] = (0.0, 0.0)) -> Lattice:
    """The lattice whose first lines lie on the left and lower edge of the free zone, or a shift in. [m]"""
    left, low, right, high = (float(value) for value in shapely.bounds(free))
    origin = (left + shift[0], low + shift[1])
    across = max(0, min(MOST_ACROSS, math.floor((right - origin[0]) / spacing + 1e-6)))
    up = max(0, min(MOST_ACROSS, math.floor((high - origin[1]) / spacing + 1e-6)))
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(across), np.arange(up), indexing="ij"))
    x, y = origin[0] + i * spacing, origin[1] + j * spacing
    shapely.prepare(free)
    near = shapely.contains_xy(free, x + spacing / 2, y + spacing / 2)
    fits = np.zeros((across, up), dtype=bool)
    hair = 1e-9
    boxes = shapely.box(x[near] + hair, y[near] + hair, x[near] + spacing - hair, y[near] + spacing - hair)
    fits[i[near], j[near]] = shapely.covers(free, boxes)
    return Lattice(origin, spacing, fits)


def best_tree(
    lattice: Lattice, control: tuple[float, float], least_finger: int = LEAST_FINGER
) -> Tree | None:
    """The tree that passes most corners, of the four places that runs of two lines can have on a lattice."""
    if not lattice.fits.any():
        return None
    places = sorted(
        ((a, b) for a in (0, 1) for b in (0, 1)),
        key=lambda place: (-int(lattice.fits[place[0] :: 2, place[1] :: 2].sum()), place),
    )
    best: Tree | None = None
    for place in places:
        tree = grow(lattice, place, control, least_finger)
        if tree is not None and (best is None or tree.points > best.points):
            best = tree
        if best is not None and not best.beyond:
            break
    return best


def grow(lattice: Lattice, parity: Cell, control: tuple[float, float], least_finger: int) -> Tree | None:
    """Grow a tree: runs of two lines on one spine, then what lies behind narrow places, then what is left."""
    a, b = parity
    i, j = np.nonzero(lattice.fits[a::2, b::2])
    if len(i) == 0:
        return None
    i, j = 2 * i + a, 2 * j + b
    middle = (np.array(lattice.origin)[:, None] + (np.array([i, j]) + 0.5) * lattice.spacing).T
    nearest = int(np.hypot(*(middle - np.array(control)).T).argmin())
    blocks = set(zip(i.tolist(), j.tolist(), strict=True))
    root = (int(i[nearest]), int(j[nearest]))
    tree = Tree(lattice)
    tree.join(root, None)
    _spread(tree, blocks, root)
    while True:
        left = {cell for cell in blocks if not tree.taken.intersection(_corners(cell))}
        way = _way_to(tree, left) if left else []
        if not way:
            break
        for parent, cell in way:
            tree.join(cell, parent)
        _spread(tree, left, way[-1][1])
    _fill(tree, least_finger)
    tree.beyond = sorted(cell for cell in left if not tree.taken.intersection(_corners(cell)))
    return tree


def _corners(cell: Cell) -> tuple[Cell, Cell, Cell, Cell]:
    i, j = cell
    return (i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)


def _far(cell: Cell, way: Cell) -> tuple[Cell, Cell]:
    """The two corners of a square on the side away from where it is entered."""
    i, j = cell
    if way[0]:
        x = i + (1 if way[0] > 0 else 0)
        return (x, j), (x, j + 1)
    y = j + (1 if way[1] > 0 else 0)
    return (i, y), (i + 1, y)


def _step(cell: Cell, way: Cell, count: int = 1) -> Cell:
    return cell[0] + count * way[0], cell[1] + count * way[1]


def _spread(tree: Tree, blocks: set[Cell], root: Cell) -> None:
    """Grow from a square in steps of two: along a run is cheap, a change of run dear but for the root's own
    column, so that the runs hang on one spine."""
    queue: list[tuple[float, int, Cell, Cell]] = []
    count = 0

    def offer(cell: Cell) -> None:
        nonlocal count
        for way in _SIDES:
            if _step(cell, way, 2) in blocks:
                count += 1
                cost = 1.0 if way[0] else (0.0 if cell[0] == root[0] else 10.0 + abs(cell[0] - root[0]))
                heapq.heappush(queue, (cost, count, cell, way))

    offer(root)
    while queue:
        _, _, cell, way = heapq.heappop(queue)
        link, other = _step(cell, way), _step(cell, way, 2)
        if tree.may_join(link, way) and tree.lattice.has(other):
            if any(corner in tree.taken for corner in _far(other, way)):
                continue
            tree.join(link, cell)
            tree.join(other, link)
            offer(other)


def _way_to(tree: Tree, goals: set[Cell]) -> list[tuple[Cell, Cell]]:
    """The shortest row of squares from the tree to one of the goals, as pairs of parent and square."""
    came: dict[Cell, Cell] = {}
    queue: deque[Cell] = deque(tree.order)
    while queue:
        cell = queue.popleft()
        for way in _SIDES:
            other = _step(cell, way)
            if other in came or other in tree.parents or not tree.may_join(other, way):
                continue
            came[other] = cell
            if other in goals:
                row = [(cell, other)]
                while row[-1][0] in came:
                    row.append((came[row[-1][0]], row[-1][0]))
                if _can_follow(tree, row[::-1]):
                    return row[::-1]
                continue
            queue.append(other)
    return []


def _can_follow(tree: Tree, row: list[tuple[Cell, Cell]]) -> bool:
    """Whether the squares of a row can join one after the other; a row may come back to its own corners."""
    taken = set(tree.taken)
    for parent, cell in row:
        way = (cell[0] - parent[0], cell[1] - parent[1])
        if taken.intersection(_far(cell, way)):
            return False
        taken.update(_corners(cell))
    return True


def _fill(tree: Tree, least: int) -> None:
    """Add straight lines out and back, longest first, in what is still free."""
    queue: list[tuple[int, int, Cell, Cell]] = []
    count = 0

    def reach(cell: Cell, way: Cell) -> int:
        length = 0
        while tree.may_join(_step(cell, way, length + 1), way):
            length += 1
        return length

    def offer(cell: Cell) -> None:
        nonlocal count
        for way in _SIDES:
            length = reach(cell, way)
            if length >= least:
                count += 1
                heapq.heappush(queue, (-length, count, cell, way))

    for cell in tree.order:
        offer(cell)
    while queue:
        length, _, cell, way = heapq.heappop(queue)
        now = reach(cell, way)
        if now < least:
            continue
        if now < -length:
            count += 1
            heapq.heappush(queue, (-now, count, cell, way))
            continue
        for step in range(1, now + 1):
            tree.join(_step(cell, way, step), _step(cell, way, step - 1))
        for step in range(1, now + 1):
            offer(_step(cell, way, step))


def walk_round(squares: list[Cell]) -> list[Cell]:
    """The closed line round joined squares, as lattice corners in order, counter-clockwise."""
    ahead: dict[Cell, Cell] = {}
    own = set(squares)
    for i, j in squares:
        for side, (start, end) in {
            (0, -1): ((i, j), (i + 1, j)),
            (1, 0): ((i + 1, j), (i + 1, j + 1)),
            (0, 1): ((i + 1, j + 1), (i, j + 1)),
            (-1, 0): ((i, j + 1), (i, j)),
        }.items():
            if (i + side[0], j + side[1]) not in own:
                ahead[start] = end
    first = min(ahead)
    order, here = [first], ahead[first]
    while here != first:
        order.append(here)
        here = ahead[here]
    return order


def square_within(squares: set[Cell], start: Cell, end: Cell) -> Cell:
    """The square on the inner side of one step of the closed line."""
    i, j = min(start, end)
    beside = [(i, j), (i, j - 1)] if start[1] == end[1] else [(i, j), (i - 1, j)]
    return next(cell for cell in beside if cell in squares)


def way_between(tree: Tree, squares: set[Cell], start: Cell, most: int) -> list[Cell]:
    """From a square through joined squares to the nearest one that has its line on two opposite sides only
    and lies ``most`` squares in, or as far as that goes."""
    links: dict[Cell, list[Cell]] = {cell: [] for cell in squares}
    for cell in squares:
        parent = tree.parents[cell]
        if parent is not None and parent in squares:
            links[cell].append(parent)
            links[parent].append(cell)
    came: dict[Cell, Cell | None] = {start: None}
    depth = {start: 0}
    queue = deque([start])
    best, merit = start, (False, 0)
    while queue:
        cell = queue.popleft()
        sides = links[cell]
        straight = len(sides) == 2 and (
            sides[0][0] + sides[1][0] == 2 * cell[0] and sides[0][1] + sides[1][1] == 2 * cell[1]
        )
        if (straight, min(depth[cell], most)) > merit:
            best, merit = cell, (straight, min(depth[cell], most))
        if merit == (True, most):
            break
        for other in sides:
            if other not in came:
                came[other], depth[other] = cell, depth[cell] + 1
                queue.append(other)
    way: list[Cell] = []
    here: Cell | None = best
    while here is not None:
        way.append(here)
        here = came[here]
    return way[::-1]
