"""The calculation sheets of a report: which are printed, in what order, and the list in front of them."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html import unescape
from typing import Any, NamedTuple

from undercourse.advise.questions import question_of
from undercourse.advise.sheets import GROUNDS
from undercourse.base.paired import pair_numbers
from undercourse.papers.sheet_heights import INPUTS_MM, WHOLE_MM, inputs_mm, sheet_mm
from undercourse.papers.sheet_rows import (
    calm_numbers,
    column_widths,
    given_text,
    held_row,
    number_rows,
    result_pieces,
    step_rows,
    valid_rows,
)
from undercourse.papers.wording import governing_finding, listed, sentence

# So many sheets that only inform are printed in one report; the best grounded ones first.
MOST_INFORMING = 12
_LENGTH, _VAGUE, _NOTHING = "left out for length", "hardly known", "next to nothing"
_ENDLESS = "What is not known leaves it without an end, so no working is shown."
# A number that only informs is worked out on paper where its ends lie no further apart than this.
_CLOSE = 3.0
# Below this, in both systems, it is told only that there is next to nothing.
_LEAST = 0.001


class AreaSheets(NamedTuple):
    """The sheets of one area as ``advise.area_sheets`` gives them, and its chosen candidate."""

    name: str
    sheets: Sequence[Mapping[str, Any]]
    candidate: Mapping[str, Any]


@dataclass
class _Entry:
    """One working with the areas that it holds for; the same working is printed once."""

    sheet: Mapping[str, Any]
    place: tuple[int, int]
    areas: list[str] = field(default_factory=list)
    limits: list[tuple[str, Mapping[str, Any], bool]] = field(default_factory=list)
    governs: list[str] = field(default_factory=list)
    chart: str = ""
    number: int = 0
    on: _Entry | None = None
    left: str = ""

    @property
    def decides(self) -> bool:
        return bool(self.limits)


def calculation_sheets(
    areas: Sequence[AreaSheets], charts: Mapping[str, Mapping[str, str]] | None = None
) -> dict[str, Any]:
    """What the template shows of all calculation sheets of a report.

    Those that a limit is held against come first, by subject, then those that only inform. The same
    working in several areas is printed once; an informing one is printed for one area only, and not where
    another sheet holds it already or where its number is hardly known. Those are told in the list.

    Parameters
    ----------
    areas : sequence of AreaSheets
    charts : mapping, optional
        By area and by name of the demand a chart as SVG text.
    """
    entries = _gathered(areas, charts or {})
    deciding = [entry for entry in entries if entry.decides]
    informing = [entry for entry in entries if not entry.decides]
    told = _kept(deciding, informing)
    for number, entry in enumerate([*deciding, *told], 1):
        entry.number = number
    count = len(areas)
    return {
        "groups": [
            {"head": "Sheets that decide a limit", "sheets": [_sheet(e, count) for e in deciding]},
            {"head": "Sheets that only inform", "sheets": [_sheet(e, count) for e in told]},
        ],
        "list": [
            {"head": "Held against a limit", "rows": [_row(e, count) for e in deciding]},
            {"head": "For information only", "rows": [_row(e, count) for e in told]},
        ],
        "elsewhere": [_elsewhere(e, count) for e in informing if e.on is not None and e.on.number],
        "left": list(dict.fromkeys(e.sheet["title"] for e in informing if e.left == _LENGTH)),
        "nothing": list(dict.fromkeys(e.sheet["title"] for e in informing if e.left == _NOTHING)),
        "vague": list(dict.fromkeys(e.sheet["title"] for e in informing if e.left == _VAGUE)),
        "apart": listed(_governed_apart(areas, entries)),
        "numbers": {
            area.name: {e.sheet["demand"]: (e.on or e).number for e in entries if area.name in e.areas}
            for area in areas
        },
    }


def _gathered(areas: Sequence[AreaSheets], charts: Mapping[str, Mapping[str, str]]) -> list[_Entry]:
    """All workings in the order of their subjects, those of several areas joined where they are the same."""
    subjects: dict[str, int] = {}
    demands: dict[str, int] = {}
    found: dict[str, _Entry] = {}
    for area in areas:
        governs = governing_finding(dict(area.candidate)) or {}
        for sheet in area.sheets:
            subject = subjects.setdefault(sheet["subject"], len(subjects))
            place = (subject, demands.setdefault(sheet["demand"], len(demands)))
            core = {key: value for key, value in sheet.items() if key != "limits"}
            entry = found.setdefault(json.dumps(core, sort_keys=True, default=str), _Entry(sheet, place))
            entry.chart = entry.chart or charts.get(area.name, {}).get(sheet["demand"], "")
            entry.areas.append(area.name)
            for limit in sheet["limits"]:
                leads = sheet["demand"] == governs.get("demand") and limit["limit"] == governs.get("limit")
                entry.limits.append((area.name, limit, leads))
                if leads:
                    entry.governs.append(area.name)
    return sorted(found.values(), key=lambda entry: entry.place)


def _kept(deciding: Sequence[_Entry], informing: Sequence[_Entry]) -> list[_Entry]:
    """The informing sheets that are printed; every other one is marked with why not."""
    first: dict[str, _Entry] = {}
    for entry in informing:
        entry.on = next((one for one in deciding if _holds(one, entry)), None)
        if entry.on is None and _next_to_nothing(entry.sheet):
            entry.left = _NOTHING
        elif entry.on is None and not _close(entry.sheet):
            entry.left = _VAGUE
        elif entry.on is None:
            entry.on = first.get(entry.sheet["demand"])
            first.setdefault(entry.sheet["demand"], entry)
    order = list(GROUNDS.values())
    ranked = sorted(first.values(), key=lambda entry: order.index(entry.sheet["ground"]))
    for place, entry in enumerate(ranked):
        entry.left = _LENGTH if place >= MOST_INFORMING else ""
    kept = [entry for entry in first.values() if not entry.left]
    for entry in kept:
        entry.on = next((one for one in kept if one.on is None and _holds(one, entry)), None)
    return [entry for entry in kept if entry.on is None]


def _next_to_nothing(sheet: Mapping[str, Any]) -> bool:
    """Whether a number is too small in both systems to mean anything."""
    if sheet["value_text"] in ("0", "0 %"):
        return True
    ends = [end for end in (sheet.get("low"), sheet.get("high")) if isinstance(end, int | float)]
    shown = [abs(number) for end in ends for number in pair_numbers(float(end), str(sheet["unit"]))]
    return bool(shown) and sheet["unit"] != "1" and max(shown) < _LEAST


def _close(sheet: Mapping[str, Any]) -> bool:
    if not _finite(sheet):
        return False
    low, high = sheet.get("low"), sheet.get("high")
    if not isinstance(low, int | float) or not isinstance(high, int | float) or low == high:
        return True
    return low * high > 0 and max(abs(low), abs(high)) <= _CLOSE * min(abs(low), abs(high))


def _holds(sheet: _Entry, other: _Entry) -> bool:
    """Whether all that another sheet works out stands on this one too."""
    if sheet is other or not set(other.areas) <= set(sheet.areas):
        return False
    own, wanted = _workings(sheet), _workings(other)
    if wanted and re.fullmatch(r"\w+", other.sheet["steps"][-1]["plain"]):
        wanted = wanted[:-1]
    cautions = set(other.sheet["cautions"]) <= set(sheet.sheet["cautions"])
    return bool(wanted) and set(wanted) <= set(own) and len(wanted) < len(own) and cautions


def _workings(entry: _Entry) -> list[tuple[str, str, str]]:
    return [(step["symbol"], step["formula"], step["si"]) for step in entry.sheet["steps"]]


def _where(entry: _Entry, count: int) -> str:
    """The areas that a sheet is for; nothing where there is but one."""
    return "" if count < 2 else "all areas" if len(entry.areas) == count else listed(entry.areas)


def _row(entry: _Entry, count: int) -> dict[str, Any]:
    """One line of the list in front."""
    said = dict.fromkeys(f"{limit['status']} {_allowed(limit)}".strip() for _, limit, _ in entry.limits)
    return {
        "number": entry.number,
        "title": entry.sheet["title"],
        "areas": _where(entry, count),
        "result": result_pieces(entry.sheet),
        "held": "; ".join(word[:1].upper() + word[1:] for word in said),
        "governs": bool(entry.governs),
    }


def _elsewhere(entry: _Entry, count: int) -> dict[str, Any]:
    """A number whose working another sheet shows, there or with another area's inputs."""
    assert entry.on is not None
    return {
        "number": entry.on.number,
        "title": entry.sheet["title"] + (f", {_where(entry, count)}" if count > 1 else ""),
        "result": result_pieces(entry.sheet),
        "alike": entry.on.sheet["demand"] == entry.sheet["demand"],
    }


