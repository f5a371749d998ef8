"""What the plan page shows: what was found in the plan, and the layout in a sentence and in numbers."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from markupsafe import Markup

from undercourse.base.problems import Problem
from undercourse.drawings import TitleBlock, draw_cut_maps, to_svg
from undercourse.drawings.chart import Axis, Chart, Mark, Series, chart_svg
from undercourse.drawings.measures import FOOT_M, area_text, length_text
from undercourse.layout import Sheet
from undercourse.web.plan_entries import PlanEntry

MOST_MAPPED = 40
"""Rolls beyond this many are in the cut list, not on the cut map."""

Row = dict[str, str]


@dataclass
class PlanPage:
    """One answer of the plan page; without a plan only the place to drop one."""

    plan: dict[str, Any] | None = None
    entry: PlanEntry = field(default_factory=PlanEntry)
    layout: dict[str, Any] | None = None
    marks: dict[str, Any] = field(default_factory=dict)
    own: dict[str, Any] | None = None
    alternatives: list[dict[str, Any]] | None = None
    state: dict[str, Any] | None = None
    area: int = 0
    origin: str = "file"
    problems: Sequence[Problem] = ()
    missing: Sequence[str] = ()
    unit: str = ""
    layers: str = ""
    asks_unit: bool = False

    @property
    def chosen(self) -> list[dict[str, Any]]:
        """The ticked areas of the plan."""
        return [] if self.plan is None else [self.plan["areas"][number] for number in self.entry.picked]


def storeys(plan: Mapping[str, Any], picked: Sequence[int]) -> list[dict[str, Any]]:
    """The areas of a plan by storey, with what people ask of each first."""
    found: dict[str, list[dict[str, Any]]] = {}
    for number, area in enumerate(plan["areas"]):
        found.setdefault(area["storey"], []).append(
            {
                "number": number,
                "name": area["name"],
                "picked": number in set(picked),
                "size": f"{length_text(area['length_m'])} × {length_text(area['width_m'])}",
                "area": area_text(area["area_m2"]),
                "fixed": len(area["obstacles"]),
                "doors": len(area["doors"]),
                "repairs": [_repair(one) for one in area["repairs"]],
                "notes": area["notes"],
            }
        )
    return [{"name": name, "areas": areas} for name, areas in found.items()]


def _repair(repair: Mapping[str, Any]) -> str:
    text = str(repair["what"])
    if isinstance(repair.get("size_m"), int | float) and repair["size_m"] >= 1e-5:
        text += f", {repair['size_m'] * 1000:.3g} mm"
    at = repair.get("at")
    if isinstance(at, list) and len(at) == 2 and all(isinstance(v, int | float) for v in at):
        text += f", at ({at[0]:.2f}, {at[1]:.2f}) m"
    return text


def measures(layout: Mapping[str, Any]) -> dict[str, float]:
    """The numbers that a start line or a direction moves. [-, m, m2]"""
    areas = layout["areas"]
    priced = [float(roll["price"]) for roll in layout["roll_plan"]]
    return {
        "rolls": float(layout["rolls"]),
        "used_m2": float(layout["consumed_area_m2"]),
        "used_m": _used_m(layout),
        "waste": float(layout["waste"]),
        "seams_m": sum(float(a["seam_length_m"]) for a in areas),
        "pieces": float(len(layout["pieces"])),
        "cost": sum(priced),
        "net_m2": float(layout["net_area_m2"]),
    }


def _used_m(layout: Mapping[str, Any]) -> float:
    """Whole rolls but the last, and the used length of the last. [m]"""
    rolls = layout["roll_plan"]
    return sum(float(roll["length_m"]) for roll in rolls[:-1]) + (
        float(rolls[-1]["used_m"]) if rolls else 0.0
    )


def sentence_of(layout: Mapping[str, Any], areas: int) -> str:
    """The answer: how many rolls, and what of them is waste."""
    if not layout["rolls"]:
        return "Nothing can be laid here as it stands."
    many = "One area" if areas == 1 else f"{areas} areas"
    rolls = f"{layout['rolls']} roll{'' if layout['rolls'] == 1 else 's'}"
    waste = waste_words(float(layout["waste"]))
    return f"{many}, {area_text(layout['net_area_m2'])}: {rolls}, and {waste} of what is used is waste."


def waste_words(waste: float) -> str:
    """The share of waste; none where the gaps take more than is cut off."""
    return f"{100 * waste:.1f} %" if waste > 0 else "none"


def rows_of(layout: Mapping[str, Any], own: Mapping[str, float] | None, currency: str | None) -> list[Row]:
    """The numbers that a start line moves; where something is held, beside what the program's own takes.

    Each has ``what``, ``now`` and ``then`` (the same in meters, or a note); with ``own`` also ``own`` and
    ``moved``.
    """
    now = measures(layout)
    rows: list[Row] = []

    def add(what: str, key: str, show: Callable[[float], tuple[str, str]]) -> None:
        words, then = show(now[key])
        row = {"what": what, "now": words, "then": then, "own": "", "moved": ""}
        if own is not None:
            row["own"], row["moved"] = show(own[key])[0], _moved(now[key], own[key], key)
        rows.append(row)

    add("Rolls", "rolls", lambda v: (f"{v:.0f}", _roll_words(layout)))
    add("Sheet used", "used_m", _feet)
    add("Waste", "waste", lambda v: (waste_words(v), "of the sheet"))
    add("Seams", "seams_m", _feet)
    add("Pieces", "pieces", lambda v: (f"{v:.0f}", ""))
    if currency is not None:
        add("Rolls cost", "cost", lambda v: (f"{v:,.0f} {currency}".strip(), "whole rolls"))
    return rows


def _feet(length_m: float) -> tuple[str, str]:
    """A long length in decimal feet, and in meters."""
    return f"{length_m / FOOT_M:,.1f} ft", f"{length_m:,.2f} m"


def _moved(now: float, own: float, key: str) -> str:
    """How the held layout differs, in the unit of its number."""
    gap = now - own
    if key == "waste":
        text = f"{100 * gap:+.1f} points"
    elif key in ("used_m", "seams_m"):
        text = f"{gap / FOOT_M:+,.1f} ft"
    else:
        text = f"{gap:+,.0f}"
    return "same" if not any(digit in text for digit in "123456789") else text.replace("-", "−")


def _roll_words(layout: Mapping[str, Any]) -> str:
    rolls = layout["roll_plan"]
    counts = Counter(float(roll["length_m"]) for roll in rolls if not roll.get("on_site"))
    words = [f"{count} × {length / FOOT_M:.1f} ft ({length:g} m)" for length, count in sorted(counts.items())]
    site = sum(bool(roll.get("on_site")) for roll in rolls)
    return ", ".join([*words, f"{site} on site"] if site else words)


def bound_words(layout: Mapping[str, Any]) -> str:
    """How far the layout is from what is proven to be needed."""
    bounds = layout["bounds"]
    least, used = float(bounds["any_layout_m2"]), float(layout["consumed_area_m2"])
    if not layout["rolls"] or least <= 0:
        return ""
    rolls = int(bounds["any_layout"])
    more = max(0.0, used / least - 1)
    count = f"{rolls} roll{'' if rolls == 1 else 's'}"
    return (
        f"Proven: no layout of these areas under these rules takes fewer than {count} or less than "
        f"{area_text(least)} of sheet; this one takes {100 * more:.1f} % more sheet than that."
    )


def in_hand(layout: Mapping[str, Any] | None, at: str) -> dict[str, Any] | None:
    """The area whose start line and direction are in hand: the one named, else the largest."""
    areas = [area for area in (layout or {}).get("areas", ()) if area["strips"]]
    return next(
        (a for a in areas if a["name"] == at), max(areas, key=lambda a: a["net_area_m2"], default=None)
    )


def turn_text(area: Mapping[str, Any]) -> str:
    """The direction of an area's strips as it is typed. [deg]"""
    return f"{float(area['direction_deg']):.2f}".rstrip("0").rstrip(".")


