"""A line that goes out and back through a zone without crossing itself.

The zone is covered by squares of two spacings. A tree joins neighboring squares; the closed line round the
tree runs half a spacing from the squares' edges, so that neighboring stretches keep one spacing everywhere.

References
----------
"Spanning-tree based coverage of continuous areas by a mobile robot", Annals of
Mathematics and Artificial Intelligence 31 (2001) (from memory).
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

Cell = tuple[int, int]

MOST_ACROSS = 400
"""Squares along one side of the grid; larger zones are covered only so far."""


@dataclass(frozen=True)
class Tree:
    """Squares of two spacings, each with its parent, from the root near the control."""

    origin: tuple[float, float]
    parents: dict[Cell, Cell | None]
    reachable: int  # squares that fit anywhere in the zone


@dataclass(frozen=True)
class _Grid:
    """Squares of one grid whose lines lie in the free zone: column, row and middle of each."""

    origin: tuple[float, float]
    column: npt.NDArray[np.int64]
    row: npt.NDArray[np.int64]
    x: npt.NDArray[np.float64]
    y: npt.NDArray[np.float64]


def best_tree(free: shapely.Geometry, spacing: float, control: tuple[float, float]) -> Tree | None:
    """The tree on the grid with most squares, of four places of the grid.

    The first line lies on the edge of the free zone, or one spacing in, each way.
    """
    if shapely.is_empty(free):
        return None
    shapely.prepare(free)
    grids = [_grid(free, spacing, (dx, dy)) for dx in (0.0, 1.0) for dy in (0.0, 1.0)]
    best = max(grids, key=lambda grid: len(grid.column))
    return _grow(free, spacing, best, control) if len(best.column) else None


def _grid(free: shapely.Geometry, spacing: float, shift: tuple[float, float]) -> _Grid:
    left, low, right, high = shapely.bounds(free)
    side, half = 2 * spacing, spacing / 2 - 1e-9
    origin = (float(left - spacing * (0.5 + shift[0])), float(low - spacing * (0.5 + shift[1])))
    columns = min(MOST_ACROSS, math.ceil((right - origin[0]) / side) + 1)
    rows = min(MOST_ACROSS, math.ceil((high - origin[1]) / side) + 1)
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(columns), np.arange(rows), indexing="ij"))
    x, y = origin[0] + (i + 0.5) * side, origin[1] + (j + 0.5) * side
    likely = shapely.contains_xy(free, x, y)
    i, j, x, y = i[likely], j[likely], x[likely], y[likely]
    fits = shapely.covers(free, shapely.box(x - half, y - half, x + half, y + half))
    return _Grid(origin, i[fits], j[fits], x[fits], y[fits])


def _grow(free: shapely.Geometry, spacing: float, grid: _Grid, control: tuple[float, float]) -> Tree:
    """Join squares to a tree: along the runs first, and the runs by one spine."""
    ahead = {(1, 0): _linked(free, grid, spacing, 0), (0, 1): _linked(free, grid, spacing, 1)}
    nearest = int(np.hypot(grid.x - control[0], grid.y - control[1]).argmin())
    cells = {(int(a), int(b)) for a, b in zip(grid.column, grid.row, strict=True)}
    root = (int(grid.column[nearest]), int(grid.row[nearest]))
    return Tree(grid.origin, _spread(cells, ahead, root), len(cells))


def _linked(free: shapely.Geometry, grid: _Grid, spacing: float, axis: int) -> set[Cell]:
    """Squares from which the lines may go on to the next square along an axis."""
    half = spacing / 2 - 1e-9
    across, up = (2 * spacing, 0.0) if axis == 0 else (0.0, 2 * spacing)
    spans = shapely.box(grid.x - half, grid.y - half, grid.x + half + across, grid.y + half + up)
    whole = shapely.covers(free, spans)
    return {(int(a), int(b)) for a, b in zip(grid.column[whole], grid.row[whole], strict=True)}


def _spread(cells: set[Cell], ahead: dict[Cell, set[Cell]], root: Cell) -> dict[Cell, Cell | None]:
    """Grow a tree from the root, cheapest link first: along a run is cheap, a change of run dear but for
    the root's column, so that the runs hang on one spine."""
    parents: dict[Cell, Cell | None] = {}
    queue: list[tuple[float, int, Cell, Cell | None]] = [(0.0, 0, root, None)]
    count = 0
    while queue:
        _, _, cell, parent = heapq.heappop(queue)
        if cell in parents:
            continue
        parents[cell] = parent
        a, b = cell
        steps = [((a + 1, b), cell, (1, 0)), ((a - 1, b), (a - 1, b), (1, 0))]
        steps += [((a, b + 1), cell, (0, 1)), ((a, b - 1), (a, b - 1), (0, 1))]
        for other, start, axis in steps:
            if other in cells and other not in parents and start in ahead[axis]:
                count += 1
                cost = 1.0 if axis == (1, 0) else (0.0 if a == root[0] else 10.0 + abs(a - root[0]))
                heapq.heappush(queue, (cost, count, other, cell))
    return parents


def prune(tree: Tree, wanted: int) -> set[Cell]:
    """Leave off tips, farthest run first, until the wanted number of squares is left."""
    kept = dict(tree.parents)
    order = list(kept)
    children = dict.fromkeys(kept, 0)
    for parent in kept.values():
        if parent is not None:
            children[parent] += 1
    tips = [(-number, cell) for number, cell in enumerate(order) if children[cell] == 0]
    heapq.heapify(tips)
    rank = {cell: number for number, cell in enumerate(order)}
    while len(kept) > max(1, wanted):
        _, cell = heapq.heappop(tips)
        parent = kept.pop(cell)
        if parent is not None:
            children[parent] -= 1
            if children[parent] == 0:
                heapq.heappush(tips, (-rank[parent], parent))
    return set(kept)


def walk_round(tree: Tree, kept: set[Cell]) -> list[Cell]:
    """The closed line round the tree, as quarter squares in order, starting at the root."""
    links: dict[Cell, set[Cell]] = {}
    for a, b in kept:
        corners = [(2 * a, 2 * b), (2 * a + 1, 2 * b), (2 * a + 1, 2 * b + 1), (2 * a, 2 * b + 1)]
        for one, other in zip(corners, corners[1:] + corners[:1], strict=True):
            links.setdefault(one, set()).add(other)
            links.setdefault(other, set()).add(one)
    for cell in kept:
        parent = tree.parents[cell]
        if parent is None:
            continue
        (a, b), (c, d) = min(cell, parent), max(cell, parent)
        if b == d:
            near = [(2 * a + 1, 2 * b), (2 * a + 1, 2 * b + 1)]
            far = [(2 * c, 2 * d), (2 * c, 2 * d + 1)]
        else:
            near = [(2 * a, 2 * b + 1), (2 * a + 1, 2 * b + 1)]
            far = [(2 * c, 2 * d), (2 * c + 1, 2 * d)]
        for pair in (near, far):
            links[pair[0]].discard(pair[1])
            links[pair[1]].discard(pair[0])
        for one, other in zip(near, far, strict=True):
            links[one].add(other)
            links[other].add(one)
    root = next(cell for cell, parent in tree.parents.items() if parent is None)
    start = (2 * root[0], 2 * root[1])
    order, before, here = [start], start, min(links[start])
    while here != start:
        order.append(here)
        before, here = here, next(iter(links[here] - {before}))
    return order
