"""Parts of a drawing: lines, texts, doors, dimensions, those in blocks as often as they are placed."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

import shapely

from undercourse.base.problems import Problem, Problems
from undercourse.files.dxf_bulk import Bulk
from undercourse.files.dxf_curves import Point, arc_points, bulge_points
from undercourse.layout.repairs import MOST_CORNERS

MOST_PARTS = 300_000
"""Drawings with more parts, those in blocks counted as often as they are placed, are refused."""

DEEPEST_BLOCKS = 24
"""Blocks in blocks in blocks: deeper is a fault or malice."""

FARTHEST = 1e12
"""Coordinates beyond this are a fault of the file. [drawing units]"""

DOORS = re.compile(
    r"(?<![a-z])(doors?|doorways?|openings?|t(ü|ue)r(en)?|portes?|puertas?|deur(en)?)(?![a-z])"
)
"""Names of layers and blocks, in lower case, that hold doors."""

_CURVES = ("LWPOLYLINE", "POLYLINE", "LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE")
_TEXTS = ("TEXT", "ATTRIB", "MTEXT")
# Kinds that never bound a floor and are no loss; what else is not read is told.
_SILENT = {"POINT", "ATTDEF", "VIEWPORT", "SEQEND", "VERTEX", "XLINE", "RAY", "LEADER", "MULTILEADER"}

Matrix = tuple[float, float, float, float, float, float]
_SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True)
class Part:
    """One line or curve as points; ``closed`` where it was drawn as a closed one."""

    layer: str
    points: list[Point]
    closed: bool


@dataclass(frozen=True)
class Label:
    """One text with its place, height and layer."""

    text: str
    at: Point
    height: float
    layer: str


@dataclass
class Drawing:
    """Parts of a drawing on visible layers, in drawing units."""

    parts: list[Part] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    doors: list[list[Point]] = field(default_factory=list)
    dimensions: list[tuple[float, str]] = field(default_factory=list)  # measured, written
    unread: Counter[str] = field(default_factory=Counter)
    notes: list[str] = field(default_factory=list)
    unit_code: int = 0


@dataclass(frozen=True)
class _Placed:
    """A block where it is placed, once for each of its rows and columns."""

    name: str
    layer: str
    places: list[Matrix]


@dataclass
class _Content:
    """What a block, or the model space, holds in its own coordinates."""

    parts: list[Part] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    dimensions: list[tuple[float, str]] = field(default_factory=list)
    placed: list[_Placed] = field(default_factory=list)

    @property
    def count(self) -> int:
        return len(self.parts) + len(self.labels) + len(self.placed) + 1


def is_door(name: str) -> bool:
    """Whether a layer or block is named as one that holds doors."""
    return bool(DOORS.search(name.lower().replace("_", " ")))


class Gathering:
    """One pass over a drawing, blocks included; it counts what it meets, however deep that lies."""

    def __init__(self, drawing: Drawing, document: Any, where: str, chord: float | None) -> None:
        self.drawing, self.document, self.where, self.chord = drawing, document, where, chord
        self.left = MOST_PARTS
        layers = list(document.layers)
        self.frozen = {entry.dxf.name.lower() for entry in layers if entry.is_frozen()}
        self.hidden = self.frozen | {entry.dxf.name.lower() for entry in layers if entry.is_off()}
        self.known: dict[tuple[str, int], _Content] = {}

    def take_bulk(self, bulk: Bulk, encoding: str) -> None:
        """Take what was read in bulk."""
        from ezdxf.lldxf.encoding import decode_dxf_unicode

        names: dict[bytes, str] = {}
        for plain in bulk.plain:
            if plain.layer not in names:
                names[plain.layer] = decode_dxf_unicode(plain.layer.decode(encoding, errors="replace"))
            layer = names[plain.layer]
            if layer.lower() not in self.hidden:
                self._keep(Part(layer, plain.points(self.chord), plain.closed))
        self.left -= len(bulk.plain)

    def take_space(self, entities: Iterable[Any]) -> None:
        """Take the entities of the model space."""
        self._place(self._content(entities, self.chord), _SAME, "", 0, None)

    def _spend(self, count: int) -> None:
        self.left -= count
        if self.left < 0:
            raise Problems([too_many(self.where)])

    def _keep(self, part: Part) -> None:
        points = part.points
        if len(points) < 2:
            return
        if not all(abs(x) < FARTHEST and abs(y) < FARTHEST for x, y in points):
            self.drawing.unread["part with impossible coordinates"] += 1
            return
        if len(points) > MOST_CORNERS:
            part = Part(part.layer, self._thinned(points), part.closed)
        self.drawing.parts.append(part)

    def _thinned(self, points: list[Point]) -> list[Point]:
        """A line of very many corners, thinned within the chord."""
        reach = self.chord or max(max(abs(x), abs(y)) for x, y in points) * 1e-4
        thin = shapely.get_coordinates(shapely.LineString(points).simplify(reach))
        if len(thin) > MOST_CORNERS:
            what = f"a line of {len(points):,} corners is too fine"
            raise Problems([Problem(self.where, what, "simplify it, or leave its layer out of the file")])
        self.drawing.notes.append(f"a line of {len(points):,} corners was thinned to {len(thin):,}")
        return [(float(x), float(y)) for x, y in thin]

    def _place(self, content: _Content, m: Matrix, around: str, depth: int, door: list[Point] | None) -> None:
        """Take a block's content in where it is placed; ``door`` gathers what belongs to a door."""
        self._spend(content.count)
        for part in content.parts:
            layer = self._layer(part.layer, around)
            if layer.lower() in self.hidden:
                continue
            points = part.points if m is _SAME else [_moved(m, point) for point in part.points]
            if door is not None:
                door += points
            else:
                self._keep(Part(layer, points, part.closed))
        grown = math.sqrt(abs(m[0] * m[3] - m[1] * m[2]))
        for label in content.labels:
            layer = self._layer(label.layer, around)
            if layer.lower() not in self.hidden and door is None:
                self.drawing.labels.append(
                    Label(label.text, _moved(m, label.at), label.height * grown, layer)
                )
        self.drawing.dimensions += [(measured * grown, text) for measured, text in content.dimensions]
        for placed in content.placed:
            self._place_block(placed, m, self._layer(placed.layer, around), depth, door)

    def _place_block(
        self, placed: _Placed, m: Matrix, layer: str, depth: int, door: list[Point] | None
    ) -> None:
        if layer.lower() in self.frozen:
            return
        if depth >= DEEPEST_BLOCKS:
            what = f"blocks lie more than {DEEPEST_BLOCKS} deep in each other, or a block holds itself"
            raise Problems([Problem(self.where, what, "explode the blocks and save the drawing again")])
        is_new = door is None and (is_door(layer) or is_door(placed.name))
        for place in placed.places:
            own: list[Point] | None = [] if is_new else door
            whole = _product(m, place)
            self._place(self._block(placed.name, whole), whole, layer, depth + 1, own)
            if is_new and own and layer.lower() not in self.hidden:
                self.drawing.doors.append(own)

    def _block(self, name: str, m: Matrix) -> _Content:
        """The content of a block, its curves fine enough for the size in which it is placed."""
        size = max(math.hypot(m[0], m[2]), math.hypot(m[1], m[3]), 1e-9)
        step = math.ceil(math.log2(size))
        key = (name, step)
        if key not in self.known:
            block = self.document.blocks.get(name)
            if block is None:
                self.drawing.unread["block that is not in the file"] += 1
            chord = None if self.chord is None else self.chord / 2.0**step
            self.known[key] = self._content(block or (), chord)
        return self.known[key]

    def _layer(self, layer: str, around: str) -> str:
        return around if layer == "0" and around else layer

    def _content(self, entities: Iterable[Any], chord: float | None) -> _Content:
        """Read entities in their own coordinates."""
        content = _Content()
        for entity in entities:
            if content.count > self.left:
                raise Problems([too_many(self.where)])
            if not entity.dxf.get("invisible", 0):
                try:
                    self._add(content, entity, chord)
                except Problems:
                    raise
                except Exception:  # one bad part must not lose the drawing; it is counted and told
                    self.drawing.unread["damaged part"] += 1
        return content

    def _add(self, content: _Content, entity: Any, chord: float | None) -> None:
        kind, layer = entity.dxftype(), str(entity.dxf.get("layer", "0"))
        if kind == "INSERT":
            if entity.mcount > self.left:
                raise Problems([too_many(self.where)])
            content.placed.append(_Placed(str(entity.dxf.get("name", "")), layer, _places(entity)))
            content.labels += [label for one in entity.attribs for label in _label(one)]
        elif kind in _TEXTS:
            content.labels += _label(entity)
        elif kind == "DIMENSION":
            content.dimensions += _dimension(entity)
        elif kind in _CURVES:
            points, closed = _curve(entity, chord)
            content.parts.append(Part(layer, points, closed))
        elif kind not in _SILENT:
            self.drawing.unread[kind] += 1


