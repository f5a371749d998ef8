"""Jobs and their areas: what was said about a site, with where it was said and how it is known."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn
from undercourse.base.domains import Choices, Span, Spec, read_spec
from undercourse.base.problems import Problem, Problems
from undercourse.facts.consistency import Consistency, make_consistent
from undercourse.facts.vocabulary import SLOTS, Vocabulary

Path = tuple[str | int, ...]
Locate = Callable[[Path], str]
Ring = list[tuple[float, float]]

_JOB_KEYS = {
    "functions",
    "name",
    "date",
    "client",
    "note",
    "facts",
    "areas",
    "area",
    "proposed",
    "layer",
    "layers",
    "line",
}
_AREA_KEYS = {
    "functions",
    "name",
    "note",
    "facts",
    "outline",
    "obstacles",
    "doors",
    "plan",
    "plan_layer",
    "plan_unit",
    "room_name",
    "storey",
    "proposed",
}
_AREA_KEYS |= {"layer", "layers", "entrance"}
# Lines, rings and points on the floor beside its outline.
MARK_KEYS: tuple[str, ...] = ("base_joint_lines", "material_lines", "unheated", "control", "tile_start")
MARK_KEYS += ("seams_off", "strip_direction", "strip_start")
_AREA_KEYS |= set(MARK_KEYS)
_PROVENANCE = {"value", "how", "method", "by", "on", "for"}
# Wishes of the asker, not facts of the site.
WISHES = (
    "wants_uncoupling",
    "wants_crack_isolation",
    "wants_waterproofing",
    "wants_vapor_management",
    "wants_sound_reduction",
    "wants_heating",
    "wants_joint_relocation",
)
HOLDS_FOR = ("today", "day of tiling", "in service")
PROPOSED_KEYS = {"role", "product", "kind", "classes", "thickness", "note"}


class Place:
    """Where something was said; looked up only when it has to be told."""

    __slots__ = ("_locate", "_name", "_path")

    def __init__(self, locate: Locate, path: Path, name: str = "") -> None:
        self._locate = locate
        self._path = path
        self._name = name

    def __str__(self) -> str:
        return self._locate((*self._path, self._name) if self._name else self._path)


@dataclass(slots=True)
class Reading:
    """One stated fact: the values it leaves possible and how it is known."""

    spec: Spec
    where: Place | str
    how: str = ""
    method: str = ""
    by: str = ""
    on: dt.date | None = None
    holds_for: str = ""
    said: Any = None


@dataclass(frozen=True)
class ProposedLayer:
    """One layer of the asker's own stack, by product or by class."""

    role: str
    product: str
    kind: str
    classes: tuple[str, ...]
    thickness: str
    where: str


@dataclass(frozen=True)
class FloorMarks:
    """What is drawn on the floor beside its outline, in metres.

    ``base_joint_lines`` are joints of the base, ``material_lines`` changes of material, ``unheated`` rings
    that carry tile and no cable, ``control`` the place of the heating control, ``tile_start`` a point where
    grout joints cross. ``seams_off`` are panel joints and cracks along which no seam is to run. Strips of
    sheet are held to ``strip_direction_deg``, counter-clockwise from x, and to the start line
    ``strip_start_m`` to the left of the origin, square to them.
    """

    base_joint_lines: tuple[Ring, ...] = ()
    material_lines: tuple[Ring, ...] = ()
    unheated: tuple[Ring, ...] = ()
    control: tuple[float, float] | None = None
    tile_start: tuple[float, float] | None = None
    seams_off: tuple[Ring, ...] = ()
    strip_direction_deg: float | None = None
    strip_start_m: float | None = None


@dataclass(frozen=True)
class Area:
    """One area: stated facts, outline in metres, the asker's own stack from the top down.

    ``plan_notes`` say what was mended or left out when the outline was read.
    """

    name: str
    readings: Mapping[str, Reading]
    outline: Ring | None = None
    obstacles: tuple[Ring, ...] = ()
    doors: tuple[Ring, ...] = ()
    plan: str = ""
    room_name: str = ""
    proposed: tuple[ProposedLayer, ...] = ()
    where: str = ""
    plan_layer: str = ""
    plan_unit: str = ""
    storey: str = ""
    plan_notes: tuple[str, ...] = ()
    marks: FloorMarks = FloorMarks()


