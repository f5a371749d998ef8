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
from undercourse.papers.sheet_rows import (
    calm_numbers,
    column_widths,
    given_text,
    held_rows,
    number_rows,
    result_pieces,
    step_rows,
    valid_rows,
)
from undercourse.papers.wording import governing_finding, listed, sentence

# So many sheets that only inform are printed in one report; the best grounded ones first.
MOST_INFORMING = 24
# A number that only informs is worked out on paper where its ends lie no further apart than this.
_CLOSE = 3.0
# A sheet is kept whole on one page up to this height; a higher one breaks between its steps. [mm]
WHOLE_MM = 118.0


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
    within: _Entry | None = None
    like: _Entry | None = None
    left: str = ""

    @property
    def decides(self) -> bool:
        return bool(self.limits)


def calculation_sheets(
    areas: Sequence[AreaSheets], charts: Mapping[str, Mapping[str, str]] | None = None
) -> dict[str, Any]:
    """What the template shows of all calculation sheets of a report.

    Those that a limit is held against come first, by subject, then those that only inform. The same
    working in several areas is printed once, and one that another sheet holds already is only listed.

    Parameters
    ----------
    areas : sequence of AreaSheets
    charts : mapping, optional
        By area and by name of the demand a chart as SVG text.
    """
    entries = _gathered(areas, charts or {})
    deciding = [entry for entry in entries if entry.decides]
    informing = [entry for entry in entries if not entry.decides]
    for entry in informing:
        entry.within = next((one for one in [*deciding, *informing] if _holds(one, entry)), None)
    printed = [*deciding, *_kept(informing)]
    for number, entry in enumerate(printed, 1):
        entry.number = number
    several = len(areas) > 1
    names = _product_names(areas)
    return {
        "groups": [
            {"head": "Sheets that decide a limit", "sheets": [_sheet(e, several, names) for e in deciding]},
            {
                "head": "Sheets that only inform",
                "sheets": [_sheet(e, several, names) for e in printed if not e.decides],
            },
        ],
        "list": [
            {"head": "Held against a limit", "rows": [_row(e, several) for e in deciding]},
            {"head": "For information only", "rows": [_row(e, several) for e in informing]},
        ],
        "several": several,
        "apart": _governed_apart(areas, entries),
        "numbers": {
            name: {e.sheet["demand"]: (e.within or e.like or e).number for e in entries if name in e.areas}
            for name in (area.name for area in areas)
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
            chart = charts.get(area.name, {}).get(sheet["demand"], "")
            key = json.dumps([core, chart], sort_keys=True, default=str)
            entry = found.setdefault(key, _Entry(sheet, place, chart=chart))
            entry.areas.append(area.name)
            for limit in sheet["limits"]:
                leads = sheet["demand"] == governs.get("demand") and limit["limit"] == governs.get("limit")
                entry.limits.append((area.name, limit, leads))
                if leads:
                    entry.governs.append(area.name)
    return sorted(found.values(), key=lambda entry: entry.place)


def _kept(informing: Sequence[_Entry]) -> list[_Entry]:
    """The informing sheets that are printed: known closely, each demand once, the best grounded first."""
    first: dict[str, _Entry] = {}
    for entry in informing:
        if entry.within is not None:
            continue
        if not _close(entry.sheet):
            entry.left = "too open to be worked out"
        elif entry.sheet["demand"] in first:
            entry.like = first[entry.sheet["demand"]]
        else:
            first[entry.sheet["demand"]] = entry
    order = list(GROUNDS.values())
    ranked = sorted(first.values(), key=lambda entry: order.index(entry.sheet["ground"]))
    for entry in ranked[MOST_INFORMING:]:
        entry.left = "left out for length"
    return [entry for entry in first.values() if not entry.left]


def _close(sheet: Mapping[str, Any]) -> bool:
    low, high = sheet.get("low"), sheet.get("high")
    if not isinstance(low, int | float) or not isinstance(high, int | float) or low == high:
        return True
    return low * high > 0 and max(abs(low), abs(high)) <= _CLOSE * min(abs(low), abs(high))


def _holds(sheet: _Entry, other: _Entry) -> bool:
    """Whether all that another sheet works out stands on this one too."""
    if sheet is other or sheet.within is not None or not set(other.areas) <= set(sheet.areas):
        return False
    own, wanted = _lines(sheet), _lines(other)
    if wanted and re.fullmatch(r"\w+", other.sheet["steps"][-1]["plain"]):
        wanted = wanted[:-1]
    cautions = set(other.sheet["cautions"]) <= set(sheet.sheet["cautions"])
    return bool(wanted) and set(wanted) <= set(own) and len(wanted) < len(own) and cautions


def _lines(entry: _Entry) -> list[tuple[str, str, str]]:
    return [(step["symbol"], step["formula"], step["si"]) for step in entry.sheet["steps"]]


def _product_names(areas: Sequence[AreaSheets]) -> dict[str, str]:
    """Names of the products in the chosen assemblies by their ids."""
    layers = [layer for area in areas for layer in area.candidate.get("layers") or ()]
    return {str(one["product"]): str(one["name"]) for one in layers if one.get("product") and one.get("name")}


def _row(entry: _Entry, several: bool) -> dict[str, Any]:
    """One line of the list in front."""
    said = list(dict.fromkeys(f"{limit['status']} {_allowed(limit)}".strip() for _, limit, _ in entry.limits))
    if entry.within is not None:
        said = [f"worked out on sheet {entry.within.number}"]
    elif entry.like is not None and entry.like.number:
        said = [f"worked as on sheet {entry.like.number}, with this area's numbers"]
    elif not entry.number:
        said = [entry.left or "left out for length"]
    return {
        "number": entry.number,
        "title": entry.sheet["title"],
        "areas": listed(entry.areas) if several else "",
        "result": result_pieces(entry.sheet),
        "held": [word[:1].upper() + word[1:] for word in said],
        "governs": bool(entry.governs),
    }


def _allowed(limit: Mapping[str, Any]) -> str:
    share = "" if limit["utilisation"] is None else f" ({limit['utilisation'] * 100:.0f} %)"
    return calm_numbers(f"{limit['capacity_text']}") + share


def _sheet(entry: _Entry, several: bool, names: Mapping[str, str]) -> dict[str, Any]:
    """All that the template shows of one sheet."""
    sheet = entry.sheet
    steps = step_rows(sheet["steps"]) if sheet["valid"] == [] or _valid(sheet) else []
    inputs = number_rows(sheet["inputs"]) if not sheet["remark"] else []
    held = _held(entry, several, names)
    given, unknown = given_text(sheet["choices"])
    shown = {
        "number": entry.number,
        "title": sheet["title"],
        "question": question_of(sheet["demand"], sheet["title"]),
        "where": sheet["subject"][:1].upper() + sheet["subject"][1:],
        "areas": listed(entry.areas) if several else "",
        "result": result_pieces(sheet),
        "governs": (f"Governs the answer for {listed(entry.governs)}." if several else "Governs the answer.")
        if entry.governs
        else "",
        "held": held,
        "open": bool(sheet["open"]) and not sheet["remark"],
        "remark": sentence(sheet["remark"]),
        "cautions": [sentence(text) for text in sheet["cautions"]],
        "given": given,
        "unknown": unknown,
        "widths": column_widths([*inputs, *steps]),
        "inputs": inputs,
        "steps": steps,
        "valid": valid_rows(sheet["valid"]),
        "ground": sentence(sheet["ground"]),
        "source": sentence(sheet["source"]),
        "chart": {"svg": entry.chart, "alt": _alternative(entry.chart, sheet["title"])} if entry.chart else None,
    }
    return {**shown, "whole": _height(shown) <= WHOLE_MM}


def _valid(sheet: Mapping[str, Any]) -> bool:
    return all(item["here"] != "no" for item in sheet["valid"])


def _held(entry: _Entry, several: bool, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """What the result is held against, areas with the same limits told together."""
    by_area = {
        name: held_rows([limit for area, limit, _ in entry.limits if area == name], names)
        for name in entry.areas
    }
    told: dict[str, tuple[list[str], list[dict[str, Any]]]] = {}
    for name, rows in by_area.items():
        told.setdefault(json.dumps(rows), ([], rows))[0].append(name)
    return [
        {"areas": listed(areas) if several and len(told) > 1 else "", "rows": rows}
        for areas, rows in told.values()
        if rows
    ]


def _height(sheet: Mapping[str, Any]) -> float:
    """About how high a sheet is. [mm]"""
    held = sum(5.0 + 4.0 * len(group["rows"]) for group in sheet["held"])
    steps = sum(7.0 + (7.0 if step["tree"] else 3.0 if step["written"] else 0.0) for step in sheet["steps"])
    words = 6.0 * len(sheet["cautions"]) + 4.0 * len(sheet["valid"])
    return 32.0 + max(held, 10.0) + 4.9 * len(sheet["inputs"]) + steps + words + (75.0 if sheet["chart"] else 0.0)


def _alternative(svg: str, title: str) -> str:
    """What a drawing says of itself, for those who cannot see it."""
    match = re.search(r"<desc>(.*?)</desc>", svg, re.DOTALL)
    return unescape(match.group(1)) if match and match.group(1).strip() else f"Chart: {title}"


def _governed_apart(areas: Sequence[AreaSheets], entries: Sequence[_Entry]) -> list[str]:
    """Areas whose governing limit is held against a fact of the site, so that no sheet works it out."""
    found = []
    for area in areas:
        finding = governing_finding(dict(area.candidate))
        worked = any(area.name in entry.governs for entry in entries)
        if finding is not None and not worked:
            what = str(finding.get("demand") or finding.get("limit")).replace("_", " ")
            found.append(f"{what} for {area.name}")
    return found
