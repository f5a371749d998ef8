"""What the buttons of the page do to a job: areas, layers, the asker's own stack."""

from __future__ import annotations

import copy
from typing import Any

from undercourse.facts.vocabulary import SLOTS
from undercourse.line.records import Line
from undercourse.web.entries import MOST_ROWS, NOT_KNOWN
from undercourse.web.state import MOST_AREAS, State, View, list_home, list_said


def act(state: State, view: View, go: str, line: Line) -> tuple[State, View]:
    """The job and the view after a button; unknown buttons change nothing.

    Parameters
    ----------
    go : str
        ``area:2``, ``sheet:site``, ``sheet:area``, ``area-add``, ``area-drop``, ``layer-top``,
        ``layer-below``, ``layer-drop:0``, ``layer-up:1``, ``stack-add``, ``stack-drop:0``, ``stack-up:1``,
        ``stack-clear``, ``stack-from:low-meadow-3`` (``|`` parts a role from its product in what follows).
    """
    word, _, rest = go.partition(":")
    number = int(rest) if rest.isdecimal() and len(rest) < 4 else -1
    if word == "area" and 0 <= number < len(state["areas"]):
        return state, View(number, False)
    if word == "sheet":
        return state, View(view.area, rest == "site" and len(state["areas"]) > 1)
    if word == "area-add" and len(state["areas"]) < MOST_AREAS:
        return _add_area(state)
    if word == "area-drop" and len(state["areas"]) > 1:
        state = copy.deepcopy(state)
        del state["areas"][view.area]
        return state, View(min(view.area, len(state["areas"]) - 1), False)
    if word.startswith("layer-"):
        return _change_layers(state, view, word, number), view
    if word.startswith("stack-"):
        return _change_stack(state, view, word, number, rest, line), view
    return state, view


def _add_area(state: State) -> tuple[State, View]:
    """A new area inherits what is said of the whole site; its layers are its own to describe."""
    state = copy.deepcopy(state)
    names = {str(area.get("name")) for area in state["areas"]}
    number = len(state["areas"]) + 1
    while f"Area {number}" in names:
        number += 1
    state["areas"].append({"name": f"Area {number}", "facts": {}})
    return state, View(len(state["areas"]) - 1, False)


def _change_layers(state: State, view: View, word: str, number: int) -> State:
    said, _ = list_said(state, view, "layer")
    rows = copy.deepcopy(said)
    open_end = [rows.pop()] if rows and rows[-1] == {"kind": NOT_KNOWN} else []
    if word == "layer-top" and len(rows) < SLOTS:
        rows.insert(0, {})
    elif word == "layer-below" and len(rows) < SLOTS:
        rows.append({})
    else:
        _move(rows, word.removeprefix("layer-"), number)
    return _put(state, view, "layer", rows + (open_end if rows else []))


def _change_stack(state: State, view: View, word: str, number: int, rest: str, line: Line) -> State:
    said, _ = list_said(state, view, "proposed")
    rows = copy.deepcopy(said)
    if word == "stack-add" and len(rows) < MOST_ROWS:
        rows.append(
            {"role": "membrane" if all(row.get("role") != "membrane" for row in rows) else "mortar below"}
        )
    elif word == "stack-clear":
        rows = []
    elif word == "stack-from":
        rows = []
        for part in rest.split("|")[:MOST_ROWS]:
            role, _, product = part.partition("=")
            if product in line.products:
                rows.append({"role": role, "product": product})
    else:
        _move(rows, word.removeprefix("stack-"), number)
    return _put(state, view, "proposed", rows)


def _move(rows: list[dict[str, Any]], word: str, number: int) -> None:
    if not 0 <= number < len(rows):
        return
    if word == "drop":
        del rows[number]
    elif word == "up" and number:
        rows[number - 1], rows[number] = rows[number], rows[number - 1]


def _put(state: State, view: View, key: str, rows: list[dict[str, Any]]) -> State:
    state = copy.deepcopy(state)
    list_home(state, view, key)[key] = rows
    return state