def too_many(where: str) -> Problem:
    """The problem of a drawing that holds too much."""
    fix = "save only the layer with the outlines in a file of its own"
    return Problem(where, f"more than {MOST_PARTS:,} parts in the drawing", fix)


def _moved(m: Matrix, point: Point) -> Point:
    x, y = point
    return (m[0] * x + m[1] * y + m[4], m[2] * x + m[3] * y + m[5])


def _product(m: Matrix, n: Matrix) -> Matrix:
    """First ``n``, then ``m``."""
    return (
        m[0] * n[0] + m[1] * n[2],
        m[0] * n[1] + m[1] * n[3],
        m[2] * n[0] + m[3] * n[2],
        m[2] * n[1] + m[3] * n[3],
        *_moved(m, (n[4], n[5])),
    )


def _places(insert: Any) -> list[Matrix]:
    """Where a block is placed, seen from above."""
    found: list[Matrix] = []
    for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
        m = one.matrix44()
        origin, x, y = m.transform((0, 0, 0)), m.transform((1, 0, 0)), m.transform((0, 1, 0))
        found.append((x.x - origin.x, y.x - origin.x, x.y - origin.y, y.y - origin.y, origin.x, origin.y))
    return found


def _curve(entity: Any, chord: float | None) -> tuple[list[Point], bool]:
    """A line or curve as points of the plan, and whether it was drawn closed."""
    from ezdxf import path

    kind, dxf = entity.dxftype(), entity.dxf
    flat = not dxf.hasattr("extrusion") or dxf.extrusion.isclose((0, 0, 1))
    if kind == "LINE":
        return [(dxf.start.x, dxf.start.y), (dxf.end.x, dxf.end.y)], False
    if kind == "ARC" and flat:
        start, end = dxf.start_angle, dxf.end_angle
        return arc_points((dxf.center.x, dxf.center.y), dxf.radius, start, end, chord), False
    if kind == "CIRCLE" and flat:
        return arc_points((dxf.center.x, dxf.center.y), dxf.radius, 0, 360, chord), True
    if kind == "LWPOLYLINE" and flat:
        corners = [(float(x), float(y), float(bulge)) for x, y, bulge in entity.get_points("xyb")]
        return bulge_points(corners, bool(entity.closed), chord), bool(entity.closed)
    made = path.make_path(entity)
    size = max((abs(v.x) + abs(v.y) for v in made.control_vertices()), default=1.0)
    points = [(p.x, p.y) for p in made.flattening(max(chord or 0.0, size * 1e-7) if chord else size * 1e-4)]
    return points, bool(getattr(entity, "is_closed", False) or getattr(entity, "closed", False))


def _label(entity: Any) -> Iterator[Label]:
    kind, dxf = entity.dxftype(), entity.dxf
    place, words = dxf.insert, " ".join(str(entity.plain_text()).split())
    height = float(dxf.char_height if kind == "MTEXT" else dxf.height)
    if kind != "MTEXT":
        if dxf.get("halign", 0) or dxf.get("valign", 0):
            place = dxf.get("align_point", place)
        if dxf.hasattr("extrusion"):
            place = entity.ocs().to_wcs(place)
    if words and not (kind == "ATTRIB" and entity.is_invisible):
        yield Label(words, (place.x, place.y), height, str(dxf.get("layer", "0")))


def _dimension(entity: Any) -> Iterator[tuple[float, str]]:
    """What a dimension of a length measures, and what is written on it."""
    if entity.dimtype not in (0, 1):
        return
    measured = float(entity.get_measurement())
    written = str(entity.dxf.get("text", "")).strip()
    for part in entity.get_geometry_block() or ():
        if part.dxftype() in ("MTEXT", "TEXT"):
            written = part.plain_text().strip()
            break
    if written and "<>" not in written and math.isfinite(measured) and measured > 0:
        yield measured, written
