"""Movement joints: dividing an area into fields no longer than allowed either way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Polygon
from shapely.ops import linemerge, split

from undercourse.base.problems import Problem, Problems
from undercourse.layout.joint_lines import cut_region, longer, own_parts, runs_at, walls_square_to
from undercourse.layout.least_joints import least_joints, merit
from undercourse.layout.outlines import check_outline, edge_directions, make_outline, rings
from undercourse.layout.strips import turn

Floats = npt.NDArray[np.float64]

CORNER_LIMB_M = 1.0
"""An outside corner of the walls gets a joint when both walls there are at least this long; common practice,
no source. [m]"""

BESIDE_M = 0.001
"""A joint is tried this far on either side of a corner. [m]"""

EVEN_M = 0.01
"""So much joint a field is given away for fields of even length. [m]"""

SAME_M = 0.001
"""Totals this near to each other count as the same. [m]"""

MOST_FIELDS, MOST_POINTS, MOST_PARTINGS, MOST_TRIES = 12, 24, 12, 12
"""Beyond so many fields or points of an outline only grids are tried; of a region so many single joints, so
many of an area in all."""

ALIGNED_M = 0.4
"""So much joint an area gives away for lines that run straight through; common practice, no source. [m]"""

WORTH_M = 0.05
"""Where less joint than this could be saved, no shorter division is looked for. [m]"""

MOST_LINES = 14
"""So many lines each way are weighed together."""

NARROW_M = 0.5
"""No joint starts at a corner where it would leave a field narrower; common practice, no source. [m]"""

MOST_CORNERS = 5
"""With more corners to join than this, each takes its shorter joint, and combinations are not tried."""


KINDS = ("base joint", "change of material", "doorway", "corner", "field")
"""Why a joint stands where it does."""

DOOR_M = 0.1
"""A door line this near to the area's edge is an opening in it. [m]"""


@dataclass(frozen=True)
class MovementJoints:
    """An area divided by movement joints.

    ``least_m`` is proven for joints along and square to ``direction_deg``: none can total less while every
    field keeps the longest length both ways (joints from corners and through joints only add to it).
    """

    direction_deg: float
    joints: tuple[LineString, ...]
    kinds: tuple[str, ...]  # of every joint: KINDS
    thresholds: tuple[LineString, ...]  # door openings in the area's own edge
    fields: tuple[Polygon, ...]
    total_m: float
    least_m: float
    edge_m: float
    notes: tuple[str, ...]


