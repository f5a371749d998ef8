"""The report on a job: for each area the answer on one page, then drawings, numbers, steps and reasons."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.drawings import (
    Sheet,
    TitleBlock,
    draw_cable_plan,
    draw_cut_maps,
    draw_dry_fit,
    draw_joint_plan,
    draw_plan,
    draw_section,
    draw_shaped_pieces,
    draw_shares,
    dry_fit_rows,
    lettering,
    to_svg,
)
from undercourse.drawings.chart import draw_chart
from undercourse.drawings.depends_chart import HEIGHT_M, WIDTH_M, draw_depends
from undercourse.drawings.lettering import shorten
from undercourse.papers.area_report import (
    assumed,
    cut_list,
    open_facts,
    other_candidates,
    overrides,
    preparations,
    quantities,
    step_rows,
)
from undercourse.papers.calculation_sheets import AreaSheets, calculation_sheets
from undercourse.papers.characters import breakable_all, settable
from undercourse.papers.findings import findings_table, number_findings
from undercourse.papers.floor_words import cable_words, dry_fit_row, joint_words
from undercourse.papers.front import (
    answer_sentence,
    conditions,
    front_page,
    read_cautions,
    recommended_candidate,
)
from undercourse.papers.typesetting import PAGES, Page, PaperAssets, set_pdf
from undercourse.papers.wording import SITES, status_key

SHEET_MM, CHART_MM = 170.0, 128.0
# Height between the margins of the lower of the two papers, and of the title above a lone area.
ROOM_MM, TITLE_MM = 234.0, 21.0


def job_report(
    answer: Mapping[str, Any],
    layouts: Sequence[Mapping[str, Any]],
    takeoffs: Sequence[Mapping[str, Any]],
    *,
    assets: PaperAssets,
    timestamp: int,
    page: Page = "us-letter",
    steps: Mapping[str, Sequence[Mapping[str, Any]]] | None = None,
    rooms: Mapping[str, Mapping[str, Any]] | None = None,
    sheets: Mapping[str, Sequence[Mapping[str, Any]]] | None = None,
    charts: Mapping[str, Mapping[str, str]] | None = None,
    joints: Mapping[str, Mapping[str, Any]] | None = None,
    cables: Mapping[str, Mapping[str, Any]] | None = None,
) -> bytes:
    """The job report as a tagged PDF.

    Parameters
    ----------
    answer : mapping
        An answer as ``answer --json`` gives it; areas may carry ``assumed`` besides.
    layouts, takeoffs : sequence of mapping
        Layouts as ``layout --json`` gives them and take-offs, matched to areas by name.
    assets : PaperAssets
        Template and folders of fonts.
    timestamp : int
        Seconds since 1970 for the PDF's own date: an input, never the clock.
    page : str
        ``us-letter`` or ``a4``.
    steps : mapping, optional
        By area the steps in order: dicts of ``step``, ``detail``, ``source``, ``caution``.
    rooms : mapping, optional
        By area what drawings show besides the answer: ``outline``, ``obstacles``, ``entrance``, ``north_deg``
        on the plan; layers ``above`` and ``below`` the candidate's own (top first) in the section.

    sheets : mapping, optional
        By area the calculation sheets of its chosen candidate, as ``advise.area_sheets`` gives them.
    charts : mapping, optional
        By area and by name of the demand a chart as SVG text, shown on that demand's sheet.
    joints, cables : mapping, optional
        By area its movement joints and its heating cable, as ``layout --json`` gives them.

    Raises
    ------
    Problems
        If the page is not one of the two.
    """
    if page not in PAGES:
        raise Problems(
            [Problem("page", f'"{page}" is not a size of paper known here', f"use {' or '.join(PAGES)}")]
        )
    clean = settable(dict(answer))
    digest = answer_hash(answer)
    job, date, revision = (
        _job_name(clean),
        str((clean.get("basis") or {}).get("date") or ""),
        _revision(clean),
    )
    sheets_of = settable([dict(layout) for layout in layouts])
    taken = {str(t.get("area")): t for t in settable([dict(t) for t in takeoffs])}
    areas = []
    room_mm = ROOM_MM - (TITLE_MM if len(clean.get("areas") or ()) == 1 else 0.0)
    for area in clean.get("areas") or ():
        name = str(area.get("area") or "Area")
        block = TitleBlock(job, name, revision, date, digest)
        own_steps = settable([dict(s) for s in (steps or {}).get(name) or ()])
        room = settable(dict((rooms or {}).get(name) or {}))
        areas.append(
            {
                **_area(
                    area, name, block, sheets_of, taken.get(name), own_steps, room, _maker(clean), room_mm
                ),
                **_marked(name, block, room, *_of_area(name, joints, cables)),
            }
        )
    worked = settable(
        calculation_sheets(
            [
                AreaSheets(name, (sheets or {}).get(name) or (), recommended_candidate(area) or {})
                for area in answer.get("areas") or ()
                for name in [str(area.get("area") or "Area")]
            ],
            charts,
        )
    )
    for area in areas:
        number_findings(area["findings"], worked["numbers"].get(area["name"], {}))
    data = {
        "job": job,
        "head": {
            "job": shorten(job, 90.0, lettering.SMALL),
            "date": shorten(date or "not dated", 20.0, lettering.SMALL),
            "revision": shorten(revision or "not stated", 20.0, lettering.SMALL),
        },
        "hash": digest[:12],
        "areas": areas,
        "sheets": worked,
        "overview": [_overview(area) for area in clean.get("areas") or ()],
        "basis": _basis(clean.get("basis") or {}, digest),
        "numbered": "[U+" in json.dumps([clean, taken, sheets_of], ensure_ascii=False, default=str),
    }
    return set_pdf(assets, breakable_all(data), timestamp=timestamp, page=page)


def answer_hash(answer: Mapping[str, Any]) -> str:
    """The hash by which papers name an answer: its own if its basis holds one, else SHA-256 of its JSON."""
    basis = answer.get("basis") or {}
    if isinstance(basis, Mapping) and basis.get("answer"):
        return str(basis["answer"])
    text = json.dumps(answer, sort_keys=True, ensure_ascii=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def _of_area(name: str, *by_area: Mapping[str, Mapping[str, Any]] | None) -> list[dict[str, Any] | None]:
    """What each of several mappings holds for an area."""
    found = [(one or {}).get(name) for one in by_area]
    return [None if one is None else settable(dict(one)) for one in found]


def _job_name(answer: dict[str, Any]) -> str:
    job = answer.get("job")
    if isinstance(job, dict):
        job = job.get("name")
    return str(job or "Job without a name")


def _revision(answer: dict[str, Any]) -> str:
    basis = answer.get("basis") or {}
    named = basis.get("line_revision") or basis.get("revision")
    if named:
        return str(named)
    line = basis.get("line")
    if isinstance(line, dict):
        return str(line.get("revision") or line.get("hash") or "")[:24]
    return str(line or "")[:8]


def _maker(answer: dict[str, Any]) -> str:
    line = (answer.get("basis") or {}).get("line")
    return str(line.get("maker") or "") if isinstance(line, dict) else ""


def _basis(basis: dict[str, Any], digest: str) -> list[dict[str, str]]:
    """Everything the answer rests on, by hash."""
    rows = []
    for key in basis:
        value = basis[key]
        if isinstance(value, dict):
            inner = [
                f"{k} {v}" if k != "hash" else str(v) for k, v in value.items() if not isinstance(v, dict)
            ]
            nested = [(f"{key}, {k}", str(v)) for k, v in value.items() if key == "hashes"]
            rows += nested if nested else [(key, ", ".join(inner))]
        else:
            rows.append((key, str(value)))
    if not basis.get("answer"):
        rows.append(("this answer (SHA-256)", digest))
    return [{"what": _title(key), "value": value} for key, value in rows]


def _title(key: str) -> str:
    words = key.replace("_", " ")
    return words[:1].upper() + words[1:]


def _overview(area: dict[str, Any]) -> dict[str, str]:
    candidate = recommended_candidate(area)
    status = status_key((area.get("site") or {}).get("status"))
    key, words = answer_sentence(area, candidate)
    return {
        "area": str(area.get("area") or "Area"),
        "site_key": status,
        "site": SITES.get(status, "Not judged"),
        "key": key,
        "sentence": words,
    }


def _area(
    area: dict[str, Any],
    name: str,
    block: TitleBlock,
    layouts: list[dict[str, Any]],
    takeoff: dict[str, Any] | None,
    steps: list[dict[str, Any]],
    room: dict[str, Any],
    maker: str,
    room_mm: float,
) -> dict[str, Any]:
    """All that the template shows of one area."""
    candidate = recommended_candidate(area)
    chosen = candidate or {}
    chart = _chart(chosen)
    layout = next(
        (one for one in layouts if any(a.get("name") == name for a in one.get("areas") or ())), None
    )
    return {
        "name": name,
        "front": front_page(area, candidate, chart.height + 3.0 if chart else 0.0, room_mm),
        "shares": _svg(chart) if chart else None,
        "section": _svg(draw_section(_stack(chosen, room), block, width_mm=SHEET_MM)),
        **_laid(layout, name, block, room),
        "cuts": cut_list(layout, name),
        "quantities": quantities(takeoff),
        "steps": step_rows(steps),
        "findings": findings_table(chosen, read_cautions(area)),
        "others": other_candidates(area, candidate),
        "conditions": conditions(chosen),
        "cautions": read_cautions(area),
        "assumed": assumed(area, candidate),
        "open": open_facts(area, candidate),
        "pairs": _pairs(chosen),
        "prep": preparations(area, str((takeoff or {}).get("currency") or "")),
        "overrides": overrides(candidate, maker),
        "not_stated": [_missing(raw) for raw in chosen.get("not_stated") or ()],
        "exact": chosen.get("exact"),
    }


def _stack(candidate: dict[str, Any], room: dict[str, Any]) -> list[dict[str, Any]]:
    """The candidate's layers between what the caller says lies above and below them."""
    below = [{"existing": True, **layer} for layer in room.get("below") or ()]
    return [*(room.get("above") or ()), *(candidate.get("layers") or ()), *below]


