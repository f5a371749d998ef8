"""Heating cable: one run out and back through a zone, of a kit's exact length, both ends near the control.

Squares are left off the far end of the line's tree until the line is as long as the cable, for that cannot be
cut. Bends are drawn and counted as quarter circles of half a spacing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Point, Polygon
from shapely.ops import substring

from undercourse.base.problems import Problem, Problems
from undercourse.layout.loops import (
    Cell,
    Tree,
    best_tree,
    make_lattice,
    square_within,
    walk_round,
    way_between,
)
from undercourse.layout.outlines import check_outline, edge_directions, make_outline
from undercourse.layout.strips import turn

Floats = npt.NDArray[np.float64]

SENSOR_M = 0.6
"""How far in from the run's ends the sensor lies, between the runs; common practice, no source. [m]"""

ARC_STEPS = 8
"""Straight pieces that a drawn quarter circle is made of."""

MOST_SPACINGS = 5
"""So many spacings of an open range are tried."""

FINER = 4
"""So often the step between two of them is halved for the kit that was chosen."""


@dataclass(frozen=True)
class CableKit:
    """A heating cable as sold; it cannot be cut or joined."""

    name: str
    length_m: float
    power_w: float
    voltage_v: float


@dataclass(frozen=True)
class CableRules:
    """How a cable may lie.

    Parameters
    ----------
    spacing_m : (float, float)
        Least and greatest distance between neighboring runs. [m]
    spacing_step_m : float
        Spacings are whole multiples of this where the sheet's studs say so; 0 for any. [m]
    bend_radius_m : float
        Least radius of a bend; bends have half the spacing. [m]
    wall_margin_m, obstacle_margin_m : float
        Least distance of the cable from the zone's edge and from obstacles. The defaults are 3 in and 2 in:
        published for one heated floor in a trade case (3 in from walls, 1 to 2 in from toe kicks). [m]
    joint_margin_m : float
        Least distance from movement joints. [m]
    direction_deg : float, optional
        Direction of the runs; by default the better of the zone's longest edges' and across. [deg]
    """

    spacing_m: tuple[float, float]
    spacing_step_m: float = 0.0
    bend_radius_m: float = 0.0
    wall_margin_m: float = 0.0762
    obstacle_margin_m: float = 0.0508
    joint_margin_m: float = 0.0508
    direction_deg: float | None = None


@dataclass(frozen=True)
class CableRun:
    """One kit laid in one zone.

    ``path`` starts and ends near the control and is ``laid_m`` long; ``excess_m`` is cable for which the zone
    has no room (then the kit must not be used). ``heated_m2`` is the laid length times the spacing,
    ``unheated_m2`` the rest of the zone that the cable could have reached, ``beyond_m2`` what it cannot reach
    without crossing a joint or squeezing through a narrow place; ``ends_m`` are the distances of its two ends
    from the control. ``sensor_way`` runs from between the ends to the sensor and crosses no cable.
    """

    kit: CableKit
    spacing_m: float
    path: LineString
    laid_m: float
    excess_m: float
    zone_m2: float
    heated_m2: float
    unheated_m2: float
    beyond_m2: float
    ends_m: tuple[float, float]
    amps: float
    density_w_m2: float
    sensor: tuple[float, float]
    sensor_way: LineString
    notes: tuple[str, ...]