def movement_joints(
    outline: Polygon,
    longest_m: float,
    *,
    direction_deg: float | None = None,
    module_m: tuple[float, float] | None = None,
    module_origin_m: tuple[float, float] = (0.0, 0.0),
    through: Sequence[LineString] = (),
    changes: Sequence[LineString] = (),
    doors: Sequence[LineString] = (),
    corner_limb_m: float = CORNER_LIMB_M,
) -> MovementJoints:
    """Divide an area with the least total length of joints that was found.

    Parameters
    ----------
    outline : Polygon
        The tiled area, obstacles as holes. [m]
    longest_m : float
        No field is longer than this along or across the direction. [m]
    direction_deg : float, optional
        Direction of the tiles; by default that of the longest edges. [deg]
    module_m : (float, float), optional
        Tile and grout joint along and across the direction; joints then lie on its lines. [m]
    module_origin_m : (float, float)
        A point where two lines of the module cross. [m]
    through : sequence of LineString
        Joints in the base, which go through wherever they run. [m]
    changes : sequence of LineString
        Where the material of the finish or of the base changes. [m]
    doors : sequence of LineString
        Door openings: a joint goes through at one inside the area, one in its edge is only counted. [m]
    corner_limb_m : float
        An outside corner of the outer walls gets a joint when both walls there are at least this long. [m]

    Raises
    ------
    Problems
        For an outline that cannot be used, or a length below 0.5 m or below two modules.
    """
    problems = check_outline(outline)
    least = max(0.5, *(2 * size for size in module_m or ()), 0.5)
    if not (math.isfinite(longest_m) and longest_m >= least):
        fix = f"give at least {least:g} m (half a metre, and two tiles)"
        problems.append(Problem("longest field", f"{longest_m:g} m cannot be kept", fix))
    if module_m is not None and not all(math.isfinite(size) and size >= 0.005 for size in module_m):
        problems.append(Problem("tile module", f"{module_m} m is no tile", "give two lengths from 5 mm"))
    if problems:
        raise Problems(problems)
    outline = make_outline(outline)
    angle = edge_directions(outline)[0] if direction_deg is None else direction_deg % 180.0
    origin = turn(shapely.Point(module_origin_m), -angle)
    lattice = None if module_m is None else ((origin.x, module_m[0]), (origin.y, module_m[1]))
    floor = turn(outline, -angle)
    divider = _Divider(longest_m, lattice, corner_limb_m)
    inner, thresholds = _sort_doors(outline, doors)
    lines: list[LineString] = []
    kinds: list[str] = []
    regions = [floor]
    for kind, given in zip(KINDS, (through, changes, inner), strict=False):
        for joint in given:
            turned = turn(joint, -angle)
            lines += own_parts(floor, turned, lines)
            kinds += [kind] * (len(lines) - len(kinds))
            cut = longer(turned) if isinstance(turned, LineString) and len(turned.coords) == 2 else turned
            regions = [part for region in regions for part in _parts(split(region, cut))]
    fields: list[Polygon] = []
    corners = divider.corners(floor)
    for region in regions:
        own = [corner for corner in corners if region.boundary.distance(shapely.Point(corner)) < BESIDE_M]
        own = [corner for corner in own if _is_outside(region, corner)]
        found = divider.shorten(region, divider.solve(region, tuple(own)), own)
        found = divider.evened(found, own)
        lines += found.lines
        kinds += [divider.kind(line) for line in found.lines]
        fields += found.fields
    total = sum(line.length for line in lines)
    return MovementJoints(
        angle,
        tuple(turn(line, angle) for line in lines),
        tuple(kinds),
        tuple(thresholds),
        tuple(turn(part, angle) for part in fields),
        total,
        least_joint_length(floor, longest_m),
        float(outline.length),
        tuple(divider.notes),
    )


def _sort_doors(outline: Polygon, doors: Sequence[LineString]) -> tuple[list[LineString], list[LineString]]:
    """Doors inside the area, and the stretches of its edge that other doors open."""
    inner, thresholds = [], []
    for door in doors:
        middle = door.interpolate(0.5, normalized=True)
        if outline.contains(middle) and outline.boundary.distance(middle) > DOOR_M:
            inner.append(door)
            continue
        opening = outline.boundary.intersection(door.buffer(DOOR_M, cap_style="flat"))
        runs = [part for part in shapely.get_parts(opening) if part.geom_type == "LineString"]
        merged = linemerge(runs) if len(runs) > 1 else shapely.MultiLineString(runs)
        longest = max(shapely.get_parts(merged), key=lambda part: part.length, default=None)
        if isinstance(longest, LineString) and longest.length > 0.3:
            thresholds.append(longest)
    return inner, thresholds


def _parts(geometry: shapely.Geometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(geometry) if isinstance(part, Polygon) and part.area > 1e-6]


def least_joint_length(floor: Polygon, longest_m: float) -> float:
    """Least total length of joints along x and y that leave no field longer than allowed. [m]

    Notes
    -----
    On any line along x, a run of length r inside the area crosses at least ceil(r / longest) - 1 joints.
    Integrated over y this bounds the length of joints along y, and likewise the other way.
    """
    swapped = shapely.transform(floor, lambda points: points[:, ::-1])
    return _crossings(floor, longest_m) + _crossings(swapped, longest_m)