def _missing(raw: Any) -> str:
    if isinstance(raw, dict):
        raw = raw.get("limit") or raw.get("demand") or raw.get("what") or ""
    return str(raw).replace("_", " ")


def _svg(sheet: Sheet) -> dict[str, str]:
    return {"svg": to_svg(sheet).decode(), "alt": sheet.description, "title": sheet.title}


def _chart(candidate: dict[str, Any]) -> Sheet | None:
    """The chart of the first page: the five largest shares, without a title block."""
    findings = list(candidate.get("findings") or ())
    sheet = draw_shares(findings, candidate.get("governs"), width_mm=CHART_MM, most_rows=5)
    return sheet if any(getattr(mark, "name", "") == "limit" for mark in sheet.marks) else None


def _pairs(candidate: dict[str, Any]) -> list[dict[str, str]]:
    """The charts of open numbers that decide together."""
    turns = [one for one in candidate.get("depends_on") or () if isinstance(one, dict)]
    charts = [chart for one in turns if (chart := draw_depends(one)) is not None]
    return [_svg(draw_chart(chart, WIDTH_M, HEIGHT_M)) for chart in charts]


def _laid(
    layout: dict[str, Any] | None, name: str, block: TitleBlock, room: dict[str, Any]
) -> dict[str, Any]:
    """Plan, dry-fit sheet and cut map of one area; the cut map shows the rolls that its pieces come from."""
    if layout is None:
        return {"plan": None, "cut_maps": [], "layout_notes": [], "dry_fit": None}
    area = next(a for a in layout.get("areas") or () if a.get("name") == name)
    pieces = list(layout.get("pieces") or ())
    rolls = {p.get("roll") for p in pieces if p.get("area") in (None, name)}
    shared = {**layout, "pieces": [p for p in pieces if p.get("roll") in rolls]}
    notes = [str(note) for note in area.get("notes") or ()]
    bound, count = layout.get("roll_bound"), layout.get("rolls")
    if isinstance(count, int) and isinstance(bound, int) and count:
        proof = "fewer are not possible" if bound == count else f"no layout needs fewer than {bound}"
        notes.append(f"{count} roll{'' if count == 1 else 's'} for all areas of this layout; {proof}.")
    placed = {**area, **room}
    return {
        "plan": _svg(draw_plan(placed, pieces, block, width_mm=SHEET_MM)),
        "cut_maps": [_svg(sheet) for sheet in draw_cut_maps(shared, block, width_mm=SHEET_MM)]
        if rolls
        else [],
        "layout_notes": notes,
        "dry_fit": _dry_fit(placed, pieces, block) if rolls else None,
    }