def cable_run(
    zone: Polygon,
    kits: Sequence[CableKit],
    control: tuple[float, float],
    rules: CableRules,
    joints: Sequence[LineString] = (),
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
    rules : CableRules
        Spacing, bends and margins.
    joints : sequence of LineString
        Movement joints; the cable stays on one side of each. [m]

    Raises
    ------
    Problems
        When the zone, a kit or the spacing is unusable, or no run fits in the zone at all.
    """
    check_cable(zone, kits, control, rules)
    zone = make_outline(zone)
    free = free_zone(zone, rules, joints)
    best = best_choice(choices(free, edge_directions(zone)[0], control, rules), kits)
    if best is None:
        what = f"no loop fits between the margins at {rules.spacing_m[0]:g} m spacing"
        raise Problems([Problem("heated zone", what, "leave this zone without cable, or make it larger")])
    return lay(widened(best, free, control, rules), float(zone.area), control, bool(joints))


def check_cable(
    zone: Polygon, kits: Sequence[CableKit], control: tuple[float, float], rules: CableRules
) -> None:
    """Raise Problems with everything that keeps a cable from being laid."""
    problems = check_outline(zone, where="heated zone")
    if not kits:
        problems.append(Problem("kits", "no cable kit to choose from", "give at least one"))
    for kit in kits:
        numbers = (kit.length_m, kit.power_w, kit.voltage_v)
        if not all(math.isfinite(number) and number > 0 for number in numbers):
            what = "length, power and voltage must be above 0"
            problems.append(Problem(f'kit "{kit.name}"', what, "give metres, watts and volts"))
    low, high = rules.spacing_m
    if not (0.02 <= low <= high <= 0.5):
        what = f"{low:g} to {high:g} m is no range of spacings"
        problems.append(Problem("cable spacing", what, "give least and greatest, from 0.02 to 0.5 m"))
    elif not spacings(rules):
        what = f"no spacing of {low:g} to {high:g} m fits the studs and the bend radius"
        problems.append(Problem("cable spacing", what, "check spacing, studs and bend radius of the set"))
    margins = (
        rules.wall_margin_m, rules.obstacle_margin_m, rules.joint_margin_m, rules.spacing_step_m,
        rules.bend_radius_m,
    )  # fmt: skip
    if not all(math.isfinite(number) and 0 <= number <= 1 for number in margins):
        problems.append(Problem("margins", f"{margins} m", "give 0 to 1 m"))
    if not all(math.isfinite(number) for number in control):
        problems.append(Problem("control", f"{control} is no point", "give [x, y] in metres"))
    if problems:
        raise Problems(problems)


def free_zone(zone: Polygon, rules: CableRules, joints: Sequence[LineString] = ()) -> shapely.Geometry:
    """Where the cable may lie."""
    walls = Polygon(zone.exterior).buffer(-rules.wall_margin_m)
    holes = [Polygon(ring).buffer(rules.obstacle_margin_m) for ring in zone.interiors]
    bands = [joint.buffer(max(rules.joint_margin_m, 1e-3)) for joint in joints]
    return walls.difference(shapely.union_all([*holes, *bands]))


def spacings(rules: CableRules) -> list[float]:
    """The spacings that are tried, within the range, the studs and the bend radius."""
    low, high = rules.spacing_m
    low = max(low, 2 * rules.bend_radius_m)
    if low > high + 1e-9:
        return []
    step = rules.spacing_step_m
    if step > 0:
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        return [count * step for count in range(first, last + 1)]
    count = max(1, min(MOST_SPACINGS - 1, math.ceil((high - low) / 0.002)))
    return [low + share * (high - low) / count for share in range(count + 1)] if high > low else [low]


@dataclass(frozen=True)
class Choice:
    """A kit at one spacing and direction."""

    spacing: float
    angle: float
    tree: Tree
    room_m: float  # longest cable that the whole tree takes
    kit: CableKit = CableKit("", 1.0, 1.0, 1.0)

    @property
    def excess_m(self) -> float:
        """Cable for which there is no room. [m]"""
        return max(0.0, self.kit.length_m - self.room_m)

    def merit(self) -> tuple[float, float, float]:
        """Nothing over first, then most heated area, then the closest spacing."""
        heated = min(self.kit.length_m, self.room_m) * self.spacing
        return -round(self.excess_m, 6), round(heated, 6), -self.spacing


def choices(
    free: shapely.Geometry, edge_deg: float, control: tuple[float, float], rules: CableRules
) -> list[Choice]:
    """A tree for every direction and spacing at which any line fits."""
    if shapely.is_empty(free):
        return []
    held = rules.direction_deg
    angles = [edge_deg, (edge_deg + 90.0) % 180.0] if held is None else [held % 180.0]
    found = []
    for angle in angles:
        turned, spot = turn(free, -angle), turn(Point(control), -angle)
        for spacing in spacings(rules):
            tree = best_tree(make_lattice(turned, spacing), (spot.x, spot.y))
            if tree is not None:
                found.append(Choice(spacing, angle, tree, _length(tree.order, spacing)))
    return found


def best_choice(found: Sequence[Choice], kits: Sequence[CableKit]) -> Choice | None:
    """The kit, spacing and direction that leave nothing over and heat most; None where no line fits."""
    options = [replace(choice, kit=kit) for choice in found for kit in kits]
    return max(options, key=Choice.merit, default=None)


def widened(best: Choice, free: shapely.Geometry, control: tuple[float, float], rules: CableRules) -> Choice:
    """A kit that fits, at the widest spacing at which it still fits, for then it heats most."""
    if best.excess_m > 0 or rules.spacing_step_m > 0:
        return best
    turned, spot = turn(free, -best.angle), turn(Point(control), -best.angle)
    low = best.spacing
    high = next((one for one in spacings(rules) if one > low + 1e-9), low)
    for _ in range(FINER if high > low else 0):
        middle = (low + high) / 2
        tree = best_tree(make_lattice(turned, middle), (spot.x, spot.y))
        room = 0.0 if tree is None else _length(tree.order, middle)
        if tree is not None and room >= best.kit.length_m:
            low, best = middle, Choice(middle, best.angle, tree, room, best.kit)
        else:
            high = middle
    return best


def _length(squares: list[Cell], spacing: float) -> float:
    """Length of the line round squares less one spacing between its ends, bends as quarter circles. [m]"""
    ring = np.array(walk_round(squares))
    ahead = np.roll(ring, -1, axis=0) - ring
    bends = int(np.any(ahead != np.roll(ahead, 1, axis=0), axis=1).sum())
    arc = ARC_STEPS * math.sin(math.pi / (4 * ARC_STEPS))  # as drawn, in spacings: 1 cut off, this put in
    return float((len(ring) - 1 - bends * (1 - arc)) * spacing)


def _squares_for(tree: Tree, spacing: float, length: float) -> int:
    """Least number of the first squares whose line takes a length."""
    low, high = 1, len(tree.order)
    while low < high:
        middle = (low + high) // 2
        if _length(tree.order[:middle], spacing) >= length:
            high = middle
        else:
            low = middle + 1
    return low


def lay(choice: Choice, zone_m2: float, control: tuple[float, float], parted: bool) -> CableRun:
    """Lay a choice's kit."""
    tree, spacing, kit = choice.tree, choice.spacing, choice.kit
    squares = tree.order[: _squares_for(tree, spacing, kit.length_m)]
    corners = walk_round(squares)
    points = np.array(tree.lattice.origin) + np.array(corners, dtype=float) * spacing
    spot = turn(Point(control), -choice.angle)
    start = int(np.hypot(points[:, 0] - spot.x, points[:, 1] - spot.y).argmin())
    ring = np.roll(points, -start, axis=0)
    line = rounded(ring, spacing / 2)
    laid = min(kit.length_m, float(line.length))
    part = substring(line, 0, laid)
    assert isinstance(part, LineString)
    path = turn(part, choice.angle)
    ends = tuple(float(Point(path.coords[index]).distance(Point(control))) for index in (0, -1))
    heated = laid * spacing
    reach = tree.points * spacing**2
    beyond = 4 * len(tree.beyond) * spacing**2
    own = set(squares)
    gate = square_within(own, corners[start - 1], corners[start])
    way = way_between(tree, own, gate, max(1, round(SENSOR_M / spacing)))
    tube = np.array(tree.lattice.origin) + (np.array(way, dtype=float) + 0.5) * spacing
    mouth = (ring[0] + ring[-1]) / 2
    sensor_way = turn(LineString([mouth, *tube]), choice.angle)
    excess = kit.length_m - laid
    return CableRun(
        kit=kit,
        spacing_m=spacing,
        path=path,
        laid_m=laid,
        excess_m=excess if excess > 1e-6 else 0.0,
        zone_m2=zone_m2,
        heated_m2=heated,
        unheated_m2=max(0.0, reach - heated),
        beyond_m2=beyond,
        ends_m=(ends[0], ends[1]),
        amps=kit.power_w / kit.voltage_v,
        density_w_m2=kit.power_w / heated,
        sensor=(float(sensor_way.coords[-1][0]), float(sensor_way.coords[-1][1])),
        sensor_way=sensor_way,
        notes=tuple(_notes(choice, excess, reach - heated, reach, beyond, parted)),
    )


def rounded(points: Floats, radius: float) -> LineString:
    """An open line through points whose square bends are quarter circles of a radius."""
    ahead = np.diff(points, axis=0)
    ahead = ahead / np.hypot(ahead[:, 0], ahead[:, 1])[:, None]
    drawn: list[Floats] = [points[0]]
    turns = np.linspace(0.0, math.pi / 2, ARC_STEPS + 1)
    for corner, came, goes in zip(points[1:-1], ahead[:-1], ahead[1:], strict=True):
        if float(came @ goes) > 0.5:
            continue  # straight on
        middle = corner - came * radius + goes * radius
        drawn += [middle - goes * (radius * math.cos(t)) + came * (radius * math.sin(t)) for t in turns]
    drawn.append(points[-1])
    line = np.array(drawn)
    apart = np.hypot(*np.diff(line, axis=0).T) > 1e-9  # one bend may begin where the last one ends
    return LineString(line[np.concatenate([[True], apart])])


def _notes(
    choice: Choice, excess: float, unheated: float, reach: float, beyond: float, parted: bool
) -> list[str]:
    notes = []
    if excess > 1e-6:
        notes.append(f"{excess:.2f} m of {choice.kit.name} has nowhere to go: do not use this kit")
    if unheated > 0.1 * reach:
        notes.append(f"the longest kit that fits leaves {unheated:.2f} m2 without cable")
    if beyond > 0:
        why = "movement joints or narrow places" if parted else "narrow places"
        notes.append(f"{beyond:.2f} m2 beyond {why} need a cable of their own")
    return notes