@dataclass(frozen=True)
class Job:
    """A site with its areas."""

    name: str
    date: dt.date | None
    areas: tuple[Area, ...]
    client: str = ""
    note: str = ""
    where: str = ""


@dataclass
class _Reader:
    vocabulary: Vocabulary
    locate: Locate
    problems: list[Problem] = field(default_factory=list)

    def fault(self, path: Path, what: str, fix: str) -> None:
        self.problems.append(Problem(self.locate(path), what, fix))


def read_job(data: Any, vocabulary: Vocabulary, locate: Locate) -> Job:
    """Read one job from its TOML or JSON form.

    Parameters
    ----------
    data : mapping
        The parsed file. TOML gives facts in sections by group, JSON under ``facts``.
    locate : callable
        Path of keys to "file:line" or the like.

    Raises
    ------
    Problems
        Every fault of the file in one pass.
    """
    reader = _Reader(vocabulary, locate)
    if not isinstance(data, Mapping):
        raise Problems([Problem(locate(()), "this is not a job", 'write a table with "name" and areas')])
    readings, layers = _read_facts(reader, data, (), _JOB_KEYS)
    proposed = _read_proposed(reader, data.get("proposed"), ("proposed",))
    key = "areas" if "areas" in data else "area"
    if "areas" in data and "area" in data:
        reader.fault(("area",), 'both "area" and "areas" are written', "join them into one list")
    raw_areas = data.get(key, [])
    if not isinstance(raw_areas, Sequence) or isinstance(raw_areas, str):
        reader.fault((key,), f'"{key}" is not a list', "write [[area]] for each area")
        raw_areas = []
    areas = [
        _read_area(reader, raw, (key, place), readings, layers, proposed)
        for place, raw in enumerate(raw_areas)
    ]
    if not areas and not reader.problems:
        areas = [Area("whole job", {**layers, **readings}, proposed=proposed, where=locate(()))]
    names = [area.name for area in areas]
    for name in sorted({name for name in names if names.count(name) > 1}):
        reader.fault((key,), f'two areas are named "{name}"', "give each area its own name")
    date = _read_date(reader, data.get("date"), ("date",))
    name, client, note = (
        _read_text(reader, data, key, (), default)
        for key, default in (("name", "unnamed job"), ("client", ""), ("note", ""))
    )
    if reader.problems:
        raise Problems(reader.problems)
    return Job(name, date, tuple(areas), client, note, locate(()))


def _read_text(reader: _Reader, raw: Mapping[str, Any], key: str, path: Path, default: str = "") -> str:
    """A text; a number is taken as one, ``null`` as left out."""
    value = raw.get(key)
    if value is None:
        return default
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e18
    if not isinstance(value, str) and not is_number:
        reader.fault((*path, key), f'"{key}" is not a text', f'write {key} = "…"')
        return default
    return str(value)


def _read_date(reader: _Reader, raw: Any, path: Path) -> dt.date | None:
    if raw is None or raw == "":
        return None
    if isinstance(raw, dt.datetime):
        return raw.date()
    if isinstance(raw, dt.date):
        return raw
    try:
        return dt.date.fromisoformat(str(raw))
    except ValueError:
        reader.fault(path, f'"{raw}" is not a date', "write it as 2026-11-25")
        return None


