"""Heating cable: one run out and back through a zone, of a kit's exact length, both ends near the control.

Squares are left off the tips of the line's tree until the line is as long as the cable, which cannot be cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Point, Polygon
from shapely.ops import substring

from undercourse.base.problems import Problem, Problems
from undercourse.layout.loops import Tree, best_tree, prune, walk_round
from undercourse.layout.outlines import check_outline, edge_directions, make_outline
from undercourse.layout.strips import turn


@dataclass(frozen=True)
class CableKit:
    """A heating cable as sold; it cannot be cut or joined."""

    name: str
    length_m: float
    power_w: float
    voltage_v: float


@dataclass(frozen=True)
class CableRun:
    """One kit laid in one zone.

    ``path`` starts and ends near the control and is ``laid_m`` long; ``excess_m`` is cable for which the zone
    has no room (then the kit must not be used). ``heated_m2`` is the laid length times the spacing,
    ``unheated_m2`` the rest of the zone that the cable could have reached; ``ends_m`` are the distances of
    its two ends from the control.
    """

    kit: CableKit
    spacing_m: float
    path: LineString
    laid_m: float
    excess_m: float
    zone_m2: float
    heated_m2: float
    unheated_m2: float
    ends_m: tuple[float, float]
    amps: float
    density_w_m2: float
    sensor: tuple[float, float]
    notes: tuple[str, ...]


def cable_run(
    zone: Polygon,
    kits: Sequence[CableKit],
    control: tuple[float, float],
    *,
    spacing_m: tuple[float, float],
    spacing_step_m: float = 0.0,
    wall_margin_m: float = 0.075,
    obstacle_margin_m: float = 0.05,
    joints: Sequence[LineString] = (),
    joint_margin_m: float = 0.05,
    direction_deg: float | None = None,
) -> CableRun:
    """Choose the kit and spacing that heat most of a zone, and lay the cable.

    Parameters
    ----------
    zone : Polygon
        The area that may be heated, fixtures and obstacles as holes. [m]
    kits : sequence of CableKit
        Kits to choose from.
    control : (float, float)
        Where the cold leads go up the wall. [m]
    spacing_m : (float, float)
        Least and greatest distance between neighboring runs. [m]
    spacing_step_m : float
        Spacings are whole multiples of this where the sheet's studs say so; 0 for any. [m]
    wall_margin_m, obstacle_margin_m : float
        Least distance of the cable from the zone's edge and from obstacles. The defaults are 3 in and 2 in:
        published for one heated floor in a trade case (3 in from walls, 1 to 2 in from toe kicks). [m]
    joints : sequence of LineString
        Movement joints; the cable stays ``joint_margin_m`` away from them, and so on one side. [m]
    direction_deg : float, optional
        Direction of the runs; by default the better of the zone's longest edges' and across. [deg]

    Raises
    ------
    Problems
        When the zone, a kit or the spacing is unusable, or no run fits in the zone at all.
    """
    _check(zone, kits, control, spacing_m, (wall_margin_m, obstacle_margin_m, joint_margin_m, spacing_step_m))
    zone = make_outline(zone)
    free = _free(zone, wall_margin_m, obstacle_margin_m, joints, joint_margin_m)
    first = edge_directions(zone)[0]
    angles = [first, (first + 90.0) % 180.0] if direction_deg is None else [direction_deg % 180.0]
    best: _Choice | None = None
    for angle in angles:
        turned, spot = turn(free, -angle), turn(Point(control), -angle)
        for spacing in _spacings(spacing_m, spacing_step_m):
            tree = best_tree(turned, spacing, (spot.x, spot.y))
            if tree is None:
                continue
            for kit in kits:
                choice = _Choice(kit, spacing, angle, tree)
                if best is None or choice.merit() > best.merit():
                    best = choice
    if best is None:
        what = f"no loop fits between the margins at {spacing_m[0]:g} m spacing"
        raise Problems([Problem("heated zone", what, "leave this zone without cable, or make it larger")])
    return _lay(best, zone, free, control, joints)


def _check(
    zone: Polygon,
    kits: Sequence[CableKit],
    control: tuple[float, float],
    spacing_m: tuple[float, float],
    margins: tuple[float, ...],
) -> None:
    problems = check_outline(zone, where="heated zone")
    if not kits:
        problems.append(Problem("kits", "no cable kit to choose from", "give at least one"))
    for kit in kits:
        numbers = (kit.length_m, kit.power_w, kit.voltage_v)
        if not all(math.isfinite(number) and number > 0 for number in numbers):
            what = "length, power and voltage must be above 0"
            problems.append(Problem(f'kit "{kit.name}"', what, "give metres, watts and volts"))
    if not (0.02 <= spacing_m[0] <= spacing_m[1] <= 0.5):
        what = f"{spacing_m[0]:g} to {spacing_m[1]:g} m is no range of spacings"
        problems.append(Problem("cable spacing", what, "give least and greatest, from 0.02 to 0.5 m"))
    if not all(math.isfinite(number) and 0 <= number <= 1 for number in margins):
        problems.append(Problem("margins", f"{margins} m", "give 0 to 1 m"))
    if not all(math.isfinite(number) for number in control):
        problems.append(Problem("control", f"{control} is no point", "give [x, y] in metres"))
    if problems:
        raise Problems(problems)


def _free(
    zone: Polygon, wall_m: float, obstacle_m: float, joints: Sequence[LineString], joint_m: float
) -> shapely.Geometry:
    """Where the cable may lie."""
    walls = Polygon(zone.exterior).buffer(-wall_m)
    holes = [Polygon(ring).buffer(obstacle_m) for ring in zone.interiors]
    bands = [joint.buffer(max(joint_m, 1e-3)) for joint in joints]
    return walls.difference(shapely.union_all([*holes, *bands]))


def _spacings(allowed: tuple[float, float], step: float) -> list[float]:
    low, high = allowed
    if step > 0:
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        return [count * step for count in range(first, last + 1)]
    count = max(1, min(24, math.ceil((high - low) / 0.002)))
    return [low + share * (high - low) / count for share in range(count + 1)] if high > low else [low]


@dataclass(frozen=True)
class _Choice:
    kit: CableKit
    spacing: float
    angle: float
    tree: Tree

    @property
    def squares(self) -> int:
        """Squares that the kit needs: the line round n squares, less one spacing between its ends."""
        return math.ceil((self.kit.length_m / self.spacing + 1) / 4 - 1e-9)

    @property
    def room_m(self) -> float:
        """Longest cable that the whole tree takes. [m]"""
        return (4 * len(self.tree.parents) - 1) * self.spacing

    @property
    def excess_m(self) -> float:
        """Cable for which there is no room. [m]"""
        return max(0.0, self.kit.length_m - self.room_m)

    def merit(self) -> tuple[float, float, float]:
        """Nothing over first, then most heated area, then the closest spacing."""
        heated = min(self.kit.length_m, self.room_m) * self.spacing
        return -round(self.excess_m, 6), round(heated, 6), -self.spacing


def _lay(
    choice: _Choice,
    zone: Polygon,
    free: shapely.Geometry,
    control: tuple[float, float],
    joints: Sequence[LineString],
) -> CableRun:
    tree, spacing, kit = choice.tree, choice.spacing, choice.kit
    kept = prune(tree, choice.squares)
    quarters = np.array(walk_round(tree, kept), dtype=float)
    points = np.array(tree.origin) + (quarters + 0.5) * spacing
    spot = turn(Point(control), -choice.angle)
    start = int(np.hypot(points[:, 0] - spot.x, points[:, 1] - spot.y).argmin())
    ring = np.roll(points, -start, axis=0)
    laid = min(kit.length_m, choice.room_m)
    line = substring(LineString([*ring, ring[0]]), 0, laid)
    path = turn(_straightened(line), choice.angle)
    ends = tuple(float(Point(path.coords[index]).distance(Point(control))) for index in (0, -1))
    heated = laid * spacing
    reach = len(tree.parents) * 4 * spacing**2
    middle = turn(Point(_sensor(ring, spacing)), choice.angle)
    notes = _notes(choice, reach, heated, joints)
    return CableRun(
        kit,
        spacing,
        path,
        laid,
        kit.length_m - laid,
        float(zone.area),
        heated,
        max(0.0, reach - heated),
        (ends[0], ends[1]),
        kit.power_w / kit.voltage_v,
        kit.power_w / heated,
        (float(middle.x), float(middle.y)),
        tuple(notes),
    )


def _straightened(line: shapely.Geometry) -> LineString:
    """The line without corners on straight stretches."""
    points = shapely.get_coordinates(line)
    ahead = np.diff(points, axis=0)
    bend = np.abs(ahead[:-1, 0] * ahead[1:, 1] - ahead[:-1, 1] * ahead[1:, 0]) > 1e-9
    return LineString(points[np.concatenate([[True], bend, [True]])])


def _sensor(ring: npt.NDArray[np.float64], spacing: float) -> tuple[float, float]:
    """Midway between two runs: beside the line, half a spacing in, some way along the first straight."""
    far = min(len(ring) - 1, 6)
    ahead = (ring[far] - ring[far - 1]) / spacing
    middle = (ring[far] + ring[far - 1]) / 2
    side = np.array([-ahead[1], ahead[0]]) * spacing / 2
    gaps = [np.abs(np.hypot(*(ring - (middle + way)).T)).min() for way in (side, -side)]
    spot = middle + (side if gaps[0] <= gaps[1] else -side)
    return float(spot[0]), float(spot[1])


def _notes(choice: _Choice, reach: float, heated: float, joints: Sequence[LineString]) -> list[str]:
    notes = []
    if choice.excess_m > 1e-6:
        notes.append(f"{choice.excess_m:.2f} m of {choice.kit.name} has nowhere to go: do not use this kit")
    if reach - heated > 0.1 * reach:
        notes.append(f"the longest kit that fits leaves {reach - heated:.2f} m2 without cable")
    if choice.tree.reachable > len(choice.tree.parents):
        area = (choice.tree.reachable - len(choice.tree.parents)) * 4 * choice.spacing**2
        why = "movement joints or narrow places" if joints else "narrow places"
        notes.append(f"{area:.2f} m2 beyond {why} need a cable of their own")
    return notes
