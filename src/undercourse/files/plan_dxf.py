"""Outlines of areas in a DXF drawing: closed polylines by layer, or lines that close within a tolerance."""

from __future__ import annotations

import io
import re
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import shapely
from shapely import LineString, Point, Polygon, STRtree

from undercourse.base.problems import Problem, Problems
from undercourse.files.plan_geojson import Area, free_name
from undercourse.layout import check_outline, make_outline

UNITS_M = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}

HEADER_UNITS_M = {
    1: 0.0254, 2: 0.3048, 4: 0.001, 5: 0.01, 6: 1.0, 10: 0.9144, 14: 0.1, 15: 10.0,
    21: 1200 / 3937, 22: 100 / 3937, 23: 3600 / 3937,
}  # fmt: skip
"""Unit codes of the header variable $INSUNITS in metres; survey units are 1200/3937 m a foot. [m]"""

CHORD_M = 0.001
"""Arcs are followed within this. [m]"""

SMALLEST_M2 = 0.05
"""Closed outlines below this are symbols, or obstacles when they lie inside an area. [m2]"""

CLOSE_M = 0.005
"""Ends of lines nearer than this are one corner. [m]"""

MOST_ENTITIES = 300_000
"""Drawings with more are refused."""


@dataclass
class _Drawing:
    """What a drawing holds that matters here, in metres."""

    closed: dict[str, list[Polygon]] = field(default_factory=dict)
    lines: dict[str, list[LineString]] = field(default_factory=dict)
    texts: list[tuple[str, Point, float]] = field(default_factory=list)  # text, place, height
    notes: list[str] = field(default_factory=list)


def read_dxf(data: bytes, where: str, *, layer: str | None = None, unit: str | None = None) -> list[Area]:
    """Read name, polygon in metres and notes of every area in a drawing.

    Closed outlines on one layer are areas: on ``layer``, or on the layer whose outlines hold most texts. An
    outline inside another is an obstacle, unless a text names it. Where no outline is closed, lines and arcs
    are joined where their ends meet within 5 mm, and the faces that hold a text (or else all above 1 m2)
    are areas.

    Raises
    ------
    Problems
        When the drawing cannot be read, has no unit, or no closed outline that can be laid in.
    """
    document, notes = _load(data, where)
    drawing = _collect(document, _unit_m(document, where, unit), where)
    drawing.notes = notes + drawing.notes
    if layer is not None:
        _keep_layer(drawing, layer, where)
    chosen = _choose_layer(drawing)
    joined = chosen is None
    shapes = _faces(drawing) if chosen is None else drawing.closed[chosen]
    if chosen is not None and layer is None:
        others = sorted(name for name in drawing.closed if name != chosen)
        if others:
            drawing.notes.append(f'outlines taken from layer "{chosen}", not from {", ".join(others)}')
    if not shapes:
        raise Problems([_nothing(drawing, where)])
    return _areas(shapes, drawing, where, joined)


def _load(data: bytes, where: str) -> tuple[Any, list[str]]:
    """Open a drawing, mended where it is damaged."""
    import ezdxf
    from ezdxf import recover

    try:
        if data[18:22] == b"\r\n\x1a\x00":  # the binary form of the format
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / "plan.dxf"
                path.write_bytes(data)
                return ezdxf.readfile(path), []  # type: ignore[attr-defined]
        if b"\x00" in data[:2000] or b"SECTION" not in data:
            raise Problems([Problem(where, "is no DXF drawing", "save the plan as DXF, release 12 or newer")])
        document, auditor = recover.read(io.BytesIO(data))
    except Problems:
        raise
    except Exception as error:  # a damaged drawing fails in many ways inside the reader
        reason = str(error).split("\n")[0][:120] or type(error).__name__
        what = f"the drawing is damaged beyond repair ({reason})"
        raise Problems([Problem(where, what, "save the plan again as DXF")]) from None
    notes = []
    if auditor.errors or auditor.fixes:
        notes.append(
            f"the drawing was damaged; {len(auditor.fixes) + len(auditor.errors)} faults were mended"
        )
    if b"EOF" not in data[-200:]:
        notes.append("the file ends early; areas may be missing")
    return document, notes


def _unit_m(document: Any, where: str, unit: str | None) -> float:
    if unit is not None:
        if unit not in UNITS_M:
            raise Problems(
                [Problem(where, f'unit "{unit}" is not known', f"use one of {', '.join(UNITS_M)}")]
            )
        return UNITS_M[unit]
    code = int(document.header.get("$INSUNITS", 0) or 0)
    if code not in HEADER_UNITS_M:
        what = "the drawing does not say its unit" if code == 0 else f"unit code {code} is none for rooms"
        fix = f"set the drawing's unit, or tell it: one of {', '.join(UNITS_M)}"
        raise Problems([Problem(where, what, fix)])
    return HEADER_UNITS_M[code]


