"""The least joints of a region: every division into straight-sided fields on given lines, weighed at once.

The lines cut the region into atoms. A field is any number of atoms that hang together and keep the longest
length both ways; where there are too many of those, only what lies in one rectangle between lines. Each atom
belongs to exactly one field. Which fields is a set partitioning problem, solved by branch and bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp
from shapely import LineString, Polygon
from shapely.ops import linemerge

Floats = npt.NDArray[np.float64]

MOST_ATOMS, MOST_FIELDS, MOST_NODES = 200, 5000, 100
"""Beyond so many atoms, candidate fields or branches the search is left off."""

MOST_FREE = 1500
"""With more fields of any shape than this, only those within rectangles are weighed."""

ALIGNED_M = 0.05
"""So much joint is given away for one line less, so that joints run straight through; common practice, no
source. [m]"""

EVEN_M = 0.002
"""So much joint is given away for fields of even length. [m]"""

NARROW_M, NARROW_COST_M = 0.5, 0.2
"""A field narrower than the first costs the second; common practice, no source. [m]"""

TOUCH_M = 1e-4


@dataclass(frozen=True)
class Shorter:
    """Joints with the fields between them; ``proven`` tells whether nothing on these lines is better."""

    lines: list[LineString]
    fields: list[Polygon]
    proven: bool


def merit(lines: Sequence[LineString], fields: Sequence[Polygon]) -> float:
    """Total length, with what crooked joints and narrow fields cost. [m]"""
    places = {_place(line) for line in lines}
    sizes = shapely.bounds(np.array(fields, dtype=object))
    narrow = np.minimum(sizes[:, 2] - sizes[:, 0], sizes[:, 3] - sizes[:, 1]) < NARROW_M - TOUCH_M
    length = sum(float(line.length) for line in lines)
    return length + ALIGNED_M * len(places) + NARROW_COST_M * int(narrow.sum())


def least_joints(
    atoms: Sequence[Polygon],
    stops: tuple[Sequence[float], Sequence[float]],
    longest_m: float,
    corners: Sequence[Polygon] = (),
    known: Sequence[LineString] = (),
) -> Shorter | None:
    """The division of atoms with the least joints; None where there are too many to weigh.

    Parameters
    ----------
    atoms : sequence of Polygon
        Parts of the region between all lines that joints may lie on, which run along x and y. [m]
    stops : (sequence, sequence)
        The lines at one x and at one y, the region's own ends among them. [m]
    longest_m : float
        No field is longer along x or y. [m]
    corners : sequence of Polygon
        Small places; in each some joint must begin, so that no field runs round it.
    known : sequence of LineString
        Joints of a division that serves; fields that end at these are weighed besides.
    """
    shapes = np.array(atoms, dtype=object)
    if not 1 < len(shapes) <= MOST_ATOMS:
        return None
    pairs, shared = _neighbors(shapes)
    beside = _beside(pairs, len(shapes))
    masks = _any_fields(shapes, beside, longest_m)
    if masks is None:
        masks = _fields(shapes, beside, stops, longest_m)
        kept = _off(shared, known)
        ended = _fields(shapes, _beside(pairs[kept], len(shapes)), stops, longest_m)
        if masks is None or ended is None:
            return None
        masks = list(dict.fromkeys([*masks, *ended]))
    for place in corners:
        touched = [int(k) for k in np.flatnonzero(shapely.intersects(shapes, place))]
        around = sum(1 << k for k in touched)
        if len(touched) > 1:
            masks = [mask for mask in masks if around & ~mask]
    holds = _members(masks, len(shapes))
    lengths = shapely.length(shared)
    found = _solve(shapes, holds, pairs, lengths, _lines_of(shared), longest_m)
    if found is None:
        return None
    chosen, proven = found
    owner = np.asarray(holds[:, chosen].argmax(axis=1)).ravel()
    parted = owner[pairs[:, 0]] != owner[pairs[:, 1]]
    whole = [shapely.union_all(shapes[owner == number]) for number in range(len(chosen))]
    fields = [one for one in whole if isinstance(one, Polygon)]
    if len(fields) < len(whole):
        return None
    return Shorter(_joined(shared[parted]), fields, proven)


def _neighbors(shapes: npt.NDArray[np.object_]) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.object_]]:
    """Pairs of atoms that share an edge, and the edges."""
    tree = shapely.STRtree(shapes)
    found = tree.query(shapes, predicate="intersects").T
    found = found[found[:, 0] < found[:, 1]]
    edges = shapely.intersection(shapes[found[:, 0]], shapes[found[:, 1]])
    good = shapely.length(edges) > TOUCH_M
    return found[good], edges[good]


def _beside(pairs: npt.NDArray[np.int64], count: int) -> list[int]:
    """For every atom those beside it, as bits."""
    beside = [0] * count
    for one, other in pairs.tolist():
        beside[one] |= 1 << other
        beside[other] |= 1 << one
    return beside


def _off(shared: npt.NDArray[np.object_], known: Sequence[LineString]) -> npt.NDArray[np.bool_]:
    """Which edges do not lie along known joints."""
    along = shapely.union_all([line.buffer(10 * TOUCH_M) for line in known])
    return ~np.asarray(shapely.contains(along, shapely.centroid(shared)))


def _fields(
    shapes: npt.NDArray[np.object_],
    beside: Sequence[int],
    stops: tuple[Sequence[float], Sequence[float]],
    longest_m: float,
) -> list[int] | None:
    """Fields within one rectangle between lines, as bits of their atoms."""
    bounds = shapely.bounds(shapes)
    sides = [_ranges(bounds[:, axis], bounds[:, axis + 2], stops[axis], longest_m) for axis in (0, 1)]
    found: dict[int, None] = {}
    seen: set[int] = set()
    for across in sides[0]:
        for up in sides[1]:
            inside = across & up
            if not inside or inside in seen:
                continue
            seen.add(inside)
            while inside:
                part = _spread(inside, beside)
                found[part] = None
                inside &= ~part
            if len(found) > MOST_FIELDS:
                return None
    return list(found)


def _any_fields(shapes: npt.NDArray[np.object_], beside: Sequence[int], longest_m: float) -> list[int] | None:
    """All fields, whatever their shape, as bits of their atoms; None where there are too many."""
    boxes = [tuple(float(value) for value in row) for row in shapely.bounds(shapes)]
    found: dict[int, tuple[float, ...]] = {1 << k: boxes[k] for k in range(len(shapes))}
    ahead = list(found)
    while ahead:
        after: list[int] = []
        for mask in ahead:
            left, low, right, high = found[mask]
            near = _around(mask, beside)
            while near:
                first = near & -near
                near ^= first
                if mask | first in found:
                    continue
                own = boxes[first.bit_length() - 1]
                grown = min(left, own[0]), min(low, own[1]), max(right, own[2]), max(high, own[3])
                if max(grown[2] - grown[0], grown[3] - grown[1]) <= longest_m + TOUCH_M:
                    found[mask | first] = grown
                    after.append(mask | first)
            if len(found) > MOST_FREE:
                return None
        ahead = after
    return list(found)


def _around(mask: int, beside: Sequence[int]) -> int:
    """The atoms beside those of a field."""
    near, rest = 0, mask
    while rest:
        first = rest & -rest
        rest ^= first
        near |= beside[first.bit_length() - 1]
    return near & ~mask


def _ranges(low: Floats, high: Floats, stops: Sequence[float], longest_m: float) -> list[int]:
    """For every pair of lines not too far apart the atoms that lie between them, as bits."""
    places = sorted(stops)
    found: dict[int, None] = {}
    for number, start in enumerate(places):
        for end in places[number + 1 :]:
            if end - start > longest_m + TOUCH_M:
                break
            inside = np.flatnonzero((low >= start - TOUCH_M) & (high <= end + TOUCH_M))
            found[sum(1 << int(k) for k in inside)] = None
    return [bits for bits in found if bits]


def _spread(inside: int, beside: Sequence[int]) -> int:
    """The atoms among some that hang together with the first of them."""
    part = edge = inside & -inside
    while edge:
        first = edge & -edge
        edge ^= first
        more = beside[first.bit_length() - 1] & inside & ~part
        part |= more
        edge |= more
    return part


def _members(masks: Sequence[int], count: int) -> sparse.csc_array:
    """Which atoms each field holds, atoms by fields."""
    rows: list[int] = []
    ends = [0]
    for mask in masks:
        while mask:
            first = mask & -mask
            rows.append(first.bit_length() - 1)
            mask ^= first
        ends.append(len(rows))
    return sparse.csc_array((np.ones(len(rows)), rows, ends), shape=(count, len(masks)))


def _lines_of(shared: npt.NDArray[np.object_]) -> npt.NDArray[np.int64]:
    """The line that every edge lies on, by number."""
    places = [_place(edge) for edge in shared]
    order = {place: number for number, place in enumerate(dict.fromkeys(places))}
    return np.array([order[place] for place in places], dtype=np.int64)


def _place(edge: shapely.Geometry) -> tuple[int, float]:
    left, low, right, high = shapely.bounds(edge)
    return (0, round(float(left), 3)) if right - left < high - low else (1, round(float(low), 3))


def _solve(
    shapes: npt.NDArray[np.object_],
    holds: sparse.csc_array,
    pairs: npt.NDArray[np.int64],
    lengths: Floats,
    line: npt.NDArray[np.int64],
    longest_m: float,
) -> tuple[npt.NDArray[np.int64], bool] | None:
    """The fields of the best division, and whether it is proven."""
    count, lines = holds.shape[1], int(line.max(initial=-1)) + 1
    edges = len(pairs)
    ends = np.concatenate([pairs[:, 0], pairs[:, 1]])
    signs = np.concatenate([np.ones(edges), -np.ones(edges)])
    turn = sparse.csr_array((signs, (np.tile(np.arange(edges), 2), ends)), shape=(edges, len(shapes)))
    sides = sparse.csr_array(turn @ holds)
    bounds = shapely.bounds(shapes)
    entries = holds.tocoo()
    atom, field = entries.coords
    low = np.full((count, 2), np.inf)
    high = np.full((count, 2), -np.inf)
    for axis in (0, 1):
        np.minimum.at(low[:, axis], field, bounds[atom, axis])
        np.maximum.at(high[:, axis], field, bounds[atom, axis + 2])
    size = high - low
    cost = np.asarray(abs(sides).T @ lengths) / 2
    cost += EVEN_M * ((size / longest_m) ** 2).sum(axis=1)
    cost += NARROW_COST_M * (size.min(axis=1) < NARROW_M - TOUCH_M)
    leaving = sides.copy()
    leaving.data = np.maximum(leaving.data, 0.0)
    uses = sparse.csr_array((-np.ones(edges), (np.arange(edges), line)), shape=(edges, lines))
    whole = sparse.hstack([holds, sparse.csr_array((len(shapes), lines))])
    rules = [
        LinearConstraint(sparse.csr_array(whole), 1, 1),
        LinearConstraint(sparse.csr_array(sparse.hstack([leaving, uses])), -np.inf, 0),
    ]
    done = milp(
        np.concatenate([cost, np.full(lines, ALIGNED_M)]),
        integrality=np.concatenate([np.ones(count), np.zeros(lines)]),
        bounds=Bounds(0, 1),
        constraints=rules,
        options={"node_limit": MOST_NODES, "mip_rel_gap": 1e-6},
    )
    if done.x is None:
        return None
    return np.flatnonzero(done.x[:count] > 0.5), bool(done.status == 0)


def _joined(edges: npt.NDArray[np.object_]) -> list[LineString]:
    """Edges on one line that meet, as one joint."""
    by_place: dict[tuple[int, float], list[LineString]] = {}
    for edge in edges:
        by_place.setdefault(_place(edge), []).extend(
            part for part in shapely.get_parts(edge) if isinstance(part, LineString)
        )
    joints: list[LineString] = []
    for place in sorted(by_place):
        merged = linemerge(by_place[place])
        for part in shapely.get_parts(merged):
            ends = shapely.get_coordinates(part)
            joints.append(LineString([ends[0], ends[-1]]))
    return joints