def line_text(area: Mapping[str, Any]) -> str:
    """The start line of an area as it is typed: from its first wall."""
    return "" if area.get("line_m") is None else f"{round(float(area['line_m']) * 1000) + 0} mm"


def cut_rows(layout: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The cut list: roll by roll from its free end."""
    ordered = sorted(layout["pieces"], key=lambda piece: (piece["roll"], piece["at"], piece["id"]))
    return [
        {
            "roll": piece["roll"],
            "id": piece["id"],
            "area": piece["area"],
            "length": length_text(piece["length_m"]),
            "width": length_text(piece["width_m"]),
            "from": length_text(piece["at"][0]),
        }
        for piece in ordered
    ]


def cut_maps(layout: Mapping[str, Any], name: str) -> list[Markup]:
    """The cut map of the first rolls, as drawings inside the page."""
    pieces = [piece for piece in layout["pieces"] if piece["roll"] <= MOST_MAPPED]
    if not pieces:
        return []
    sheets = draw_cut_maps({**layout, "pieces": pieces}, TitleBlock(job=name))
    return [Markup(to_svg(sheet).decode()) for sheet in sheets]


def notes_of(layout: Mapping[str, Any], marks: Mapping[str, Any]) -> list[str]:
    """What is to know of the areas as laid: notes of layout, joints and cable, repeated ones once."""
    found: dict[str, list[str]] = {}
    for area in layout["areas"]:
        for note in area["notes"]:
            found.setdefault(note.rstrip("."), []).append(area["name"])
    for name, one in marks.items():
        for part in ("joints", "cable"):
            for note in (one.get(part) or {}).get("notes", ()):
                found.setdefault(str(note).rstrip("."), []).append(name)
    return [f"{_names(names)}: {note}." for note, names in found.items()]


def _names(names: Sequence[str]) -> str:
    once = list(dict.fromkeys(names))
    return ", ".join(once[:4]) + (f" and {len(once) - 4} more" if len(once) > 4 else "")


def joint_length(marks: Mapping[str, Any]) -> float | None:
    """Length of the movement joints inside all areas; None where none were asked for. [m]"""
    found = [one["joints"] for one in marks.values() if one.get("joints")]
    if not found:
        return None
    return math.fsum(float(joints.get("joint_length_m") or 0.0) for joints in found)


def compare_chart(page: PlanPage) -> Markup | None:
    """Sheet against seams of the ways that were tried, with what is laid as a point; None below two ways."""
    ways = page.alternatives or []
    if len(ways) < 2 or page.layout is None:
        return None
    now = measures(page.layout)
    name = "no way tried has both less sheet and shorter seams"
    line = Series(
        name,
        tuple(way["seam_length_m"] / FOOT_M for way in ways),
        tuple(way["consumed_area_m2"] / FOOT_M**2 for way in ways),
        "main",
    )
    here = Mark("as laid", now["seams_m"] / FOOT_M, now["used_m2"] / FOOT_M**2)
    chart = Chart(
        "Sheet used, by length of seams",
        Axis("Seams", "ft", second=("m", FOOT_M, 0.0)),
        Axis("Sheet used", "sq ft", second=("m²", FOOT_M**2, 0.0)),
        (line,),
        (here,),
    )
    return Markup(chart_svg(chart, 0.16, 0.08))


def way_rows(page: PlanPage) -> list[Row]:
    """The ways of the comparison in words, from least sheet to shortest seams."""
    return [
        {
            "how": _how(way),
            "sheet": area_text(way["consumed_area_m2"]),
            "seams": length_text(way["seam_length_m"]),
            "pieces": str(way["pieces"]),
        }
        for way in page.alternatives or []
    ]


def _how(way: Mapping[str, Any]) -> str:
    parts = []
    if way["direction_deg"] is not None:
        parts.append(f"all strips at {float(way['direction_deg']):.4g}°")
    if not way["head_joints"]:
        parts.append("without head joints")
    if way["seam_weight"] != 1:
        weight = float(way["seam_weight"])
        parts.append(
            "seams and pieces for nothing" if not weight else f"seams and pieces {weight:g} times as dear"
        )
    return ", ".join(parts) or "as the sheet's prices have it"


def pair_words(pair: Sequence[float]) -> str:
    """Distances of both ends of a line from a wall."""
    first, last = float(pair[0]), float(pair[-1])
    if abs(first - last) < 0.0005:
        return length_text(first)
    return f"{length_text(first)} at its start, {length_text(last)} at its end,"


def sheet_words(sheet: Sheet) -> str:
    """A sheet's sizes and gaps in a sentence."""
    rolls = " or ".join(length_text(length) for length in sheet.roll_lengths_m)
    seam = f"seams open by {length_text(sheet.seam_gap_m)}" if sheet.seam_gap_m else "seams closed"
    if sheet.lap_m:
        seam = f"laps of {length_text(sheet.lap_m)}"
    edge = length_text(sheet.edge_gap_m)
    return (
        f"Rolls {length_text(sheet.width_m)} wide, {rolls} long; {seam}, {edge} off the walls; "
        f"no piece below {length_text(sheet.smallest_piece_m)}."
    )


PLAN_FILTERS = {"length_words": length_text, "pair_words": pair_words, "sheet_words": sheet_words}
