"""Loose lines joined into closed outlines: ends that nearly meet are moved together, and that is listed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree
from shapely import LineString, Polygon, STRtree

from undercourse.layout.repairs import Repair

CLOSE_M = 0.005
"""Ends of lines nearer than this were meant to meet. [m]"""

MEET_M = 1e-5
"""Ends of lines nearer than this do meet. [m]"""

OPEN_SHARE = 0.35
"""A chain whose ends are nearer to each other than this share of its length was meant to be closed."""

Floats = npt.NDArray[np.float64]
Shapes = npt.NDArray[np.object_]


@dataclass
class Joined:
    """Faces that lines enclose, gaps that were closed, and chains that stay open."""

    faces: list[Polygon] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)
    open_chains: list[LineString] = field(default_factory=list)
    loose: int = 0


def join_lines(lines: Sequence[Sequence[tuple[float, float]]]) -> Joined:
    """The faces that lines in meters enclose.

    An end that meets no other is moved to the nearest end within `CLOSE_M`, else onto the nearest line
    within it. Lines that cross are cut there.
    """
    arrays = [np.asarray(line, dtype=float) for line in lines if len(line) > 1]
    if not arrays:
        return Joined()
    joined = Joined()
    ends = np.array([line[place] for line in arrays for place in (0, -1)])
    group = _groups(ends, MEET_M)
    group, moved = _close_gaps(ends, group, joined.repairs)
    for number, line in enumerate(arrays):
        line = arrays[number] = line.copy()
        line[0], line[-1] = moved[group[2 * number]], moved[group[2 * number + 1]]
    arrays = _meet_lines(arrays, group, joined.repairs)
    shapes = _lines([line for line in arrays if np.any(line != line[0])])
    net = shapely.get_parts(shapely.union_all(shapes))
    faces = shapely.get_parts(shapely.polygonize(net))
    joined.faces = [face for face in faces if isinstance(face, Polygon)]
    _find_open(shapes, joined)
    return joined


def _lines(arrays: Sequence[Floats]) -> Shapes:
    """Line strings of many arrays of points at once."""
    owner = np.repeat(np.arange(len(arrays)), [len(line) for line in arrays])
    return np.asarray(shapely.linestrings(np.concatenate(arrays), indices=owner), dtype=object)


def _groups(points: Floats, reach: float) -> npt.NDArray[np.int64]:
    """The group of each point; points within reach of each other are of one group."""
    pairs = cKDTree(points).query_pairs(reach, output_type="ndarray")
    return _united(len(points), pairs)


def _united(count: int, pairs: Any) -> npt.NDArray[np.int64]:
    pairs = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
    links = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    found: npt.NDArray[np.int64] = connected_components(links, directed=False)[1].astype(np.int64)
    return found


def _first_of(group: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Place of the first member of each group."""
    return np.unique(group, return_index=True)[1].astype(np.int64)


def _close_gaps(
    ends: Floats, group: npt.NDArray[np.int64], repairs: list[Repair]
) -> tuple[npt.NDArray[np.int64], Floats]:
    """Unite groups of which one is a loose end with the nearest within reach; places of the new groups."""
    places = ends[_first_of(group)]
    counts = np.bincount(group)
    loose = np.flatnonzero(counts == 1)
    pairs: dict[tuple[int, int], float] = {}
    if len(loose):
        near, others = (
            np.asarray(found).reshape(len(loose), -1)
            for found in cKDTree(places).query(
                places[loose], k=min(4, len(places)), distance_upper_bound=CLOSE_M
            )
        )
        partner = {int(group[k]): int(group[k ^ 1]) for k in np.flatnonzero(counts[group] == 1)}
        for row in np.flatnonzero(np.isfinite(near).sum(axis=1) > 1):
            end = int(loose[row])
            for distance, other in zip(near[row], others[row].tolist(), strict=True):
                if math.isfinite(distance) and other not in (end, partner[end]):
                    pairs[min(end, other), max(end, other)] = float(distance)
                    break
    for (_, other), distance in pairs.items():
        x, y = places[other].tolist()
        repairs.append(Repair("ends of lines were joined", (x, y), distance))
    merged = _united(len(places), list(pairs))
    united = merged[group]
    return united, ends[_first_of(united)]


def _meet_lines(arrays: list[Floats], group: npt.NDArray[np.int64], repairs: list[Repair]) -> list[Floats]:
    """Move loose ends onto lines that they stop just short of; those lines get a corner there."""
    counts = np.bincount(group)
    loose = np.flatnonzero(counts[group] == 1)
    if not len(loose):
        return arrays
    shapes = _lines(arrays)
    points: Shapes = np.asarray(shapely.points(np.array([arrays[k // 2][-(k % 2)] for k in loose])))
    rows, others = STRtree(shapes).query(points, predicate="dwithin", distance=CLOSE_M)
    best: dict[int, tuple[float, int]] = {}
    for row, other in zip(rows, others, strict=True):
        if other != loose[row] // 2:
            distance = float(shapely.distance(points[row], shapes[other]))
            best[int(row)] = min(best.get(int(row), (math.inf, 0)), (distance, int(other)))
    corners: dict[int, list[tuple[float, Floats]]] = {}
    for row, (distance, other) in best.items():
        end = int(loose[row])
        along = float(shapely.line_locate_point(shapes[other], points[row]))
        spot = shapely.get_coordinates(shapely.line_interpolate_point(shapes[other], along))[0]
        corners.setdefault(other, []).append((along, spot))
        arrays[end // 2][-(end % 2)] = spot
        if distance > MEET_M:
            repairs.append(
                Repair("a line was drawn up to another", (float(spot[0]), float(spot[1])), distance)
            )
    for other, spots in corners.items():
        line = arrays[other]
        places = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        order = np.argsort(np.concatenate([places, [along for along, _ in spots]]), kind="stable")
        arrays[other] = np.concatenate([line, [spot for _, spot in spots]])[order]
    return arrays


def _find_open(shapes: Shapes, joined: Joined) -> None:
    """Lines that bound no face, and chains of them that were meant to be outlines."""
    edges = [face.boundary for face in joined.faces]
    used: set[int] = set()
    if edges:
        middles = shapely.line_interpolate_point(shapes, 0.5, normalized=True)
        used = set(STRtree(edges).query(middles, predicate="dwithin", distance=1e-6)[0].tolist())
    left = shapes[[number not in used for number in range(len(shapes))]]
    joined.loose = len(left)
    if not len(left):
        return
    for chain in shapely.get_parts(shapely.line_merge(shapely.multilinestrings(left))):
        ends = shapely.get_coordinates(chain)
        gap = math.dist(ends[0], ends[-1])
        if len(ends) > 3 and 0 < gap < OPEN_SHARE * chain.length:
            joined.open_chains.append(chain)