def _allowed(limit: Mapping[str, Any]) -> str:
    share = "" if limit["utilisation"] is None else f" ({limit['utilisation'] * 100:.0f} %)"
    return calm_numbers(f"{limit['capacity_text']}") + share


def _sheet(entry: _Entry, count: int) -> dict[str, Any]:
    """All that the template shows of one sheet."""
    sheet = entry.sheet
    steps = step_rows(sheet["steps"]) if _worked(sheet) else []
    inputs = number_rows(sheet["inputs"]) if not sheet["remark"] else []
    held = _held(entry)
    given, unknown = given_text(sheet["choices"])
    shown = {
        "number": entry.number,
        "title": sheet["title"],
        "question": question_of(sheet["demand"], sheet["title"]),
        "where": sheet["subject"][:1].upper() + sheet["subject"][1:],
        "areas": _where(entry, count),
        "result": result_pieces(sheet),
        "governs": _governs(entry, count),
        "held": held,
        "open": bool(sheet["open"]) and not sheet["remark"],
        "remark": sentence(sheet["remark"]) or ("" if _finite(sheet) else _ENDLESS),
        "cautions": [sentence(text) for text in sheet["cautions"]],
        "given": given,
        "unknown": unknown,
        "widths": column_widths([*inputs, *steps]),
        "inputs": inputs,
        "steps": steps,
        "valid": valid_rows(sheet["valid"]),
        "ground": sentence(sheet["ground"]),
        "source": sentence(sheet["source"]),
        "chart": _chart(entry),
    }
    return {**shown, "whole": sheet_mm(shown) <= WHOLE_MM, "whole_inputs": inputs_mm(inputs) <= INPUTS_MM}