def _read_area(
    reader: _Reader,
    raw: Any,
    path: Path,
    inherited: Mapping[str, Reading],
    inherited_layers: Mapping[str, Reading],
    proposed: tuple[ProposedLayer, ...],
) -> Area:
    if not isinstance(raw, Mapping):
        reader.fault(path, "an area is a table", "write [[area]] and its keys below")
        return Area("?", {})
    readings, layers = _read_facts(reader, raw, path, _AREA_KEYS)
    own = _read_proposed(reader, raw.get("proposed"), (*path, "proposed")) if "proposed" in raw else proposed
    outline = _read_ring(reader, raw["outline"], (*path, "outline")) if "outline" in raw else None
    obstacles = [
        _read_ring(reader, ring, (*path, "obstacles", place), "obstacle")
        for place, ring in enumerate(_as_list(reader, raw, "obstacles", path))
    ]
    doors = [
        _read_ring(reader, ring, (*path, "doors", place), "door", 2)
        for place, ring in enumerate(_as_list(reader, raw, "doors", path))
    ]
    merged = {**(layers or inherited_layers), **inherited, **readings}
    _read_text(reader, raw, "note", path)
    return Area(
        _read_text(reader, raw, "name", path) or f"area {int(path[-1]) + 1}",
        merged,
        outline,
        tuple(ring for ring in obstacles if ring),
        tuple(ring for ring in doors if ring),
        _read_text(reader, raw, "plan", path),
        _read_text(reader, raw, "room_name", path),
        own,
        reader.locate(path),
        _read_text(reader, raw, "plan_layer", path),
        _read_text(reader, raw, "plan_unit", path),
        _read_text(reader, raw, "storey", path),
        marks=_read_marks(reader, raw, path),
    )


def _read_marks(reader: _Reader, raw: Mapping[str, Any], path: Path) -> FloorMarks:
    """The lines, rings and points of an area beside its outline."""
    rings: dict[str, tuple[Ring, ...]] = {}
    for key, what, least in (
        ("base_joint_lines", "joint line", 2),
        ("material_lines", "line", 2),
        ("unheated", "unheated place", 3),
        ("seams_off", "line", 2),
    ):
        read = [
            _read_ring(reader, ring, (*path, key, place), what, least)
            for place, ring in enumerate(_as_list(reader, raw, key, path))
        ]
        rings[key] = tuple(ring for ring in read if ring)
    points = {}
    for key in ("control", "tile_start"):
        point = _read_ring(reader, [raw[key]], (*path, key), f"{key} point", 1) if key in raw else None
        points[key] = point[0] if point else None
    held = [_read_number(reader, raw, key, path) for key in ("strip_direction", "strip_start")]
    if held[0] is None and held[1] is not None:
        fix = "write strip_direction beside it, in degrees"
        reader.fault((*path, "strip_start"), "a start line needs a direction of the strips", fix)
    return FloorMarks(
        **rings,
        control=points["control"],
        tile_start=points["tile_start"],
        strip_direction_deg=held[0],
        strip_start_m=held[1],
    )


def _read_number(reader: _Reader, raw: Mapping[str, Any], key: str, path: Path) -> float | None:
    value = raw.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < 1e9:
        fix = "write a plain number: degrees for strip_direction, metres for strip_start"
        reader.fault((*path, key), f"{key} is {value!r}, not a number", fix)
        return None
    return float(value)


def _as_list(reader: _Reader, raw: Mapping[str, Any], key: str, path: Path) -> list[Any]:
    value = raw.get(key, [])
    if not isinstance(value, list):
        reader.fault((*path, key), f'"{key}" is not a list', "write a list of lists of points in metres")
        return []
    return value


def _read_ring(reader: _Reader, raw: Any, path: Path, what: str = "outline", least: int = 3) -> Ring | None:
    fix = f"write the {what} as [[x, y], …] in metres with at least {least} points"
    if not isinstance(raw, list):
        reader.fault(path, f"the {what} is not a list of points", fix)
        return None
    ring: Ring = []
    for place, point in enumerate(raw):
        good = isinstance(point, (list, tuple)) and len(point) == 2
        good = good and all(
            isinstance(c, (int, float)) and not isinstance(c, bool) and abs(c) < 1e9 for c in point
        )
        if not good:
            reader.fault((*path, place), f"point {place + 1} of the {what} is {point!r}", fix)
            return None
        ring.append((float(point[0]), float(point[1])))
    if len(ring) < least:
        reader.fault(path, f"the {what} has {len(ring)} points", fix)
        return None
    return ring