def _hidden_layers(document: Any) -> set[str]:
    """Names of layers that are switched off or frozen, lower case."""
    return {entry.dxf.name.lower() for entry in document.layers if entry.is_off() or entry.is_frozen()}


def _collect(document: Any, unit_m: float, where: str) -> _Drawing:
    """Gather closed outlines, open lines and texts of the model space, blocks included."""
    from ezdxf.disassemble import recursive_decompose

    drawing, hidden = _Drawing(), _hidden_layers(document)
    unread = 0
    for number, entity in enumerate(recursive_decompose(document.modelspace())):
        if number > MOST_ENTITIES:
            fix = "save only the layer with the outlines in a file of its own"
            raise Problems([Problem(where, f"more than {MOST_ENTITIES} parts in the drawing", fix)])
        layer = str(entity.dxf.get("layer", "0"))
        if layer.lower() in hidden:
            continue
        try:
            _add(drawing, entity, layer, unit_m)
        except Exception:  # one bad part must not lose the drawing; it is counted and told
            unread += 1
    if unread:
        drawing.notes.append(f"{unread} parts of the drawing could not be read")
    return drawing


def _add(drawing: _Drawing, entity: Any, layer: str, unit_m: float) -> None:
    from ezdxf import path

    kind = entity.dxftype()
    if kind in ("TEXT", "ATTRIB", "MTEXT"):
        text = entity.plain_text() if kind == "MTEXT" else entity.dxf.text
        place = entity.dxf.insert
        height = float(entity.dxf.char_height if kind == "MTEXT" else entity.dxf.height)
        if kind != "MTEXT" and (entity.dxf.get("halign", 0) or entity.dxf.get("valign", 0)):
            place = entity.dxf.get("align_point", place)
        label = " ".join(str(text).split())
        if label:
            drawing.texts.append((label, Point(place.x * unit_m, place.y * unit_m), height))
        return
    if kind not in ("LWPOLYLINE", "POLYLINE", "LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE"):
        return
    made = path.make_path(entity)
    points = [(p.x * unit_m, p.y * unit_m) for p in made.flattening(CHORD_M / unit_m)]
    points = [p for i, p in enumerate(points) if i == 0 or p != points[i - 1]]
    if len(points) < 2:
        return
    ends_meet = Point(points[0]).distance(Point(points[-1])) <= 1e-6
    if len(points) > 3 and (
        ends_meet or getattr(entity, "is_closed", False) or getattr(entity, "closed", False)
    ):
        drawing.closed.setdefault(layer, []).append(Polygon(points))
    else:
        drawing.lines.setdefault(layer, []).append(LineString(points))


def _keep_layer(drawing: _Drawing, layer: str, where: str) -> None:
    """Drop what is on other layers; texts stay."""
    names = sorted({*drawing.closed, *drawing.lines})
    match = [name for name in names if name.lower() == layer.lower()]
    if not match:
        fix = f"use one of {', '.join(names[:20])}" if names else "check the drawing"
        raise Problems([Problem(where, f'no visible outline on layer "{layer}"', fix)])
    drawing.closed = {name: shapes for name, shapes in drawing.closed.items() if name in match}
    drawing.lines = {name: lines for name, lines in drawing.lines.items() if name in match}


def _choose_layer(drawing: _Drawing) -> str | None:
    """The layer whose outlines hold most texts, then most area; None when no outline is closed."""
    best: tuple[int, float, str] | None = None
    places = [place for _, place, _ in drawing.texts]
    for name in sorted(drawing.closed):
        shapes = [shape for shape in drawing.closed[name] if shape.area >= SMALLEST_M2]
        if not shapes:
            continue
        valid = [shape for shape in shapes if shape.is_valid]
        held = set(STRtree(valid).query(places, predicate="within")[1]) if places and valid else set()
        score = (len(held), sum(shape.area for shape in shapes), name)
        if best is None or score[:2] > best[:2]:
            best = score
    return best[2] if best else None


