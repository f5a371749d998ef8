"""What a DXF drawing holds that matters for floors: lines, texts, doors, dimensions, in drawing units."""

from __future__ import annotations

import io
import math
import re
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.files.dxf_bulk import Bulk, take_bulk
from undercourse.files.dxf_curves import Point, arc_points, bulge_points

HEADER_UNITS_M = {
    1: 0.0254, 2: 0.3048, 4: 0.001, 5: 0.01, 6: 1.0, 10: 0.9144, 14: 0.1, 15: 10.0,
    21: 1200 / 3937, 22: 100 / 3937, 23: 3600 / 3937,
}  # fmt: skip
"""Unit codes of the header variable $INSUNITS in metres; survey units are 1200/3937 m a foot. [m]"""

CHORD_M = 0.001
"""Curves are followed within this. [m]"""

MOST_PARTS = 300_000
"""Drawings with more parts, those in blocks counted as often as they are placed, are refused."""

DEEPEST_BLOCKS = 24
"""Blocks in blocks in blocks: deeper is a fault or malice."""

DOORS = re.compile(
    r"(?<![a-z])(doors?|doorways?|openings?|t(ü|ue)r(en)?|portes?|puertas?|deur(en)?)(?![a-z])"
)
"""Names of layers and blocks, in lower case, that hold doors."""

_CURVES = ("LWPOLYLINE", "POLYLINE", "LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE")
_TEXTS = ("TEXT", "ATTRIB", "MTEXT")
# Kinds that never bound a floor; what else is not read is told.
_SILENT = (
    "POINT",
    "ATTDEF",
    "VIEWPORT",
    "SEQEND",
    "VERTEX",
    "XLINE",
    "RAY",
    "LEADER",
    "MULTILEADER",
    "TOLERANCE",
)


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


def is_door(name: str) -> bool:
    """Whether a layer or block is named as one that holds doors."""
    return bool(DOORS.search(name.lower().replace("_", " ")))


def load_drawing(data: bytes, where: str, unit_m: float | None = None) -> Drawing:
    """Read a drawing.

    Parameters
    ----------
    unit_m : float, optional
        The drawing's unit, where a person told it; else that of the header counts. [m]

    Raises
    ------
    Problems
        When the bytes are no drawing, are damaged beyond repair, or hold too much.
    """
    binary = data[18:22] == b"\r\n\x1a\x00"
    if not binary and (b"\x00" in data[:2000] or b"SECTION" not in data[:100_000]):
        fix = "save the plan as DXF, release 12 or newer"
        raise Problems([Problem(where, "is no DXF drawing", fix)])
    bulk, rest = (Bulk(), data) if binary else take_bulk(data, MOST_PARTS)
    if bulk.too_many:
        raise Problems([_too_many(where)])
    document, notes = _open(rest, where, binary)
    drawing = Drawing(notes=notes, unit_code=_unit_code(document))
    if not binary and b"EOF" not in data[-200:]:
        drawing.notes.append("the file ends early; areas may be missing")
    factor = unit_m or HEADER_UNITS_M.get(drawing.unit_code)
    walk = _Walk(drawing, document, where, CHORD_M / factor if factor else None)
    walk.left = MOST_PARTS - len(bulk.plain)
    walk.take_plain(bulk, document.encoding)
    walk.take(document.modelspace(), "", 0, None)
    drawing.unread.update(bulk.skipped)
    return drawing


def _unit_code(document: Any) -> int:
    try:
        return int(document.header.get("$INSUNITS", 0) or 0)
    except (TypeError, ValueError):
        return 0


def _too_many(where: str) -> Problem:
    fix = "save only the layer with the outlines in a file of its own"
    return Problem(where, f"more than {MOST_PARTS:,} parts in the drawing", fix)


def _open(data: bytes, where: str, binary: bool) -> tuple[Any, list[str]]:
    """Open a drawing, mended where it is damaged."""
    import ezdxf
    from ezdxf import recover

    try:
        if binary:
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / "plan.dxf"
                path.write_bytes(data)
                return ezdxf.readfile(path), []  # type: ignore[attr-defined]
        try:
            return ezdxf.read(io.StringIO(_text(data))), []  # type: ignore[attr-defined]
        except Exception:  # the strict reader is twice as quick and gives up on any fault
            document, auditor = recover.read(io.BytesIO(data))
    except Exception as error:  # a damaged drawing fails in many ways inside the reader
        reason = str(error).split("\n")[0][:120] or type(error).__name__
        what = f"the drawing is damaged beyond repair ({reason})"
        raise Problems([Problem(where, what, "save the plan again as DXF")]) from None
    faults = len(auditor.fixes) + len(auditor.errors)
    return document, [f"the drawing was damaged; {faults} faults were mended"] if faults else []


def _text(data: bytes) -> str:
    """The drawing as text, in the encoding that its header tells."""
    from ezdxf.lldxf.validator import dxf_info

    info = dxf_info(io.StringIO(data[:200_000].decode("latin-1")))
    return data.decode(info.encoding, errors="surrogateescape").replace("\r\n", "\n")