def _read_facts(
    reader: _Reader, data: Mapping[str, Any], path: Path, known: set[str]
) -> tuple[dict[str, Reading], dict[str, Reading]]:
    readings: dict[str, Reading] = {}
    facts = reader.vocabulary.facts
    sections: list[tuple[Path, Any, str]] = []
    for key, value in data.items():
        if key == "facts":
            sections.append(((*path, key), value, ""))
        elif key in reader.vocabulary.groups and not (key == "layers" and isinstance(value, list)):
            sections.append(((*path, key), value, key))
        elif key not in known:
            hint = (
                f'"{key}" is a fact of [{reader.vocabulary[key].group}]; write it there'
                if (key in reader.vocabulary)
                else f"use one of the sections {', '.join(reader.vocabulary.groups)}"
            )
            reader.fault((*path, key), f'"{key}" is not a key known here', hint)
    readings.update(_read_functions(reader, data, path))
    for place, section, group in sections:
        if not isinstance(section, Mapping):
            reader.fault(place, f'"{place[-1]}" is not a section', "write fact = value lines below it")
            continue
        for name, raw in section.items():
            if name not in facts:
                reader.fault((*place, name), f'"{name}" is not a fact', reader.vocabulary.nearest(name))
                continue
            if group and facts[name].group != group:
                fix = f"move it to [{facts[name].group}]"
                reader.fault((*place, name), f'"{name}" does not belong to [{group}]', fix)
            where = Place(reader.locate, place, name)
            reading = read_reading(reader.vocabulary, name, raw, where, reader.problems)
            if reading is not None:
                readings[name] = reading
    return readings, _read_layers(reader, data, path)


def read_reading(
    vocabulary: Vocabulary, name: str, raw: Any, where: Place | str, problems: list[Problem]
) -> Reading | None:
    """One fact's reading; faults go to ``problems`` and give None, as does ``null``."""
    if raw is None:
        return None
    extra: dict[str, Any] = {}
    if type(raw) is dict and "value" in raw:
        extra = {key: raw[key] for key in raw if key != "value"}
        for key in sorted(set(extra) - _PROVENANCE):
            problems.append(
                Problem(str(where), f'{name}: "{key}" is not known', f"use {', '.join(sorted(_PROVENANCE))}")
            )
        raw = raw["value"]
    try:
        spec = read_spec(vocabulary.domains[name], raw)
    except ValueError as error:
        what, _, fix = str(error).rpartition("; ")
        shown = f'"{raw}"' if isinstance(raw, str) else repr(raw)
        if not what:
            what, fix = str(error), "mend the value"
        what = what.removeprefix(f"{shown}: ")
        problems.append(Problem(str(where), f"{name} = {shown}: {what}", fix))
        return None
    on = extra.get("on")
    if on is not None and not isinstance(on, dt.date):
        try:
            on = dt.date.fromisoformat(str(on))
        except ValueError:
            problems.append(
                Problem(str(where), f'{name}: on = "{on}" is not a date', "write it as 2026-11-25")
            )
            on = None
    holds = str(extra.get("for", ""))
    if holds and holds not in HOLDS_FOR:
        problems.append(
            Problem(str(where), f'{name}: for = "{holds}"', f"write one of {', '.join(HOLDS_FOR)}")
        )
    if not extra:
        return Reading(spec, where, said=raw)
    text = [str(extra.get(key, "")) for key in ("how", "method", "by")]
    return Reading(spec, where, text[0], text[1], text[2], on, holds, raw)


