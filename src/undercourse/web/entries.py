"""What was typed into the sheet, laid over the job that the page carries."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from starlette.datastructures import FormData

from undercourse.base.domains import Choices, Domain, read_spec
from undercourse.base.problems import Problem
from undercourse.facts.vocabulary import SLOTS, Vocabulary
from undercourse.line.records import Line
from undercourse.web.known import read_known, show_known
from undercourse.web.outlines import read_ring, read_rings, show_ring, show_rings
from undercourse.web.state import (
    State,
    View,
    home_of,
    list_home,
    list_said,
    said_of,
    shown_text,
    site_first,
    token,
    value_of,
    value_text,
)

LONGEST_TEXT = 400
LONGEST_OUTLINE = 20_000
MOST_ROWS = 30
NOT_KNOWN = "?"


@dataclass(frozen=True)
class Change:
    """A fact that reads otherwise than in the last answer."""

    name: str
    before: str
    after: str


@dataclass
class Entered:
    """The job with the sheet laid over it."""

    state: State
    changes: list[Change] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def text_of(form: FormData, name: str, longest: int = LONGEST_TEXT) -> str:
    """A field's text without what no file should hold; empty where it is missing."""
    value = form.get(name)
    if not isinstance(value, str):
        return ""
    kept = "".join(
        c for c in value[:longest] if c in "\n\t" or (ord(c) >= 32 and not 0xD800 <= ord(c) <= 0xDFFF)
    )
    return kept.strip()


def write_changes(changes: list[Change]) -> str:
    """Changes as the page carries them to the next answer."""
    return json.dumps([[change.name, change.before, change.after] for change in changes])


def read_changes(text: str) -> list[Change]:
    """The changes that a page carries; none if they cannot be read."""
    try:
        rows = json.loads(text or "[]")
    except (ValueError, RecursionError):
        return []
    if not isinstance(rows, list):
        return []
    good = [
        row
        for row in rows
        if isinstance(row, list) and len(row) == 3 and all(isinstance(w, str) for w in row)
    ]
    return [Change(*row) for row in good]


def boxes_of(domain: Domain, raw: Any) -> set[str]:
    """The choices that a stated value leaves possible; empty for unknown or what cannot be read."""
    if raw is None:
        return set()
    try:
        spec = read_spec(domain, value_of(raw))
    except ValueError:
        return set()
    assert isinstance(spec, Choices)
    names = domain.names(spec.bits)
    return set(names) if len(names) < len(domain.choices) else {NOT_KNOWN}


def lay_over(state: State, form: FormData, view: View, vocabulary: Vocabulary, line: Line) -> Entered:
    """The job with what the shown sheet says; without a sheet in the form, the job as it is."""
    entered = Entered(copy.deepcopy(state))
    if "sheet" not in form:
        return entered
    _heads(entered, form, view)
    for name in vocabulary.facts:
        if not name.startswith("layer_") and f"k.{name}" in form:
            _fact(entered, form, view, vocabulary.domains[name], name)
    _layers(entered, form, view)
    _stack(entered, form, view, line)
    return entered


def _heads(entered: Entered, form: FormData, view: View) -> None:
    state, area = entered.state, entered.state["areas"][view.area]
    for key in ("name", "client", "note", "date"):
        if f"job.{key}" in form:
            state[key] = text_of(form, f"job.{key}")
            if not state[key]:
                del state[key]
    if not state.get("name"):
        state["name"] = "Job without a name"
    if "area.name" in form:
        area["name"] = text_of(form, "area.name") or area["name"]
    _outline(entered, area, form, view, "outline", read_ring, show_ring)
    _outline(entered, area, form, view, "obstacles", read_rings, show_rings)


def _outline(
    entered: Entered,
    area: dict[str, Any],
    form: FormData,
    view: View,
    key: str,
    read: Callable[[str], Any],
    show: Callable[[Any], str],
) -> None:
    if f"area.{key}" not in form:
        return
    text = text_of(form, f"area.{key}", LONGEST_OUTLINE).replace("\r", "")
    if text == show(area.get(key)):
        return
    if not text:
        area.pop(key, None)
        return
    try:
        area[key] = read(text)
    except ValueError as error:
        what, _, fix = str(error).rpartition("; ")
        entered.problems.append(Problem(token(("areas", view.area, key)), what, fix))