class _Walk:
    """One pass over the model space, blocks included; counts what it meets, however deep it lies."""

    def __init__(self, drawing: Drawing, document: Any, where: str, chord: float | None) -> None:
        self.drawing, self.where, self.chord, self.left = drawing, where, chord, MOST_PARTS
        layers = list(document.layers)
        self.off = {entry.dxf.name.lower() for entry in layers if entry.is_off()}
        self.frozen = {entry.dxf.name.lower() for entry in layers if entry.is_frozen()}

    def hidden(self, layer: str) -> bool:
        return layer.lower() in self.off or layer.lower() in self.frozen

    def take_plain(self, bulk: Bulk, encoding: str) -> None:
        """Take what was read in bulk."""
        from ezdxf.lldxf.encoding import decode_dxf_unicode

        names: dict[bytes, str] = {}
        for plain in bulk.plain:
            if plain.layer not in names:
                names[plain.layer] = decode_dxf_unicode(plain.layer.decode(encoding, errors="replace"))
            layer = names[plain.layer]
            if not self.hidden(layer):
                self.keep(Part(layer, plain.points(self.chord), plain.closed))

    def keep(self, part: Part) -> None:
        if not self.hidden(part.layer) and len(part.points) > 1:
            self.drawing.parts.append(part)

    def take(self, entities: Iterable[Any], around: str, depth: int, door: list[Point] | None) -> None:
        """Take entities in; ``around`` is the layer of the block's place, ``door`` their door's points."""
        for entity in entities:
            self.left -= 1
            if self.left < 0:
                raise Problems([_too_many(self.where)])
            layer = str(entity.dxf.get("layer", "0"))
            if layer == "0" and around:
                layer = around
            if entity.dxf.get("invisible", 0) or layer.lower() in self.frozen:
                continue
            if entity.dxftype() == "INSERT":
                self.place(entity, layer, depth, door)
            elif not self.hidden(layer):
                try:
                    self.add(entity, layer, door)
                except Exception:  # one bad part must not lose the drawing; it is counted and told
                    self.drawing.unread["damaged part"] += 1

    def place(self, insert: Any, layer: str, depth: int, door: list[Point] | None) -> None:
        if depth >= DEEPEST_BLOCKS:
            what = f"blocks lie more than {DEEPEST_BLOCKS} deep in each other, or a block holds itself"
            raise Problems([Problem(self.where, what, "explode the blocks and save the drawing again")])
        if insert.mcount > self.left:
            raise Problems([_too_many(self.where)])
        is_new = door is None and (is_door(layer) or is_door(str(insert.dxf.get("name", ""))))
        for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
            own: list[Point] | None = [] if is_new else door
            self.take(self.inside(one), layer, depth + 1, own)
            self.take(one.attribs, layer, depth + 1, own)
            if is_new and own and not self.hidden(layer):
                self.drawing.doors.append(own)

    def inside(self, insert: Any) -> Iterator[Any]:
        """The parts of a placed block; one that cannot be placed is counted."""
        try:
            yield from insert.virtual_entities()
        except Problems:
            raise
        except Exception:  # a block may be missing or hold what cannot be turned
            self.drawing.unread["block that could not be placed"] += 1

    def add(self, entity: Any, layer: str, door: list[Point] | None) -> None:
        kind = entity.dxftype()
        if kind in _TEXTS:
            label = _label(entity, layer)
            if label is not None and door is None:
                self.drawing.labels.append(label)
        elif kind == "DIMENSION":
            found = _dimension(entity)
            if found is not None:
                self.drawing.dimensions.append(found)
        elif kind in _CURVES:
            points, closed = curve(entity, self.chord)
            if door is not None:
                door += points
            else:
                self.keep(Part(layer, points, closed))
        elif kind not in _SILENT:
            self.drawing.unread[kind] += 1


def curve(entity: Any, chord: float | None) -> tuple[list[Point], bool]:
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
    points = [(p.x, p.y) for p in made.flattening(chord or max(size * 1e-4, 1e-9))]
    return points, bool(getattr(entity, "is_closed", False) or getattr(entity, "closed", False))


def _label(entity: Any, layer: str) -> Label | None:
    kind = entity.dxftype()
    place = entity.dxf.insert
    if kind == "MTEXT":
        text, height = entity.plain_text(), float(entity.dxf.char_height)
    else:
        text, height = entity.plain_text(), float(entity.dxf.height)
        if entity.dxf.get("halign", 0) or entity.dxf.get("valign", 0):
            place = entity.dxf.get("align_point", place)
        if entity.dxf.hasattr("extrusion"):
            place = entity.ocs().to_wcs(place)
        if kind == "ATTRIB" and entity.is_invisible:
            return None
    words = " ".join(str(text).split())
    return Label(words, (place.x, place.y), height, layer) if words else None


def _dimension(entity: Any) -> tuple[float, str] | None:
    """What a dimension of a length measures, and what is written on it."""
    if entity.dimtype not in (0, 1):
        return None
    measured = float(entity.get_measurement())
    written = str(entity.dxf.get("text", "")).strip()
    block = entity.get_geometry_block()
    for part in block or ():
        if part.dxftype() in ("MTEXT", "TEXT"):
            written = part.plain_text().strip()
            break
    if not written or "<>" in written or not math.isfinite(measured) or measured <= 0:
        return None
    return measured, written