def _read_functions(reader: _Reader, data: Mapping[str, Any], path: Path) -> dict[str, Reading]:
    """The functions asked for, as a list; what a list leaves out is not asked for."""
    if "functions" not in data:
        return {}
    raw = data["functions"]
    listed = [raw] if isinstance(raw, str) else raw
    known = {name.removeprefix("wants_").replace("_", " "): name for name in WISHES}
    fix = f"list what is asked for: {', '.join(known)}; an empty list asks for nothing"
    if not isinstance(listed, list) or not all(isinstance(word, str) for word in listed):
        reader.fault((*path, "functions"), "functions is not a list of words", fix)
        return {}
    for word in listed:
        if word not in known:
            reader.fault((*path, "functions"), f'"{word}" is not a function', fix)
    where = Place(reader.locate, (*path, "functions"))
    found = {
        name: Reading(read_spec(reader.vocabulary.domains[name], word in listed), where, said=word in listed)
        for word, name in known.items()
    }
    if "sound reduction" not in listed:
        for name in ("delta_iic_wanted", "iic_wanted"):
            found[name] = Reading(read_spec(reader.vocabulary.domains[name], 0), where, said=0)
    return found


def _read_layers(reader: _Reader, data: Mapping[str, Any], path: Path) -> dict[str, Reading]:
    """The slots of a listed stack, top down; a listed stack is whole unless it ends in ``?``."""
    key = "layers" if isinstance(data.get("layers"), list) else "layer"
    if key == "layers" and "layer" in data:
        reader.fault((*path, "layer"), 'both "layer" and "layers" are written', "join them into one list")
    if key not in data:
        return {}
    raw = data[key]
    if not isinstance(raw, list) or not all(isinstance(item, Mapping) for item in raw):
        reader.fault(
            (*path, key),
            "the layers are not a list",
            "write [[area.layer]] with kind and thickness, top down",
        )
        return {}
    if len(raw) > SLOTS:
        reader.fault((*path, key), f"{len(raw)} layers", f"at most {SLOTS} are kept; join layers of one kind")
        return {}
    readings: dict[str, Reading] = {}
    closed = True
    for place, layer in enumerate(raw, 1):
        here = (*path, key, place - 1)
        for word in sorted(set(layer) - {"kind", "thickness", "note"}):
            reader.fault((*here, word), f'"{word}" is not a key of a layer', "use kind and thickness")
        for word in ("kind", "thickness"):
            if word in layer:
                name = f"layer_{place}_{word}"
                where = Place(reader.locate, (*here, word))
                reading = read_reading(reader.vocabulary, name, layer[word], where, reader.problems)
                if reading is not None:
                    readings[name] = reading
        closed = str(layer.get("kind", "?")).strip() != "?"
    if closed:
        domain = reader.vocabulary.domains["layer_1_kind"]
        none = read_spec(domain, "nothing")
        for place in range(len(raw) + 1, SLOTS + 1):
            readings[f"layer_{place}_kind"] = Reading(
                none, Place(reader.locate, (*path, key)), said="nothing"
            )
    return readings


def _read_proposed(reader: _Reader, raw: Any, path: Path) -> tuple[ProposedLayer, ...]:
    if raw is None:
        return ()
    fix = "write [[proposed]] with role and product (or kind and classes), top down"
    if not isinstance(raw, list):
        reader.fault(path, "the proposed stack is not a list", fix)
        return ()
    layers = []
    for place, item in enumerate(raw):
        here = (*path, place)
        if not isinstance(item, Mapping) or item.get("role") in (None, ""):
            reader.fault(here, f"proposed layer {place + 1} names no role", fix)
            continue
        for key in sorted(set(item) - PROPOSED_KEYS):
            reader.fault((*here, key), f'"{key}" is not a key of a proposed layer', fix)
        classes = item.get("classes")
        classes = [] if classes is None else classes
        classes = [classes] if isinstance(classes, str) else classes
        if not isinstance(classes, list) or not all(isinstance(word, str) for word in classes):
            reader.fault((*here, "classes"), "the classes are not a list of texts", 'write ["A118.4"]')
            classes = []
        _read_text(reader, item, "note", here)
        role, product, kind, thickness = (
            _read_text(reader, item, key, here) for key in ("role", "product", "kind", "thickness")
        )
        if thickness:
            _check_thickness(reader, thickness, (*here, "thickness"))
        layers.append(ProposedLayer(role, product, kind, tuple(classes), thickness, reader.locate(here)))
    return tuple(layers)