def _finite(sheet: Mapping[str, Any]) -> bool:
    return all(step["number"] is not None for step in sheet["steps"])


def _worked(sheet: Mapping[str, Any]) -> bool:
    """Whether the steps give a number that may be shown."""
    return _finite(sheet) and all(item["here"] != "no" for item in sheet["valid"])


def _held(entry: _Entry) -> list[dict[str, Any]]:
    """What the result is held against; an area is named where a limit does not hold for all of them."""
    found: dict[str, tuple[dict[str, str], list[str]]] = {}
    for area, limit, _ in entry.limits:
        row = held_row(limit)
        areas = found.setdefault(json.dumps(row), (row, []))[1]
        if area not in areas:
            areas.append(area)
    return [
        {**row, "areas": listed(areas) if len(areas) < len(entry.areas) else ""}
        for row, areas in found.values()
    ]


def _governs(entry: _Entry, count: int) -> str:
    if not entry.governs:
        return ""
    return f"Governs the answer for {listed(entry.governs)}." if count > 1 else "Governs the answer."


def _chart(entry: _Entry) -> dict[str, str] | None:
    """The chart of a sheet with what it says of itself, for those who cannot see it."""
    if not entry.chart:
        return None
    match = re.search(r"<desc>(.*?)</desc>", entry.chart, re.DOTALL)
    told = unescape(match.group(1)).strip() if match else ""
    return {"svg": entry.chart, "alt": told or f"Chart: {entry.sheet['title']}"}


def _governed_apart(areas: Sequence[AreaSheets], entries: Sequence[_Entry]) -> list[str]:
    """Areas whose governing limit is held against a fact of the site, so that no sheet works it out."""
    found: dict[str, list[str]] = {}
    for area in areas:
        finding = governing_finding(dict(area.candidate))
        worked = any(area.name in entry.governs for entry in entries)
        if finding is not None and not worked:
            what = str(finding.get("demand") or finding.get("limit")).replace("_", " ")
            found.setdefault(what, []).append(area.name)
    return [f"{what} ({listed(names)})" for what, names in found.items()]
