"""A plan as the page carries it: what was read of it as JSON, and what was laid, sealed by the server."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import math
import zlib
from collections.abc import Mapping, Sequence
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.files.plan_outlines import read_outlines
from undercourse.files.plan_parts import MOST_AREAS, PlanArea, PlanOptions, choose_areas

MOST_PLAN_CHARACTERS = 3_000_000
"""A plan with more corners than this is not carried by the page."""

Document = dict[str, Any]
_TEXTS = ("name", "storey")
_NUMBERS = ("area_m2", "length_m", "width_m")
_LISTS = ("outline", "obstacles", "doors", "repairs", "notes")


def write_plan(plan: Document) -> str:
    """The plan as the page carries it.

    Raises
    ------
    Problems
        When it has more corners than the page holds.
    """
    text = json.dumps(plan, ensure_ascii=True, separators=(",", ":"))
    if len(text) > MOST_PLAN_CHARACTERS:
        what = f"{len(plan['areas'])} areas with this many corners are more than the page holds"
        fix = "name the layer of the rooms to be laid, save one storey by itself, or use the command line"
        raise Problems([Problem(str(plan["file"]), what, fix)])
    return text


def read_plan_text(text: str) -> Document:
    """The plan out of the page's own hidden text.

    Raises
    ------
    Problems
        If it is not the JSON that the page wrote.
    """
    fault = Problem("the page", "the plan that it carries cannot be read", "open the plan again")
    try:
        plan = json.loads(text) if len(text) <= MOST_PLAN_CHARACTERS else None
    except (ValueError, RecursionError):
        plan = None
    if not isinstance(plan, dict) or not _well_formed(plan):
        raise Problems([fault])
    return plan


def _well_formed(plan: Mapping[str, Any]) -> bool:
    heads = isinstance(plan.get("file"), str) and isinstance(plan.get("unit"), str)
    moved, areas, faults = plan.get("moved_m"), plan.get("areas"), plan.get("faults")
    if not heads or not _is_point(moved) or not _all_texts(plan.get("notes")):
        return False
    if not isinstance(areas, list) or len(areas) > MOST_AREAS or not all(map(_is_area, areas)):
        return False
    overlaps = plan.get("overlaps", [])
    if not isinstance(overlaps, list) or not all(_all_texts(pair) and len(pair) == 2 for pair in overlaps):
        return False
    keys = ("area", "where", "what", "fix")
    return isinstance(faults, list) and all(
        isinstance(fault, dict) and all(isinstance(fault.get(key), str) for key in keys) for fault in faults
    )


def _is_area(area: Any) -> bool:
    if not isinstance(area, dict) or not all(isinstance(area.get(key), str) for key in _TEXTS):
        return False
    if not all(_is_number(area.get(key)) for key in _NUMBERS):
        return False
    if not all(isinstance(area.get(key), list) for key in _LISTS) or not _all_texts(area["notes"]):
        return False
    off = area.get("seams_off", [])
    if not isinstance(off, list) or not all(map(_is_line, off)):
        return False
    repairs = all(isinstance(one, dict) and isinstance(one.get("what"), str) for one in area["repairs"])
    return repairs and all(map(_is_line, (area["outline"], *area["obstacles"], *area["doors"])))


def _is_line(line: Any) -> bool:
    return isinstance(line, list) and all(map(_is_point, line))


def _is_point(point: Any) -> bool:
    return isinstance(point, list) and len(point) == 2 and all(map(_is_number, point))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _all_texts(texts: Any) -> bool:
    return isinstance(texts, list) and all(isinstance(text, str) for text in texts)


def first_picks(plan: Document) -> list[int]:
    """The areas that are ticked at first: all but those that overlap one before them."""
    number = {area["name"]: place for place, area in enumerate(plan["areas"])}
    left_out: set[int] = set()
    for one, other in plan.get("overlaps", []):
        places = sorted(number[name] for name in (one, other) if name in number)
        if len(places) == 2 and places[0] not in left_out:
            left_out.add(places[1])
    return [place for place in range(len(number)) if place not in left_out]


def chosen_areas(plan: Document, numbers: Sequence[int]) -> list[PlanArea]:
    """The chosen areas of a carried plan, looked at again as a plan in a file would be.

    Raises
    ------
    Problems
        Areas that cannot be laid or that overlap each other.
    """
    areas = [plan["areas"][number] for number in numbers]
    if not areas:
        raise Problems([Problem("areas", "no area is chosen", "tick at least one area of the plan")])
    keys = ("name", "storey", "outline", "obstacles", "doors")
    bare = {"unit": "m", "area": [{key: area[key] for key in keys} for area in areas]}
    found = read_outlines(bare, plan["file"], PlanOptions(unit="m"))
    return choose_areas(found)


def lines_off(plan: Document, numbers: Sequence[int]) -> dict[str, list[Any]]:
    """Lines that seams are kept off, by the name of a chosen area that has some. [m]"""
    areas = (plan["areas"][number] for number in numbers)
    found = {area["name"]: [line for line in area.get("seams_off", ()) if len(line) > 1] for area in areas}
    return {name: lines for name, lines in found.items() if lines}


def seal(data: Any, key: bytes) -> str:
    """Data of the server's own, packed and signed, so that they come back as they went."""
    packed = base64.b64encode(zlib.compress(json.dumps(data, separators=(",", ":")).encode(), 6))
    return f"{_sign(packed, key)}.{packed.decode()}"


def unseal(text: str, key: bytes) -> Any:
    """What ``seal`` packed; None for anything else, or after the server was started anew."""
    sign, _, packed = text.partition(".")
    if not hmac.compare_digest(sign.encode(), _sign(packed.encode(), key).encode()):
        return None
    return json.loads(zlib.decompress(base64.b64decode(packed)))


def _sign(packed: bytes, key: bytes) -> str:
    return hmac.new(key, packed, hashlib.sha256).hexdigest()