def _fact(entered: Entered, form: FormData, view: View, domain: Domain, name: str) -> None:
    own, inherited = said_of(entered.state, view, name)
    if domain.kind == "number":
        text = text_of(form, f"v.{name}")
        value = value_of(own) if text == value_text(domain, own) else (text or None)
    else:
        boxes = {box for box in form.getlist(f"v.{name}") if isinstance(box, str)}
        boxes &= {*domain.choices, NOT_KNOWN}
        value = value_of(own) if boxes == boxes_of(domain, own) else _choice(domain, boxes, inherited)
    known_text = text_of(form, f"k.{name}")
    if value == value_of(own) and known_text == show_known(own):
        return
    known = read_known(known_text)
    new = None if value is None else ({"value": value, **known} if known else value)
    before = shown_text(domain, own if own is not None else inherited)
    _write(entered.state, view, name, new)
    after = shown_text(domain, new if new is not None else inherited)
    if before != after:
        entered.changes.append(Change(name, before, after))


def _choice(domain: Domain, boxes: set[str], inherited: Any) -> Any:
    chosen = [choice for choice in domain.choices if choice in boxes]
    if NOT_KNOWN in boxes or len(chosen) == len(domain.choices):
        return NOT_KNOWN if inherited is not None else None
    if not chosen:
        return None
    if len(chosen) > 1:
        return chosen
    return chosen[0] == "yes" if domain.kind == "flag" else chosen[0]


def _write(state: State, view: View, name: str, value: Any) -> None:
    home = home_of(state, view, name)
    if value is not None:
        home[name] = value
        return
    home.pop(name, None)
    if site_first(state) and not view.whole_site:
        state["facts"].pop(name, None)


def _rows(form: FormData, prefix: str, keys: tuple[str, ...], most: int) -> list[dict[str, str]]:
    try:
        count = max(0, min(int(text_of(form, f"{prefix}.count") or 0), most))
    except ValueError:
        count = 0
    return [{key: text_of(form, f"{prefix}.{place}.{key}") for key in keys} for place in range(count)]


def layer_rows(layers: list[dict[str, Any]]) -> tuple[list[dict[str, str]], bool]:
    """The layers as rows of text, and whether they are all that there is."""
    whole = not (layers and layers[-1] == {"kind": NOT_KNOWN})
    rows = layers if whole else layers[:-1]
    return [{key: _joined(row.get(key)) for key in ("kind", "thickness")} for row in rows], whole


def _joined(value: Any) -> str:
    value = value_of(value)
    if isinstance(value, list):
        return " | ".join(str(one) for one in value)
    if isinstance(value, dict):
        return f"{value.get('from', '')} to {value.get('to', '')}"
    # A bare thickness in a job's JSON is in inches, the unit of the slots.
    return f"{value:g} in" if isinstance(value, int | float) else str(value or "")


def _layers(entered: Entered, form: FormData, view: View) -> None:
    if "layer.count" not in form:
        return
    said, _inherits = list_said(entered.state, view, "layer")
    rows, whole = _rows(form, "layer", ("kind", "thickness"), SLOTS), "layer.whole" in form
    if (rows, whole) == layer_rows(said):
        return
    new: list[dict[str, Any]] = [{key: text for key, text in row.items() if text} for row in rows]
    if not whole and new:
        new.append({"kind": NOT_KNOWN})
    before = ", ".join(row["kind"] for row in layer_rows(said)[0])
    after = ", ".join(row["kind"] for row in rows)
    home = list_home(entered.state, view, "layer")
    home["layer"] = new
    if not new:
        home.pop("layer")
    entered.changes.append(Change("layers", before or "not known", after or "not known"))


def _stack(entered: Entered, form: FormData, view: View, line: Line) -> None:
    if "stack.count" not in form:
        return
    said, _ = list_said(entered.state, view, "proposed")
    rows = _rows(form, "stack", ("role", "product", "kind", "classes", "thickness"), MOST_ROWS)
    if rows == stack_rows(said, line):
        return
    names = {product.name.casefold(): product.id for product in line.products.values()}
    new: list[dict[str, Any]] = []
    for row in rows:
        layer: dict[str, Any] = {key: text for key, text in row.items() if text}
        if "product" in layer:
            layer["product"] = names.get(row["product"].casefold(), row["product"])
        if "classes" in layer:
            layer["classes"] = [word.strip() for word in row["classes"].split(",") if word.strip()]
        new.append(layer)
    list_home(entered.state, view, "proposed")["proposed"] = new
    entered.changes.append(Change("proposed", _count(len(said)), _count(len(new))))


def _count(number: int) -> str:
    return f"{number} layer{'' if number == 1 else 's'}"


def stack_rows(layers: list[dict[str, Any]], line: Line) -> list[dict[str, str]]:
    """The asker's own stack as rows of text, products by their names."""
    rows = []
    for layer in layers:
        row = {key: str(layer.get(key) or "") for key in ("role", "product", "kind", "thickness")}
        if row["product"] in line.products:
            row["product"] = line.products[row["product"]].name
        classes = layer.get("classes") or []
        row["classes"] = classes if isinstance(classes, str) else ", ".join(str(word) for word in classes)
        rows.append({key: row[key] for key in ("role", "product", "kind", "classes", "thickness")})
    return rows
