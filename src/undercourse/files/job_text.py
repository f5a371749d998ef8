"""Jobs as plain data: TOML sections flattened into facts, and the same data written as TOML or JSON."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from typing import Any

from undercourse.facts.vocabulary import Vocabulary

_BARE = re.compile(r"^[A-Za-z0-9_-]+$")
_DATE = re.compile(r"^\d{4}-\d{2}-\d{2}$")
_PLAIN_KEYS = ("name", "date", "client", "note", "line")
_AREA_KEYS: tuple[str, ...] = ("name", "note", "plan", "plan_layer", "plan_unit", "room_name", "storey")
_AREA_KEYS += ("outline", "obstacles", "doors", "entrance")
_AREA_KEYS += ("base_joint_lines", "material_lines", "unheated", "control", "tile_start")
_AREA_KEYS += ("seams_off", "strip_direction", "strip_start")


def job_data(data: Mapping[str, Any], vocabulary: Vocabulary) -> dict[str, Any]:
    """A parsed job file in its JSON form: facts in one table, dates as text.

    Parameters
    ----------
    data : mapping
        The parsed TOML or JSON of a job that ``read_job`` accepts.
    """
    found = _part(data, _PLAIN_KEYS, vocabulary)
    areas = data.get("areas", data.get("area", []))
    found["areas"] = [_part(area, _AREA_KEYS, vocabulary) for area in areas]
    return found


def _part(data: Mapping[str, Any], keys: tuple[str, ...], vocabulary: Vocabulary) -> dict[str, Any]:
    found: dict[str, Any] = {key: _plain(data[key]) for key in keys if key in data}
    facts = dict(data.get("facts", {}))
    for group in vocabulary.groups:
        if isinstance(data.get(group), Mapping):
            facts.update(data[group])
    found["facts"] = {name: _plain(value) for name, value in facts.items() if value is not None}
    # ``layers`` may be the section of facts about them; the list of layers is then ``layer``.
    stacks = {"layer": data.get("layer", data.get("layers")), "proposed": data.get("proposed")}
    found |= {key: _plain(rows) for key, rows in stacks.items() if isinstance(rows, list)}
    return found


def _plain(value: Any) -> Any:
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value


def job_json(data: Mapping[str, Any]) -> str:
    """The job as one JSON document."""
    return json.dumps(data, ensure_ascii=False, indent=2) + "\n"


def job_toml(data: Mapping[str, Any], vocabulary: Vocabulary) -> str:
    """The job as TOML: facts in sections by group, areas below; it reads back to the same data."""
    lines = [f"{key} = {_value(data[key], key)}" for key in _PLAIN_KEYS if data.get(key) not in (None, "")]
    lines += _sections(data, "", vocabulary)
    for area in data.get("areas", []):
        lines += ["", "[[area]]"]
        keys = [key for key in _AREA_KEYS if area.get(key) not in (None, "", [])]
        lines += [f"{key} = {_value(area[key], key)}" for key in keys]
        lines += _sections(area, "area.", vocabulary)
    return "\n".join(lines) + "\n"


def _sections(data: Mapping[str, Any], prefix: str, vocabulary: Vocabulary) -> list[str]:
    lines: list[str] = []
    facts = data.get("facts", {})
    for group in vocabulary.groups:
        named = [name for name in vocabulary.facts if name in facts and vocabulary[name].group == group]
        if named:
            lines += ["", f"[{prefix}{group}]", *(f"{name} = {_value(facts[name])}" for name in named)]
    for key in ("layer", "proposed"):
        for layer in data.get(key) or []:
            lines += ["", f"[[{prefix}{key}]]"]
            lines += [
                f"{_key(name)} = {_value(value)}" for name, value in layer.items() if value not in ("", [])
            ]
    return lines


def _key(name: str) -> str:
    return name if _BARE.match(name) else _text(name)


def _value(value: Any, key: str = "") -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(str(k))} = {_value(v, str(k))}" for k, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(one) for one in value) + "]"
    text = str(value)
    if key in ("date", "on") and _DATE.match(text) and _is_date(text):
        return text
    return _text(text)


def _is_date(text: str) -> bool:
    try:
        dt.date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _text(text: str) -> str:
    """A TOML basic string: JSON's escapes are TOML's, the delete character apart."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")