def _dry_fit(area: dict[str, Any], pieces: list[dict[str, Any]], block: TitleBlock) -> dict[str, Any] | None:
    """The sheet that a setter lays from: the pieces in order, then those that are cut to shape."""
    rows = dry_fit_rows(area, pieces)
    if not rows:
        return None
    return {
        "plans": [_svg(one) for one in draw_dry_fit(area, pieces, block, width_mm=SHEET_MM)],
        "shaped": [_svg(one) for one in draw_shaped_pieces(area, pieces, block, width_mm=SHEET_MM)],
        "rows": [dry_fit_row(row) for row in rows],
    }


def _marked(
    name: str,
    block: TitleBlock,
    room: dict[str, Any],
    joints: dict[str, Any] | None,
    cable: dict[str, Any] | None,
) -> dict[str, Any]:
    """Movement joints and heating cable of one area; joints without one in the field are told in words."""
    area = {"name": name, **room}
    drawn = joints is not None and bool(joints["joints"])
    return {
        "joints": None if joints is None else joint_words(joints),
        "joint_plan": _svg(draw_joint_plan(area, joints or {}, block, width_mm=SHEET_MM)) if drawn else None,
        "cable": None if cable is None else cable_words(cable),
        "cable_plan": _svg(draw_cable_plan(area, cable, joints, block, width_mm=SHEET_MM))
        if cable is not None and cable["circuits"]
        else None,
    }
