"""Movement joints of one area: how far apart and how wide by its facts, where, and what they take."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from shapely import LineString, Polygon

from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Span
from undercourse.base.frame import Frame
from undercourse.base.problems import Problems
from undercourse.base.units import UNITS, show_quantity
from undercourse.facts.jobs import Area
from undercourse.judge.rulebook import Rulebook
from undercourse.layout import MovementJoints, make_outline, movement_joints
from undercourse.line.comparing import applies

_INCH = 0.0254
HEATED_M = 12 * 0.3048
"""A heated floor counts with those in sun: from memory, confidence 75. [m]"""

LEAST_WIDTH_M = _INCH / 4
DEPTH_SHARE, LEAST_DEPTH_M, MOST_DEPTH_M = 0.5, _INCH / 4, _INCH / 2
"""Sealant is half as deep as wide, 1/4 to 1/2 in: trade articles."""

ROD_OVER = 1.25
"""Closed-cell rod is about a quarter thicker than the joint is wide: from memory."""

ROD_STEP_M = _INCH / 8


@dataclass
class JointRule:
    """Greatest field, least width, and where both come from. [m]"""

    longest_m: float | None
    longest_from: str
    width_m: float
    width_from: str
    notes: list[str] = field(default_factory=list)

    @property
    def depth_m(self) -> float:
        """Depth of the sealant. [m]"""
        return min(max(DEPTH_SHARE * self.width_m, LEAST_DEPTH_M), MOST_DEPTH_M)

    @property
    def rod_m(self) -> float:
        """Diameter of the backing rod. [m]"""
        return math.ceil(ROD_OVER * self.width_m / ROD_STEP_M - 1e-6) * ROD_STEP_M


def _feet(length_m: float) -> str:
    return show_quantity(length_m, UNITS["ft"])


def _inches(length_m: float) -> str:
    return show_quantity(length_m, UNITS["in"])


def joint_rule(area: Area, facts: Frame, row: int, book: Rulebook) -> JointRule:
    """Greatest field and joint width: as stated, but never beyond what the guideline allows for the place."""
    allowed, source, unsure = _limit(book, facts, row, "movement_joint_spacing", "at_most")
    width, width_from, _ = _limit(book, facts, row, "movement_joint_width", "at_least")
    rule = JointRule(
        allowed, source, max(width or 0.0, LEAST_WIDTH_M), width_from or "common practice, no source"
    )
    if _surely(facts, row, "heating", "none", inside=False) and (allowed is None or allowed > HEATED_M):
        rule.longest_m = HEATED_M
        rule.longest_from = "a heated floor counts with those in sun (from memory)"
    elif unsure and allowed is not None:
        rule.notes.append(
            f"Fields of {_feet(allowed)}: not every fact about sun, water and base is known; "
            "with all of them fewer joints may do."
        )
    said = _exact(area, facts, row, "movement_joint_spacing", most=True)
    if said is not None and (rule.longest_m is None or said <= rule.longest_m + 1e-9):
        rule.longest_m, rule.longest_from = said, "as stated for this area"
    elif said is not None and rule.longest_m is not None:
        rule.notes.append(
            f"Stated are joints {_feet(said)} apart; drawn at {_feet(rule.longest_m)}: {rule.longest_from}."
        )
    wide = _exact(area, facts, row, "movement_joint_width", most=False)
    if wide is not None and wide >= rule.width_m - 1e-9:
        rule.width_m, rule.width_from = wide, "as stated for this area"
    elif wide is not None and wide > 0:
        rule.notes.append(
            f"Stated are joints {_inches(wide)} wide; counted at {_inches(rule.width_m)}: {rule.width_from}."
        )
    return rule


def _limit(
    book: Rulebook, facts: Frame, row: int, demand: str, comparison: str
) -> tuple[float | None, str, bool]:
    """The strictest rule that may apply, its source, and whether a milder one is sure where it is not."""
    upper = comparison == "at_most"
    found: list[tuple[float, bool, str]] = []
    for rule in book.practice.rules:
        if rule.demand != demand or rule.comparison != comparison:
            continue
        truth = applies(rule, facts)
        if bool(pick(truth.may, row)):
            end = rule.capacity.end(upper)
            value = float(end.high[0] if upper else end.low[0])
            found.append((value, bool(pick(truth.must, row)), rule.source or rule.basis))
    if not found:
        return None, "", False
    strict = min(found, key=lambda one: (one[0] if upper else -one[0], not one[1]))
    return strict[0], strict[2], not strict[1] and any(one[1] for one in found)


def _surely(facts: Frame, row: int, name: str, choice: str, *, inside: bool) -> bool:
    """Whether a fact is surely one choice, or surely another one."""
    bits = 1 << facts.domain(name).choices.index(choice)
    spec = facts.columns.spec(name, row)
    assert isinstance(spec, Choices)
    return spec.bits == bits if inside else not spec.bits & bits


def _exact(area: Area, facts: Frame, row: int, name: str, *, most: bool) -> float | None:
    """The end of what was stated: the greatest spacing, the least width."""
    if name not in area.readings:
        return None
    spec = facts.columns.spec(name, row)
    assert isinstance(spec, Span)
    return spec.high if most else spec.low


def tile_module(facts: Frame, row: int) -> tuple[float, float] | None:
    """Tile with its joint, long edge first, where all three sizes are known."""
    sizes = []
    for name in ("tile_long_edge", "tile_short_edge", "grout_joint"):
        spec = facts.columns.spec(name, row)
        if not isinstance(spec, Span) or spec.high - spec.low > 1e-9 or spec.low <= 0:
            return None
        sizes.append(spec.low)
    return sizes[0] + sizes[2], sizes[1] + sizes[2]


def joint_plan(area: Area, facts: Frame, row: int, book: Rulebook) -> dict[str, Any] | None:
    """Movement joints of an area with an outline; None where no tile is laid or no floor.

    Returns
    -------
    dict
        ``joints`` of kind, line and length, ``fields``, lengths of joints, doorways and edges, the sealant
        and rod that they take, and where the greatest field and the width come from.
    """
    if area.outline is None or _surely(facts, row, "finish", "not tile", inside=True):
        return None
    if _surely(facts, row, "surface", "floor", inside=False):
        return None
    outline = make_outline(list(area.outline), [list(ring) for ring in area.obstacles], area.name)
    rule = joint_rule(area, facts, row, book)
    marks = area.marks
    if not marks.base_joint_lines and _surely(facts, row, "base_joints", "none", inside=False):
        rule.notes.append(
            "The base has joints that are not drawn here: carry each through the tile, and give their lines "
            "as base_joint_lines."
        )
    lines = [[LineString(ring) for ring in rings] for rings in (marks.base_joint_lines, marks.material_lines)]
    doors = [LineString(door) for door in area.doors]
    longest = rule.longest_m
    if longest is None:
        rule.notes.append("No rule on spacing is known for this place: state movement_joint_spacing.")
        longest = 1000.0
    module = tile_module(facts, row)
    found = _divide(outline, longest, lines, doors, module, area, rule)
    return _document(found, rule, outline, doors)


def plan_joints(
    outline: Polygon, longest_m: float, doors: Sequence[LineString] = (), width_m: float = LEAST_WIDTH_M
) -> dict[str, Any]:
    """Movement joints of an area of which only the outline is known, as ``joint_plan`` gives them.

    Parameters
    ----------
    outline : Polygon
        The tiled area, obstacles as holes. [m]
    longest_m : float
        No field is longer either way. [m]
    doors : sequence of LineString
        Door openings. [m]
    width_m : float
        Width of the joints. [m]

    Raises
    ------
    Problems
        For an outline that cannot be used, or a length below 0.5 m.
    """
    rule = JointRule(longest_m, "as asked", max(width_m, LEAST_WIDTH_M), "common practice, no source")
    found = movement_joints(outline, longest_m, doors=doors)
    return _document(found, rule, outline, list(doors))


def _divide(
    outline: Polygon,
    longest_m: float,
    lines: list[list[LineString]],
    doors: list[LineString],
    module: tuple[float, float] | None,
    area: Area,
    rule: JointRule,
) -> MovementJoints:
    """On the lines of the tiles where their size is known and they allow it."""
    plain = movement_joints(outline, longest_m, through=lines[0], changes=lines[1], doors=doors)
    if module is None or not any(kind in ("field", "corner") for kind in plain.kinds):
        return plain
    start = area.marks.tile_start or _first_corner(outline, plain.direction_deg)
    try:
        found = movement_joints(
            outline,
            longest_m,
            direction_deg=plain.direction_deg,
            module_m=module,
            module_origin_m=start,
            through=lines[0],
            changes=lines[1],
            doors=doors,
        )
    except Problems:
        return plain
    if not _within(found, longest_m):
        return plain
    where = f"({start[0]:.2f}, {start[1]:.2f})"
    rule.notes.append(
        f"Joints lie on the lines of tiles {_inches(module[0])} by {_inches(module[1])} with their grout "
        f"joint, counted from {where} with the long edge along the room; set out otherwise, move each to "
        "the nearest grout joint that keeps the field."
    )
    return found


def told_joint_plan(outline: Polygon, longest_m: float, doors: list[LineString]) -> dict[str, Any]:
    """Movement joints of a bare outline whose greatest field is told, as ``joint_plan`` gives them.

    Raises
    ------
    Problems
        For a length that cannot be kept.
    """
    rule = JointRule(longest_m, "as told", LEAST_WIDTH_M, "common practice, no source")
    return _document(movement_joints(outline, longest_m, doors=doors), rule, outline, doors)


def _within(found: MovementJoints, longest_m: float) -> bool:
    return all(max(_sizes(part, found.direction_deg)) <= longest_m + 1e-3 for part in found.fields)


def _first_corner(outline: Polygon, angle_deg: float) -> tuple[float, float]:
    """The corner of the outline that comes first across and along the tiles."""
    angle = math.radians(angle_deg)
    points = np.asarray(outline.exterior.coords)
    rank = points @ np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    first = points[int(np.argmin(rank.sum(axis=1)))]
    return float(first[0]), float(first[1])


def _sizes(part: Polygon, angle_deg: float) -> tuple[float, float]:
    """Length of a field along and across the tiles. [m]"""
    angle = math.radians(angle_deg)
    points = np.asarray(part.exterior.coords)
    along = points @ np.array([math.cos(angle), math.sin(angle)])
    across = points @ np.array([-math.sin(angle), math.cos(angle)])
    return float(np.ptp(along)), float(np.ptp(across))


def _document(
    found: MovementJoints, rule: JointRule, outline: Polygon, doors: list[LineString]
) -> dict[str, Any]:
    doorways = sum(line.length for line in found.thresholds)
    edges = max(0.0, found.edge_m - doorways)
    length = found.total_m + doorways + edges
    order = sorted(found.fields, key=lambda part: (-round(part.centroid.y, 2), round(part.centroid.x, 2)))
    return {
        "longest_field_m": None if rule.longest_m is None else round(rule.longest_m, 4),
        "longest_field_from": rule.longest_from,
        "width_m": round(rule.width_m, 5),
        "width_from": rule.width_from,
        "direction_deg": round(found.direction_deg, 4),
        "joints": [
            {"kind": kind, "line": _points(line), "length_m": round(line.length, 4)}
            for kind, line in zip(found.kinds, found.joints, strict=True)
        ],
        "doorways": [_points(line) for line in found.thresholds],
        "fields": [
            {
                "id": f"F{number}",
                "long_m": round(max(_sizes(part, found.direction_deg)), 4),
                "short_m": round(min(_sizes(part, found.direction_deg)), 4),
                "area_m2": round(float(part.area), 4),
                "outline": _points(part.exterior)[:-1],
            }
            for number, part in enumerate(order, 1)
        ],
        "joint_length_m": round(found.total_m, 4),
        "least_length_m": round(found.least_m, 4),
        "doorway_length_m": round(doorways, 4),
        "edge_length_m": round(edges, 4),
        "sealant_depth_m": round(rule.depth_m, 5),
        "sealant_l": round(length * rule.width_m * rule.depth_m * 1000, 3),
        "rod_m": round(length, 3),
        "rod_diameter_m": round(rule.rod_m, 5),
        "notes": [*rule.notes, *(note[:1].upper() + note[1:] + "." for note in found.notes)],
    }


def _points(line: Any) -> list[list[float]]:
    return [[round(float(x), 4), round(float(y), 4)] for x, y, *_ in line.coords]