def _faces(drawing: _Drawing) -> list[Polygon]:
    """Faces that lines enclose once ends that nearly meet are joined."""
    lines = [line for group in drawing.lines.values() for line in group]
    if not lines:
        return []
    ends = [Point(line.coords[index]) for line in lines for index in (0, -1)]
    tree = STRtree(ends)
    moved: dict[int, tuple[float, float]] = {}
    for number, end in enumerate(ends):
        if number not in moved:
            for other in tree.query(end, predicate="dwithin", distance=CLOSE_M):
                moved.setdefault(int(other), (end.x, end.y))
    joined = []
    for number, line in enumerate(lines):
        points = [moved[2 * number], *list(line.coords)[1:-1], moved[2 * number + 1]]
        if len(set(points)) > 1:
            joined.append(LineString(points))
    # A small grid lets ends that stop at, or cross, another line within the tolerance meet it.
    net = shapely.union_all(joined, grid_size=0.0005)
    faces = [
        face
        for face in shapely.get_parts(shapely.polygonize(shapely.get_parts(net)))
        if face.area >= SMALLEST_M2
    ]
    named = [face for face in faces if any(face.contains(place) for _, place, _ in drawing.texts)]
    chosen = named or [face for face in faces if face.area >= 1.0]
    if chosen:
        drawing.notes.append(
            f"no outline was closed; {len(lines)} lines were joined within {CLOSE_M * 1000:g} mm"
        )
    return [Polygon(face.exterior) for face in chosen]


def _nothing(drawing: _Drawing, where: str) -> Problem:
    count = sum(len(lines) for lines in drawing.lines.values())
    what = f"no closed outline of an area ({count} open lines, {len(drawing.texts)} texts)"
    if drawing.notes:
        what += "; " + "; ".join(drawing.notes)
    fix = "draw each area as one closed polyline, on a layer that is switched on"
    return Problem(where, what, fix)


def _areas(shapes: list[Polygon], drawing: _Drawing, where: str, joined: bool) -> list[Area]:
    """Name the outlines, turn those inside others into obstacles, and check each."""
    shapes = _distinct(shapes)
    texts: dict[int, list[tuple[str, Point, float]]] = {number: [] for number in range(len(shapes))}
    order = sorted(range(len(shapes)), key=lambda number: shapes[number].area)
    for text in drawing.texts:
        holder = next((n for n in order if shapes[n].is_valid and shapes[n].covers(text[1])), None)
        if holder is not None:
            texts[holder].append(text)
    inside: dict[int, int] = {}
    for place, number in enumerate(order):
        for other in order[place + 1 :]:
            if shapes[other].is_valid and shapes[number].is_valid and shapes[other].covers(shapes[number]):
                inside[number] = other
                break
    problems: list[Problem] = []
    areas: list[Area] = []
    names: set[str] = set()
    for number, shape in enumerate(shapes):
        if shape.area < SMALLEST_M2 or (number in inside and not texts[number]):
            continue
        name, notes = _name(texts[number], len(areas) + 1)
        label = free_name(name, names)
        holes = [list(shapes[n].exterior.coords) for n, holder in inside.items() if holder == number]
        spot = f'{where}, outline "{label}"'
        found = check_outline(list(shape.exterior.coords), holes, spot)
        problems += found
        if not found:
            areas.append((label, make_outline(list(shape.exterior.coords), holes, spot), notes))
    if not areas and not problems:
        problems.append(_nothing(drawing, where))
    if problems:
        raise Problems(problems)
    first = areas[0]
    areas[0] = (first[0], first[1], (*first[2], *drawing.notes))
    return areas


def _distinct(shapes: Iterable[Polygon]) -> list[Polygon]:
    """Outlines without those drawn twice."""
    kept: list[Polygon] = []
    seen: set[bytes] = set()
    for shape in shapes:
        key = shapely.to_wkb(shapely.set_precision(shape, 0.001).normalize()) if shape.is_valid else shape.wkb
        if key not in seen:
            seen.add(key)
            kept.append(shape)
    return kept


def _name(texts: list[tuple[str, Point, float]], number: int) -> tuple[str, tuple[str, ...]]:
    """The name of an area: its largest, then highest text with a letter that is no size; and notes."""
    wordy = [text for text in texts if re.search(r"[^\W\d]{2}", text[0]) and not _is_size(text[0])]
    order = sorted(wordy or texts, key=lambda text: (-text[2], -text[1].y, text[1].x))
    if not order:
        return f"area {number}", ()
    others = [text[0] for text in texts if text is not order[0]]
    return order[0][0], (f"other texts inside: {', '.join(others)}",) if others else ()


def _is_size(text: str) -> bool:
    return bool(re.fullmatch(r"[\d.,\s]+(m2|m²|sq\.? ?ft|sf|mm|cm|m)\.?", text.strip(), re.IGNORECASE))
