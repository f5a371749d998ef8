"""Closed outlines of a drawing: mended, joined from loose lines, nested in each other, with their texts."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Polygon, STRtree

from undercourse.base.problems import Problem
from undercourse.files.dxf_parts import Drawing, Label, Part
from undercourse.files.plan_joining import CLOSE_M, Joined, join_lines
from undercourse.files.plan_parts import Point
from undercourse.layout.repairs import Repair, mend_outline

FACE_M2, FACE_WIDTH_M = 1.0, 0.3
"""Faces of loose lines without a name are areas from here on: less is the inside of a wall. [m2, m]"""

INSIDE = 0.98
"""An outline lies inside another that covers this share of it."""

_SIZE = re.compile(r"[\d.,'\"\s/x×-]*(m2|m²|qm|sq\.? ?ft|sf|mm|cm|m|ft|in)\.?", re.I)


@dataclass
class Ring:
    """One closed outline in meters; its shape has holes where it was drawn around them in one line."""

    shape: Polygon
    layer: str
    joined: bool = False
    repairs: list[Repair] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    inside: list[int] = field(default_factory=list)
    holder: int | None = None

    @property
    def corners(self) -> list[Point]:
        """The corners of the edge, the first repeated."""
        return [(float(x), float(y)) for x, y, *_ in self.shape.exterior.coords]

    @property
    def holes(self) -> list[list[Point]]:
        """The corners of its holes."""
        return [[(float(x), float(y)) for x, y, *_ in hole.coords] for hole in self.shape.interiors]


def is_name(text: str) -> bool:
    """Whether a text has a word and is no size."""
    return bool(re.search(r"[^\W\d]{2}", text)) and not _SIZE.fullmatch(text.strip())


def closes(part: Part) -> bool:
    """Whether a part of a drawing was drawn closed, or ends where it starts."""
    points = part.points
    if len(points) < 3 or part.closed:
        return len(points) > 2
    reach = max(abs(points[0][0]), abs(points[0][1]), 1.0) * 1e-9
    return len(points) > 3 and bool(np.hypot(*np.subtract(points[0], points[-1])) <= reach)


def closed_parts(drawing: Drawing, layers: Collection[str]) -> list[Part]:
    """Parts on some layers that were drawn closed."""
    return [part for part in drawing.parts if part.layer in layers and closes(part)]


def sound(shape: Polygon) -> Polygon | None:
    """A shape fit for comparing, without what makes it invalid; None without area."""
    fit = shape if shape.is_valid else shape.buffer(0)
    parts = [part for part in shapely.get_parts(fit) if isinstance(part, Polygon) and part.area > 0]
    return max(parts, key=lambda part: float(part.area), default=None)


def make_rings(parts: Sequence[Part], unit_m: float, notes: list[str]) -> list[Ring]:
    """Outlines in meters, mended where they can be."""
    rings: list[Ring] = []
    empty = 0
    for part in parts:
        points = np.asarray(part.points, dtype=float) * unit_m
        ring = Ring(Polygon(points), part.layer)
        if not ring.shape.is_valid:
            mended = mend_outline(points.tolist())
            if mended.polygon is not None:
                ring.shape, ring.repairs = mended.polygon, mended.repairs
            elif ring.shape.convex_hull.area < 1e-6:
                empty += 1
                continue
        rings.append(ring)
    if empty:
        notes.append(f"{empty} closed lines without area were left out")
    return rings


def join_loose(
    drawing: Drawing, layers: Collection[str], rings: list[Ring], labels: Sequence[Label], unit_m: float
) -> Joined:
    """Join loose lines on some layers; the faces that are areas go to the rings."""
    lines: list[list[Point]] = []
    for part in drawing.parts:
        if part.layer not in layers or closes(part):
            continue
        points = [(x * unit_m, y * unit_m) for x, y in part.points]
        gap = float(np.hypot(*np.subtract(points[0], points[-1])))
        if len(points) > 3 and gap <= CLOSE_M and LineString(points).length > 20 * CLOSE_M:
            repair = Repair("the ends of an outline were joined", points[0], gap)
            rings.append(Ring(Polygon(points), part.layer, repairs=[repair]))
        else:
            lines.append(points)
    joined = join_lines(lines)
    before = len(rings)
    layer = min(layers, default="0")
    named = _holding(joined.faces, [label for label in labels if is_name(label.text)])
    for number, face in enumerate(joined.faces):
        wide = 2 * face.area / face.length >= FACE_WIDTH_M
        if number in named or (not named and face.area >= FACE_M2 and wide):
            rings.append(Ring(Polygon(face.exterior), layer, joined=True))
            rings += [Ring(Polygon(hole), layer, joined=True) for hole in face.interiors]
    if len(rings) > before:
        told = f"{len(lines)} loose lines were joined within {CLOSE_M * 1000:g} mm"
        drawing.notes.append(told)
    return joined


def _points(labels: Sequence[Label]) -> npt.NDArray[np.object_]:
    return np.array([shapely.Point(label.at) for label in labels], dtype=object)


def _holding(shapes: Sequence[Polygon], labels: Sequence[Label]) -> set[int]:
    """Numbers of the shapes that hold a label."""
    if not shapes or not labels:
        return set()
    return set(STRtree(shapes).query(_points(labels), predicate="within")[1].tolist())


def held_labels(shapes: Sequence[Polygon], labels: Sequence[Label]) -> dict[int, list[Label]]:
    """Each label by the smallest shape that holds it."""
    found: dict[int, list[Label]] = {}
    if not shapes or not labels:
        return found
    best: dict[int, int] = {}
    for label, number in STRtree(shapes).query(_points(labels), predicate="intersects").T.tolist():
        if label not in best or shapes[number].area < shapes[best[label]].area:
            best[label] = number
    for label, number in best.items():
        found.setdefault(number, []).append(labels[label])
    return found


def distinct(rings: Sequence[Ring], notes: list[str]) -> list[Ring]:
    """Outlines without those drawn twice."""
    kept: list[Ring] = []
    seen: set[bytes] = set()
    twice = 0
    for ring in rings:
        shape = ring.shape
        key = shapely.to_wkb(shapely.set_precision(shape, 0.001).normalize()) if shape.is_valid else shape.wkb
        if key not in seen:
            kept.append(ring)
        else:
            twice += not ring.joined
        seen.add(key)
    if twice:
        notes.append(f"{twice} outlines were drawn twice and are taken once")
    return kept


def nest(rings: Sequence[Ring]) -> None:
    """Find for each outline the smallest that holds it."""
    valid = [number for number, ring in enumerate(rings) if ring.shape.is_valid and ring.shape.area > 0]
    if len(valid) < 2:
        return
    shapes = np.array([rings[number].shape for number in valid], dtype=object)
    small, large = STRtree(shapes).query(shapes, predicate="intersects")
    areas = shapely.area(shapes)
    fits = areas[small] < areas[large]
    small, large = small[fits], large[fits]
    holds = shapely.area(shapely.intersection(shapes[small], shapes[large])) >= INSIDE * areas[small]
    pairs = zip(small[holds].tolist(), large[holds].tolist(), strict=True)
    for one, other in sorted(pairs, key=lambda pair: -float(areas[pair[1]])):
        rings[valid[one]].holder = valid[other]  # the smallest comes last
    for number, ring in enumerate(rings):
        if ring.holder is not None:
            rings[ring.holder].inside.append(number)


def give_labels(rings: Sequence[Ring], labels: Sequence[Label]) -> None:
    """Give each text to the smallest outline around it; texts of the outline's own layer go before others."""
    valid = [ring for ring in rings if ring.shape.is_valid and ring.shape.area > 0]
    for number, held in held_labels([ring.shape for ring in valid], labels).items():
        ring = valid[number]
        own = [label for label in held if label.layer.lower().startswith(ring.layer.lower())]
        ring.labels = own if ring.layer != "0" and any(is_name(one.text) for one in own) else held


def open_outlines(joined: Joined, labels: Sequence[Label], where: str) -> list[tuple[str, Problem]]:
    """Outlines that were not closed, named by a text that they go around."""
    faults = []
    for number, chain in enumerate(joined.open_chains[:50], start=1):
        ends = shapely.get_coordinates(chain)
        (a, b), (c, d) = ends[0].tolist(), ends[-1].tolist()
        hull = chain.convex_hull
        around = (label.text for label in labels if hull.contains(shapely.Point(label.at)))
        name = next(around, f"open outline {number}")
        gap = float(np.hypot(c - a, d - b))
        what = f"the outline is open by {gap:.3f} m, from ({a:.3f}, {b:.3f}) to ({c:.3f}, {d:.3f}) m"
        faults.append((name, Problem(f'{where}, outline "{name}"', what, "close the polyline")))
    return faults