def _crossings(floor: Polygon, longest_m: float) -> float:
    """Integral over y of the joints that lines along x must cross. [m]"""
    left, _, right, _ = floor.bounds
    levels = np.unique(np.round(np.concatenate(rings(floor))[:, 1], 9))
    low, high = levels[:-1], levels[1:]
    low, high = low[high - low >= 1e-6], high[high - low >= 1e-6]
    step = (high - low) * 1e-6
    ends = np.stack([low + step, high - step], axis=1).ravel()  # just above and just below every level
    across = np.tile([left - 1.0, right + 1.0], (len(ends), 1))
    lines = shapely.linestrings(np.stack([across, np.tile(ends[:, None], 2)], axis=-1))
    shapely.prepare(floor)
    parts, owner = shapely.get_parts(shapely.intersection(floor, lines), return_index=True)
    order = np.lexsort((shapely.bounds(parts)[:, 0], owner))
    lengths, owner = shapely.length(parts)[order], owner[order]
    starts = np.searchsorted(owner, np.arange(len(ends) + 1))
    total = 0.0
    for pair, (bottom, top, hair) in enumerate(zip(low, high, step, strict=True)):
        first, middle, last = starts[2 * pair : 2 * pair + 3]
        for one, other in zip(lengths[first:middle], lengths[middle:last], strict=False):
            total += _step_integral(float(one), float(other), longest_m) * float(top - bottom - 2 * hair)
    return total


def _step_integral(first: float, last: float, longest_m: float) -> float:
    """Mean of ceil(r / longest) - 1 for r going evenly from first to last; a hair of r is forgiven."""
    low, high = sorted((first - 1e-6, last - 1e-6))
    if high - low < 1e-9:
        return max(0.0, math.ceil(low / longest_m) - 1)
    total = 0.0
    for count in range(1, math.ceil(high / longest_m)):
        total += min(1.0, (high - count * longest_m) / (high - low))
    return total


@dataclass
class _Division:
    lines: list[LineString]
    fields: list[Polygon]

    @property
    def total_m(self) -> float:
        return float(sum(line.length for line in self.lines))


Lattice = tuple[tuple[float, float], tuple[float, float]]  # (start, step) along x and along y
Corner = tuple[float, float]


