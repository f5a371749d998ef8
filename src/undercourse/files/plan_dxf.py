"""Areas of a DXF drawing: outlines by layer, obstacles in them, names, doors, and what was mended."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

import numpy as np
import shapely
from shapely import Polygon, STRtree

from undercourse.base.problems import Problem, Problems
from undercourse.files.dxf_loading import load_drawing
from undercourse.files.dxf_outlines import (
    Ring,
    closed_parts,
    closes,
    distinct,
    give_labels,
    held_labels,
    is_name,
    join_loose,
    make_rings,
    nest,
    open_outlines,
    sound,
)
from undercourse.files.dxf_parts import Drawing, Label, is_door
from undercourse.files.dxf_units import Outline, drawing_unit
from undercourse.files.plan_doors import group_doors, place_doors
from undercourse.files.plan_joining import CLOSE_M, Joined
from undercourse.files.plan_parts import (
    ROOM_M,
    UNITS_M,
    FoundArea,
    Plan,
    PlanOptions,
    ask_unit,
    check_count,
    finish_plan,
)
from undercourse.layout.repairs import Repair, listed

SMALLEST_M2 = 0.05
"""Closed outlines below this are symbols, or obstacles when they lie inside an area. [m2]"""

SYMBOL = 5000.0
"""An outline so many times smaller than the largest on its layers is a symbol."""

_ROOMS = re.compile(r"(?<![a-z])(rooms?|areas?|spaces?|zones?|floors?)(?![a-z])")
_FIXED = re.compile(r"(?<![a-z])(cols?|columns?|obstacles?|shafts?|islands?|fixtures?|piers?)(?![a-z])")
_WALLS = re.compile(r"(?<![a-z])(walls?|rooms?|outlines?)(?![a-z])")


@dataclass
class _Layers:
    """Layers of outlines, of loose lines, and of fixed parts; ``sure`` where outlines are on the first."""

    rooms: set[str]
    lines: set[str]
    fixed: set[str]
    sure: bool


def read_dxf(data: bytes, where: str, options: PlanOptions) -> Plan:
    """Read the areas of a drawing.

    Closed outlines on one layer are areas: on the layers told, or on the one that is named as one of rooms,
    or whose outlines hold most texts. Lines on it that close within 5 mm are outlines too. An outline inside
    another is an obstacle unless a text names it, and so is one on a layer named as one of fixed parts. Where
    no outline is closed, lines of walls are joined, and the faces that hold a name are areas.

    Raises
    ------
    Problems
        When the drawing cannot be read, its unit is not clear, or it has no closed outline.
    """
    drawing = load_drawing(data, where, UNITS_M.get(options.unit))
    layers = _choose_layers(drawing, options.layers, where)
    parts = closed_parts(drawing, layers.rooms)
    unit_m = drawing_unit(drawing, _outlines(drawing, layers), where, options.unit)
    if not parts and not options.unit:
        _check_reach(drawing, unit_m, where)
    labels = [
        Label(label.text, (label.at[0] * unit_m, label.at[1] * unit_m), label.height * unit_m, label.layer)
        for label in drawing.labels
    ]
    rings = make_rings(parts, unit_m, drawing.notes)
    joined = join_loose(drawing, layers.lines, rings, labels, unit_m)
    fixed = [
        ring for ring in make_rings(closed_parts(drawing, layers.fixed), unit_m, []) if ring.shape.is_valid
    ]
    faults = open_outlines(joined, labels, where) if layers.sure else []
    rings = distinct(rings, drawing.notes)
    nest(rings)
    give_labels(rings, labels)
    found = _areas(rings, fixed, drawing, where) or _areas(rings, fixed, drawing, where, smallest_m2=0.0)
    if not found:
        raise Problems([problem for _, problem in faults] or [_nothing(drawing, joined, where)])
    check_count(len(found), where)
    if not parts:
        reaches = [(area.name, float(np.ptp(np.asarray(area.outline), axis=0).max())) for area in found]
        sizes = [Outline(name, reach / unit_m, 0.0, ()) for name, reach in reaches]
        drawing_unit(drawing, sizes, where, options.unit)
    _give_doors(found, drawing, unit_m)
    _give_repairs(found, joined.repairs)
    _tell_rest(drawing, layers)
    unit = next((name for name, factor in UNITS_M.items() if factor == unit_m), "m")
    return finish_plan(found, where, unit=unit, told=True, notes=drawing.notes, faults=faults)


def _choose_layers(drawing: Drawing, wanted: Sequence[str], where: str) -> _Layers:
    """Layers that were told (names or patterns), or the one that most likely holds the outlines."""
    names = sorted({part.layer for part in drawing.parts})
    fixed = {name for name in names if _is(_FIXED, name)}
    if wanted:
        patterns = [pattern.strip().lower() for pattern in wanted]
        match = {name for name in names if any(fnmatchcase(name.lower(), one) for one in patterns)}
        if not match:
            fix = f"use one of {', '.join(names[:20])}" if names else "check the drawing"
            told = '", "'.join(wanted)
            raise Problems([Problem(where, f'no visible outline on layer "{told}"', fix)])
        return _Layers(match, match, fixed - match, True)
    rest = {name for name in names if name not in fixed and not is_door(name)}
    best = _likeliest(drawing, rest)
    if best is None:
        return _Layers(set(), {name for name in rest if _is(_WALLS, name)} or rest, fixed, False)
    others = sorted({part.layer for part in drawing.parts if closes(part)} - fixed - {best})
    if others:
        drawing.notes.append(f'outlines taken from layer "{best}", not from {", ".join(others[:12])}')
    return _Layers({best}, {best}, fixed, True)


def _is(pattern: re.Pattern[str], name: str) -> bool:
    return bool(pattern.search(name.lower().replace("_", " ")))


def _likeliest(drawing: Drawing, names: set[str]) -> str | None:
    """The layer with outlines that is named as one of rooms, or whose outlines hold most texts, then area."""
    shapes: dict[str, list[Polygon]] = {}
    for part in closed_parts(drawing, names):
        shape = sound(Polygon(part.points))
        if shape is not None:
            shapes.setdefault(part.layer, []).append(shape)
    if not shapes:
        return None
    largest = max(shape.area for group in shapes.values() for shape in group)

    def score(name: str) -> tuple[bool, int, float]:
        group = [shape for shape in shapes[name] if shape.area > largest / SYMBOL]
        held = len(held_labels(group, drawing.labels))
        return _is(_ROOMS, name) and bool(group), held, sum(shape.area for shape in group)

    return max(sorted(shapes), key=score)


def _outlines(drawing: Drawing, layers: _Layers) -> list[Outline]:
    """Outlines that may be rooms, in drawing units, as signs of the unit, each with the texts of its own."""
    every = [part for part in drawing.parts if closes(part)]
    shapes = [(part.layer, sound(Polygon(part.points))) for part in every]
    valid = [(layer, shape) for layer, shape in shapes if shape is not None]
    # A text belongs to the smallest outline around it on any layer: it may be a box around the text.
    held = held_labels([shape for _, shape in valid], drawing.labels)
    found: list[Outline] = []
    for number, (layer, shape) in enumerate(valid):
        if layer not in layers.rooms:
            continue
        low_x, low_y, high_x, high_y = shape.bounds
        texts = tuple(label.text for label in held.get(number, ()))
        name = next((text for text in texts if is_name(text)), f"outline {len(found) + 1}")
        found.append(Outline(name, max(high_x - low_x, high_y - low_y), shape.area, texts))
    named = [one for one in found if any(is_name(text) for text in one.texts)]
    largest = max((one.area for one in found), default=0.0)
    return named or [one for one in found if one.area > largest / 100]


def _check_reach(drawing: Drawing, unit_m: float, where: str) -> None:
    """Ask for the unit where all lines together are smaller than a room or larger than a town."""
    points = np.array([point for part in drawing.parts for point in part.points] or [(0.0, 0.0)])
    reach = float(np.ptp(points, axis=0).max())
    if reach > 0 and not ROOM_M[0] <= reach * unit_m <= 1e5:
        raise Problems([ask_unit(where, "the header tells its unit", "the whole drawing", reach, unit_m)])


def _areas(
    rings: Sequence[Ring],
    fixed: Sequence[Ring],
    drawing: Drawing,
    where: str,
    smallest_m2: float = SMALLEST_M2,
) -> list[FoundArea]:
    """The outlines that are areas, with the outlines inside them and fixed parts as obstacles."""
    found: list[FoundArea] = []
    named = {number for number, ring in enumerate(rings) if any(is_name(one.text) for one in ring.labels)}
    tree = STRtree([ring.shape for ring in fixed])
    small = 0
    for number, ring in enumerate(rings):
        if number not in named:
            if ring.holder is not None:
                continue
            if ring.shape.is_valid and ring.shape.area < smallest_m2:
                small += 1
                continue
            if named & _all_inside(rings, number):
                if not ring.joined:
                    drawing.notes.append(f'an outline around named areas on "{ring.layer}" was left out')
                continue
        name, notes = _name(ring.labels, len(found) + 1)
        inner = [rings[one] for one in ring.inside]
        near = (
            tree.query(ring.shape, predicate="intersects").tolist() if ring.shape.is_valid and fixed else []
        )
        fixtures = [fixed[k] for k in near if fixed[k].shape.intersection(ring.shape).area > 1e-6]
        if len(inner) > 1 and sum(one.shape.area for one in inner) > ring.shape.area / 2:
            notes.append(f"{len(inner)} outlines inside take more than half of it and count as obstacles")
        obstacles = [*ring.holes, *(one.corners for one in (*inner, *fixtures))]
        place = f'{where}, outline "{name}"'
        found.append(FoundArea(name, ring.corners, obstacles, place, repairs=list(ring.repairs), notes=notes))
    if small:
        drawing.notes.append(f"{small} outlines below {smallest_m2:g} m² were left out as symbols")
    return found


def _all_inside(rings: Sequence[Ring], number: int) -> set[int]:
    found: set[int] = set()
    stack = [number]
    while stack:
        new = set(rings[stack.pop()].inside) - found
        found |= new
        stack += new
    return found


def _name(labels: Sequence[Label], number: int) -> tuple[str, list[str]]:
    """The name of an area: its largest, then highest text with a word that is no size; and notes."""
    wordy = [label for label in labels if is_name(label.text)]
    order = sorted(wordy or labels, key=lambda label: (-label.height, -label.at[1], label.at[0]))
    if not order:
        return f"area {number}", []
    others = list(dict.fromkeys(label.text for label in labels if label is not order[0]))
    shown = ", ".join(others[:6]) + (f" and {len(others) - 6} more" if len(others) > 6 else "")
    return order[0].text[:80], [f"other texts inside: {shown}"] if others else []


def _give_doors(found: Sequence[FoundArea], drawing: Drawing, unit_m: float) -> None:
    """Give each area the openings of doors that lie against its edge."""
    loose = [part.points for part in drawing.parts if is_door(part.layer)]
    groups = [[(x * unit_m, y * unit_m) for x, y in door] for door in drawing.doors]
    lines = [[(x * unit_m, y * unit_m) for x, y in points] for points in loose]
    shapes = [Polygon(area.outline) for area in found]
    places = [number for number, shape in enumerate(shapes) if shape.is_valid]
    placed = place_doors([shapes[number] for number in places], [*groups, *group_doors(lines)])
    for number, doors in zip(places, placed, strict=True):
        found[number].doors += doors


def _give_repairs(found: Sequence[FoundArea], repairs: Sequence[Repair]) -> None:
    """Give each repair to the areas whose edge it lies on."""
    if not repairs:
        return
    edges = [Polygon(area.outline).exterior for area in found]
    spots = shapely.points([repair.at or (0.0, 0.0) for repair in repairs])
    own: dict[int, list[Repair]] = {}
    for spot, area in STRtree(edges).query(spots, predicate="dwithin", distance=2 * CLOSE_M).T.tolist():
        own.setdefault(area, []).append(repairs[spot])
    for area, some in own.items():
        found[area].repairs += listed(some)


def _tell_rest(drawing: Drawing, layers: _Layers) -> None:
    """Say what was not read, and which layers gave obstacles."""
    if layers.fixed:
        drawing.notes.append(f"closed outlines on {', '.join(sorted(layers.fixed))} count as obstacles")
    unread = {kind: count for kind, count in drawing.unread.items() if count}
    if unread:
        told = ", ".join(f"{count} {kind}" for kind, count in sorted(unread.items())[:8])
        drawing.notes.append(f"not read: {told}")


def _nothing(drawing: Drawing, joined: Joined, where: str) -> Problem:
    count = sum(not closes(part) for part in drawing.parts)
    what = f"no closed outline of an area ({count} open lines, {len(drawing.labels)} texts)"
    if drawing.notes:
        what += "; " + "; ".join(drawing.notes[:4])
    fix = "draw each area as one closed polyline, on a layer that is switched on"
    if joined.open_chains:
        ends = shapely.get_coordinates(joined.open_chains[0])
        gap = float(np.hypot(*(ends[-1] - ends[0])))
        fix += f"; one outline is open by {gap:.3f} m at ({ends[0][0]:.3f}, {ends[0][1]:.3f}) m"
    return Problem(where, what, fix)