def _check_thickness(reader: _Reader, text: str, path: Path) -> None:
    """A layer of the asker's own is no thicker than an existing layer may be."""
    domain = reader.vocabulary.domains["layer_1_thickness"]
    try:
        read_spec(domain, text)
    except ValueError as error:
        what, _, _ = str(error).rpartition("; ")
        reader.fault(path, f"thickness: {what}", 'write "3 mm" or "1/8 in"')


def tabulate(areas: Sequence[Area], vocabulary: Vocabulary) -> Columns:
    """The fact table: one row an area, unknown facts at their whole domain."""
    rows = len(areas)
    columns = Columns(vocabulary.domains, rows)
    stated: dict[str, list[tuple[int, Spec]]] = {}
    for row, area in enumerate(areas):
        for name, reading in area.readings.items():
            stated.setdefault(name, []).append((row, reading.spec))
    for name, values in stated.items():
        everything = vocabulary.domains[name].everything
        if isinstance(everything, Span):
            low, high = np.full(rows, everything.low), np.full(rows, everything.high)
            for row, spec in values:
                assert isinstance(spec, Span)
                low[row], high[row] = spec.low, spec.high
            columns[name] = NumberColumn(low, high)
        else:
            bits = np.full(rows, everything.bits, dtype=np.uint64)
            for row, spec in values:
                assert isinstance(spec, Choices)
                bits[row] = spec.bits
            columns[name] = ChoiceColumn(bits)
    return columns


def settle_facts(
    areas: Sequence[Area], vocabulary: Vocabulary, consistency: Consistency
) -> tuple[Columns, dict[int, list[Problem]]]:
    """The consistent fact table and, for each contradictory row, what contradicts what."""
    columns = tabulate(areas, vocabulary)
    problems: dict[int, list[Problem]] = {}
    for contradiction in make_consistent(columns, consistency):
        for row in np.flatnonzero(contradiction.rows):
            area = areas[int(row)]
            parts, places = [], []
            for name in contradiction.facts:
                reading = area.readings.get(name)
                if reading is not None:
                    parts.append(f'{name} = "{reading.said}"')
                    places.append(str(reading.where))
                else:
                    parts.append(name)
            what = (
                f"{' and '.join(parts)} cannot both be true: {contradiction.because} ({contradiction.rule})"
            )
            where = " and ".join(dict.fromkeys(places)) or area.where
            problems.setdefault(int(row), []).append(Problem(where, what, "correct one of them"))
    return columns, problems


def said_of_today(areas: Sequence[Area]) -> dict[str, np.ndarray[Any, np.dtype[np.bool_]]]:
    """By fact the rows [areas,] whose reading is said of today only, not of the day of tiling."""
    found: dict[str, np.ndarray[Any, np.dtype[np.bool_]]] = {}
    for row, name, _ in _marked(areas, lambda reading: reading.holds_for == "today"):
        found.setdefault(name, np.zeros(len(areas), dtype=np.bool_))[row] = True
    return found


def dated_readings(areas: Sequence[Area]) -> dict[str, list[tuple[int, Reading]]]:
    """By fact the readings that carry a date or a method, with their rows."""
    found: dict[str, list[tuple[int, Reading]]] = {}
    for row, name, reading in _marked(areas, lambda reading: reading.on is not None or bool(reading.method)):
        found.setdefault(name, []).append((row, reading))
    return found


def _marked(areas: Sequence[Area], keep: Callable[[Reading], bool]) -> Iterator[tuple[int, str, Reading]]:
    """Readings of a kind with their rows; an area that stands in many rows is looked through once."""
    known: dict[int, list[tuple[str, Reading]]] = {}
    for row, area in enumerate(areas):
        some = known.get(id(area))
        if some is None:
            some = known[id(area)] = [item for item in area.readings.items() if keep(item[1])]
        for name, reading in some:
            yield row, name, reading


__all__ = [
    "Area",
    "Job",
    "ProposedLayer",
    "Reading",
    "dated_readings",
    "read_job",
    "read_reading",
    "said_of_today",
    "settle_facts",
    "tabulate",
]