class _Divider:
    """Divides regions whose joints run along x and y."""

    def __init__(self, longest_m: float, lattice: Lattice | None, limb_m: float) -> None:
        self.longest_m = longest_m
        self.lattice = lattice
        self.limb_m = limb_m
        self.notes: list[str] = []
        self.tries_left = MOST_TRIES
        self.from_corners: set[bytes] = set()

    def corners(self, floor: Polygon) -> list[Corner]:
        """Outside corners of the outer walls between two walls of at least the limb's length."""
        ring = rings(floor)[0]
        ahead = np.roll(ring, -1, axis=0) - ring
        behind = np.roll(ahead, 1, axis=0)
        lengths = np.hypot(ahead[:, 0], ahead[:, 1])
        bend = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
        sine = bend / (lengths * np.roll(lengths, 1))
        sharp = (sine <= -math.sin(math.radians(30))) & (
            np.minimum(lengths, np.roll(lengths, 1)) >= self.limb_m
        )
        return [(float(x), float(y)) for x, y in ring[sharp]]

    def kind(self, line: LineString) -> str:
        """Whether a joint starts at a corner or only divides."""
        return "corner" if line.wkb in self.from_corners else "field"

    def snap(self, value: float, axis: int) -> float:
        """The nearest line of the tile module, or the value itself without one."""
        if self.lattice is None:
            return value
        start, step = self.lattice[axis]
        return start + round((value - start) / step) * step

    def solve(self, region: Polygon, corners: tuple[Corner, ...]) -> _Division:
        """Join each corner one way or the other, then divide what is still too long."""
        if not corners:
            return self.divide(region)
        corner, rest = corners[0], corners[1:]
        choices = [self._from_corner(region, corner, axis) for axis in (0, 1)]
        found = [choice for choice in choices if choice is not None]
        wide = [choice for choice in found if not any(_is_narrow(part) for part in choice[1])]
        if found and not wide:
            note = (
                f"an outside corner has no joint: the field beside it would be under {NARROW_M * 1000:.0f} mm"
            )
            self.notes += [] if note in self.notes else [note]
        found = wide
        if not found:
            return self.solve(region, rest)
        if len(corners) > MOST_CORNERS:
            found = [min(found, key=lambda choice: choice[0].length)]
        best: _Division | None = None
        for line, parts in found:
            lines, fields = [line], []
            for part in parts:
                own = tuple(c for c in rest if part.boundary.distance(shapely.Point(c)) < BESIDE_M)
                inner = self.solve(part, tuple(c for c in own if _is_outside(part, c)))
                lines += inner.lines
                fields += inner.fields
            division = _Division(lines, fields)
            if best is None or division.total_m < best.total_m - 1e-9:
                best = division
        assert best is not None
        return best

    def shorten(self, region: Polygon, found: _Division, corners: Sequence[Corner]) -> _Division:
        """Less joint than was found, where all divisions on the lines that matter can be weighed."""
        if not found.lines or found.total_m <= least_joint_length(region, self.longest_m) + WORTH_M:
            return found
        places = [self._lines_that_matter(region, found, axis) for axis in (0, 1)]
        runs = [run for axis in (0, 1) for own in runs_at(region, places[axis], axis) for run in own]
        left, low, right, high = region.bounds
        stops = ([left, *places[0], right], [low, *places[1], high])
        around = [self._around(corner) for corner in corners]
        joined = [one for one in around if any(line.intersects(one) for line in found.lines)]
        best = least_joints(cut_region(region, runs), stops, self.longest_m, joined, found.lines)
        if best is None or merit(best.lines, best.fields) > merit(found.lines, found.fields) - SAME_M:
            return found
        self.from_corners |= {line.wkb for line in best.lines if any(line.intersects(one) for one in joined)}
        return _Division(best.lines, best.fields)

    def evened(self, found: _Division, corners: Sequence[Corner]) -> _Division:
        """Joints that part nothing too long left out; others between two fields moved toward their middle,
        where that costs next to no length."""
        lines, fields = list(found.lines), list(found.fields)
        around = [self._around(corner) for corner in corners]
        for line in [*found.lines] * 2:
            axis = 0 if line.bounds[2] - line.bounds[0] < 1e-6 else 1
            held = self.kind(line) == "corner" or any(line.intersects(one) for one in around)
            if line not in lines or held or line.bounds[axis + 2] - line.bounds[axis] > 1e-6:
                continue
            near = _parted(line, fields)
            if len(near) != 2:
                continue
            both = shapely.union_all([fields[k] for k in near], grid_size=1e-7)
            if not isinstance(both, Polygon):
                continue
            moved = _Division([], [both])
            at = self.snap((both.bounds[axis] + both.bounds[axis + 2]) / 2, axis)
            if not self.fits(moved) and abs(at - line.bounds[axis]) >= 0.05:
                runs = self._runs(both, at, axis)
                moved = _Division(runs, cut_region(both, runs) if len(runs) == 1 else [])
            if self.fits(moved) and moved.total_m <= line.length + EVEN_M and len(moved.fields) > 0:
                if len(moved.fields) != len(moved.lines) + 1:
                    continue
                place = lines.index(line)
                lines[place : place + 1] = moved.lines
                fields = [one for k, one in enumerate(fields) if k not in near] + moved.fields
        return _Division(lines, fields)

    def _around(self, corner: Corner) -> Polygon:
        """Where a joint at a corner may begin: half a tile around it."""
        steps = (0.0, 0.0) if self.lattice is None else (self.lattice[0][1], self.lattice[1][1])
        across, up = (step / 2 + 2 * BESIDE_M for step in steps)
        return shapely.box(corner[0] - across, corner[1] - up, corner[0] + across, corner[1] + up)

    def _lines_that_matter(self, region: Polygon, found: _Division, axis: int) -> list[float]:
        """Lines of what was found, in line with walls, and a whole length off those and off the ends."""
        low, high = region.bounds[axis], region.bounds[axis + 2]
        own = [line.bounds[axis] for line in found.lines if line.bounds[axis + 2] - line.bounds[axis] < 1e-6]
        walls = walls_square_to(region, axis)
        count = math.ceil((high - low) / self.longest_m)
        off = [
            place + side * k * self.longest_m
            for k in range(1, count + 1)
            for place in (low, high, *walls)
            for side in (1, -1)
        ]
        if self.lattice is not None:
            start, step = self.lattice[axis]
            both = (math.floor, math.ceil)
            walls, off = (
                [start + way((place - start) / step) * step for place in places for way in both]
                for places in (walls, off)
            )
        chosen: list[float] = []
        for place in (*own, *walls, *off):
            inside = low + 2 * BESIDE_M < place < high - 2 * BESIDE_M
            if inside and all(abs(place - other) > 3 * BESIDE_M for other in chosen):
                chosen.append(float(place))
        return sorted(chosen[:MOST_LINES])

    def _from_corner(
        self, region: Polygon, corner: Corner, axis: int
    ) -> tuple[LineString, list[Polygon]] | None:
        """The joint square to an axis that starts at a corner, and the parts on its two sides."""
        at = self.snap(corner[axis], axis)
        reach = abs(at - corner[axis]) + BESIDE_M
        runs = []
        # A joint in line with a wall would run along it; a hair beside, only the free part is left.
        for beside in (at,) if self.lattice else (at - 1e-5, at + 1e-5):
            runs += [
                run
                for run in self._runs(region, beside, axis)
                if run.distance(shapely.Point(corner)) <= reach
            ]
        runs = [run for run in runs if not region.boundary.buffer(2e-5).contains(run)]
        if not runs:
            return None
        line = min(runs, key=lambda run: float(run.length))
        parts = _parts(split(region, longer(line)))
        if len(parts) < 2:
            return None
        if self.lattice and abs(at - corner[axis]) > BESIDE_M:
            note = "joints at corners lie on the nearest line of the tiles"
            self.notes += [] if note in self.notes else [note]
        self.from_corners.add(line.wkb)
        return line, parts

    def _runs(self, region: Polygon, at: float, axis: int) -> list[LineString]:
        """The stretches inside a region of the line at one x (axis 0) or one y (axis 1)."""
        return runs_at(region, [at], axis)[0]

    def divide(self, region: Polygon) -> _Division:
        """The best grid, or one joint that parts the region and the best of what it leaves."""
        best = self.grid(region)
        if best.total_m <= SAME_M or len(best.fields) > MOST_FIELDS or _count(region) > MOST_POINTS:
            return best
        if best.total_m <= least_joint_length(region, self.longest_m) + SAME_M:
            return best
        parted = 0
        for line in self._single_joints(region):
            if min(self.tries_left, MOST_PARTINGS - parted) <= 0 or line.length > best.total_m - SAME_M:
                break
            parts = _parts(split(region, longer(line)))
            if len(parts) < 2:
                continue
            parted += 1
            bound = line.length + sum(least_joint_length(part, self.longest_m) for part in parts)
            if bound > best.total_m - ALIGNED_M:
                continue
            self.tries_left -= 1
            inner = [self.divide(part) for part in parts]
            division = _Division(
                [line, *(one for own in inner for one in own.lines)],
                [field for own in inner for field in own.fields],
            )
            if division.total_m < best.total_m - ALIGNED_M and self.fits(division):
                best = division
        return best

    def _single_joints(self, region: Polygon) -> list[LineString]:
        """Single joints that may part a region, shortest first."""
        runs: list[LineString] = []
        for axis in (0, 1):
            low, high = region.bounds[axis], region.bounds[axis + 2]
            ends = np.concatenate(rings(region))[:, axis]
            places = self._places(region, axis, low, high)
            if self.lattice is None:
                places += [float(end) for end in ends if low + BESIDE_M < end < high - BESIDE_M]
            for found in runs_at(region, sorted(set(places)), axis):
                runs += found
        runs.sort(key=lambda run: (round(float(run.length), 3), run.bounds))
        # The same joint a millimeter aside is no other one.
        return list({tuple(np.round(run.bounds, 2)): run for run in reversed(runs)}.values())[::-1]

    def grid(self, region: Polygon) -> _Division:
        """Divide by straight lines: both ways through, or each part for itself where that is shorter."""
        found: list[_Division] = []
        both = [*self._lines(region, 0), *self._lines(region, 1)]
        found.append(_Division(both, cut_region(region, both)))
        for first in (0, 1):
            lines = self._lines(region, first)
            parts = cut_region(region, lines)
            own = [line for part in parts for line in self._lines(part, 1 - first)]
            found.append(
                _Division(
                    [*lines, *own], [piece for part in parts for piece in self._finish(part, 1 - first)]
                )
            )
        best = found[0]
        for division in found[1:]:
            worth = ALIGNED_M if self.fits(best) else -math.inf
            if division.total_m < best.total_m - worth and self.fits(division):
                best = division
        return best

    def _finish(self, part: Polygon, axis: int) -> list[Polygon]:
        return cut_region(part, self._lines(part, axis))

    def fits(self, division: _Division) -> bool:
        """Whether no field is too long."""
        return all(
            max(part.bounds[2] - part.bounds[0], part.bounds[3] - part.bounds[1]) <= self.longest_m + 1e-4
            for part in division.fields
        )

    def _lines(self, region: Polygon, axis: int) -> list[LineString]:
        """Lines square to an axis with the least total length that keep the longest field along it."""
        low, high = region.bounds[axis], region.bounds[axis + 2]
        if high - low <= self.longest_m + 1e-6:
            return []
        places = self._places(region, axis, low, high)
        runs = runs_at(region, places, axis)
        places = [place for place, run in zip(places, runs, strict=True) if run]
        runs = [run for run in runs if run]
        stops = [low, *places, high]
        best = [0.0] + [math.inf] * (len(stops) - 1)
        came = [0] * len(stops)
        start = 0
        for index in range(1, len(stops)):
            own = sum(run.length for run in runs[index - 1]) if index <= len(places) else 0.0
            while stops[index] - stops[start] > self.longest_m + 1e-6:
                start += 1
            for before in range(start, index):
                gap = stops[index] - stops[before]
                cost = best[before] + own + EVEN_M * (gap / self.longest_m) ** 2
                if cost < best[index]:
                    best[index], came[index] = cost, before
        lines: list[LineString] = []
        index = came[-1]
        while index > 0:
            lines = runs[index - 1] + lines
            index = came[index]
        return lines

    def _places(self, region: Polygon, axis: int, low: float, high: float) -> list[float]:
        """Where lines may lie: on the module, or beside corners, at even shares, and at whole lengths off."""
        longest = self.longest_m
        if self.lattice is not None:
            start, step = self.lattice[axis]
            first, last = math.ceil((low - start) / step), math.floor((high - start) / step)
            places = [start + count * step for count in range(first, last + 1)]
        else:
            count = math.ceil((high - low) / longest - 1e-9)
            ends = np.unique(np.round(np.concatenate(rings(region))[:, axis], 6))
            base = [low, high, *(end + side for end in ends for side in (-BESIDE_M, BESIDE_M))]
            places = [low + share * (high - low) / n for n in (count, count + 1) for share in range(1, n)]
            for k in range(count + 1):
                places += [spot + side * k * longest for spot in base for side in (-1, 1)]
        inside = np.array([place for place in places if low + BESIDE_M < place < high - BESIDE_M])
        return [float(place) for place in np.unique(np.round(inside, 6))]


def _parted(line: LineString, fields: Sequence[Polygon]) -> list[int]:
    """The fields on the two sides of a joint, if the same two lie along all of it."""
    count = max(5, math.ceil(line.length / 0.05))
    spots = shapely.line_interpolate_point(line, (np.arange(count) + 0.5) / count, normalized=True)
    far = np.array([shapely.distance(shapely.boundary(one), spots) for one in fields])
    near: list[int] = np.flatnonzero(far.min(axis=1) < BESIDE_M).tolist()
    return near if len(near) == 2 and far[near].max() < BESIDE_M else []


def _is_narrow(part: Polygon) -> bool:
    return bool(part.buffer(-NARROW_M / 2).is_empty)


def _count(region: Polygon) -> int:
    return len(shapely.get_coordinates(region))


def _is_outside(part: Polygon, corner: Corner) -> bool:
    """Whether a corner still juts into a part: more than half of a small disc around it is inside."""
    disc = shapely.Point(corner).buffer(0.01)
    return bool(part.intersection(disc).area > 0.55 * disc.area)
