"""A job as the form carries it: one JSON text in the page, nothing kept on the server."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from undercourse.base.domains import Domain, read_spec, show_spec
from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Path
from undercourse.facts.vocabulary import Vocabulary
from undercourse.files.job_text import job_data

State = dict[str, Any]
MOST_AREAS = 40
MOST_STATE_CHARACTERS = 400_000
_LISTS: tuple[str, ...] = ("layer", "proposed", "outline", "obstacles", "doors", "areas")
_LISTS += ("base_joint_lines", "material_lines", "unheated", "control", "tile_start", "seams_off")


def empty_state() -> State:
    """A job of which nothing is known."""
    return {"name": "Job without a name", "facts": {}, "areas": [{"name": "Area 1", "facts": {}}]}


def ready_state(data: Mapping[str, Any], vocabulary: Vocabulary) -> State:
    """A job that ``read_job`` accepted, with at least one area of its own."""
    state = job_data(data, vocabulary)
    if not state["areas"]:
        state["areas"] = [{"name": "Area 1", "facts": {}}]
    if len(state["areas"]) > MOST_AREAS:
        what = f"{len(state['areas'])} areas are more than the page holds"
        raise Problems([Problem("areas", what, f"at most {MOST_AREAS}; split the job")])
    return state


def read_state(text: str, vocabulary: Vocabulary) -> State:
    """The job out of the page's own hidden text.

    Raises
    ------
    Problems
        If it is not the JSON that the page wrote, or too long.
    """
    fault = Problem("the page", "the job that it carries cannot be read", "open the job again")
    if len(text) > MOST_STATE_CHARACTERS:
        raise Problems([Problem("the page", "the job is too large for the page", "split the job")])
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        raise Problems([fault]) from None
    if not isinstance(data, dict) or not _well_formed(data):
        raise Problems([fault])
    state = ready_state(data, vocabulary)
    # The page writes every name; one made by hand may lack them.
    state.setdefault("name", empty_state()["name"])
    for number, area in enumerate(state["areas"], 1):
        area.setdefault("name", f"Area {number}")
    return state


def _well_formed(data: Mapping[str, Any]) -> bool:
    areas = data.get("areas", [])
    if not isinstance(areas, list) or not all(isinstance(area, dict) for area in areas):
        return False
    parts = [data, *areas]
    lists = all(isinstance(part.get(key, []), list) for part in parts for key in _LISTS)
    rows = lists and all(
        isinstance(row, dict) for part in parts for key in ("layer", "proposed") for row in part.get(key, [])
    )
    return rows and all(isinstance(part.get("facts", {}), dict) for part in parts)


def write_state(state: State) -> str:
    """The job as the page carries it."""
    return json.dumps(state, ensure_ascii=True, separators=(",", ":"))


def token(path: Path) -> str:
    """A path of keys as one word, to find the field again that a problem names."""
    return "/".join(str(part) for part in path) or "job"


@dataclass(frozen=True)
class View:
    """Which part of the job the page shows: an area, and whether the sheet is for the whole site."""

    area: int = 0
    whole_site: bool = False


def site_first(state: State) -> bool:
    """Whether new facts belong to the whole site: so it is while there is one area only."""
    return len(state["areas"]) == 1


def home_of(state: State, view: View, name: str) -> dict[str, Any]:
    """The table of facts that a fact of the shown sheet is written to."""
    own: dict[str, Any] = state["areas"][view.area].setdefault("facts", {})
    site: dict[str, Any] = state.setdefault("facts", {})
    if view.whole_site or (site_first(state) and name not in own):
        return site
    return own


def said_of(state: State, view: View, name: str) -> tuple[Any, Any]:
    """What the shown sheet itself says of a fact, and what it inherits from the whole site."""
    own = state["areas"][view.area].get("facts", {}).get(name)
    site = state.get("facts", {}).get(name)
    if view.whole_site:
        return site, None
    if site_first(state):
        return (own if own is not None else site), None
    return own, site


def list_home(state: State, view: View, key: str) -> dict[str, Any]:
    """Where a list of layers of the shown sheet is written to."""
    area: dict[str, Any] = state["areas"][view.area]
    if view.whole_site or (site_first(state) and key not in area):
        return state
    return area


def list_said(state: State, view: View, key: str) -> tuple[list[dict[str, Any]], bool]:
    """A list of layers as the shown sheet has it, and whether it comes from the whole site."""
    area = state["areas"][view.area]
    if view.whole_site:
        return list(state.get(key) or []), False
    if key in area:
        return list(area[key] or []), False
    return list(state.get(key) or []), not site_first(state) and bool(state.get(key))


def value_of(raw: Any) -> Any:
    """The value alone, without how it is known."""
    return raw["value"] if isinstance(raw, Mapping) and "value" in raw else raw


def value_text(domain: Domain, raw: Any) -> str:
    """A stated number as people type it; empty for what is not stated."""
    value = value_of(raw)
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    unit = domain.unit.symbol if domain.unit else ""
    if isinstance(value, Mapping):
        low, high = (_one(value.get(end), unit) for end in ("from", "to"))
        return f"{low} to {high}" if low and high else f"at least {low}" if low else f"up to {high}"
    if isinstance(value, list):
        return " | ".join(_one(one, unit) for one in value)
    return _one(value, unit)


def _one(value: Any, unit: str) -> str:
    if value is None:
        return ""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    bare = unit in ("count", "ratio", "class", "CSP", "")
    return f"{value:g}" if bare else f"L/{value:g}" if unit == "L/" else f"{value:g} {unit}"


def shown_text(domain: Domain, raw: Any) -> str:
    """A stated value as the program reads it back, in both unit systems; else the text itself."""
    if raw is None:
        return "not known"
    try:
        text = show_spec(domain, read_spec(domain, value_of(raw)))
    except ValueError:
        return str(value_of(raw))
    return "not known" if text == "unknown" else text
