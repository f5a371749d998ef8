"""The drawings of an area as SVG for the page, made after the verdicts are shown."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from markupsafe import Markup

from undercourse.drawings import (
    Sheet,
    TitleBlock,
    draw_cable_plan,
    draw_cut_map,
    draw_joint_plan,
    draw_plan,
    draw_section,
    draw_shares,
    to_svg,
)
from undercourse.facts.jobs import Job
from undercourse.files.reporting import JobPapers, drawn, prepare
from undercourse.judge.rulebook import Rulebook
from undercourse.papers.floor_words import cable_words, joint_words
from undercourse.papers.job_report import answer_hash

MOST_SHARES = 10


@dataclass
class Pictures:
    """The drawings of one area; None where there is nothing to draw, with the reason in ``notes``."""

    section: Markup
    shares: Markup | None
    plan: Markup | None = None
    cut_map: Markup | None = None
    joint_plan: Markup | None = None
    joints: dict[str, Any] | None = None
    cable_plan: Markup | None = None
    cable: dict[str, Any] | None = None
    takeoff: dict[str, Any] | None = None
    drawn_for: str = ""
    notes: list[str] = field(default_factory=list)


def draw_area(job: Job, book: Rulebook, today: dt.date, row: int, candidate_id: str) -> Pictures:
    """Section, shares, plan and cut map of an area.

    Parameters
    ----------
    candidate_id : str
        The candidate whose section and shares are drawn; the plan is of the recommended membrane.
    """
    papers = prepare(job, book, today, advise=False)
    document = drawn(papers.answer)
    area = document["areas"][row]
    block = TitleBlock(
        job.name,
        area["area"],
        f"{document['basis']['line']['revision']}",
        str(document["basis"]["date"] or ""),
        answer_hash(papers.answer),
    )
    candidate = next((c for c in area["candidates"] if c["id"] == candidate_id), area["candidates"][0])
    shares = draw_shares(candidate["findings"], candidate["governs"], most_rows=MOST_SHARES)
    has_shares = any(getattr(mark, "name", "") == "limit" for mark in shares.marks)
    pictures = Pictures(
        _inline(draw_section(candidate["layers"], block)), _inline(shares) if has_shares else None
    )
    if candidate["id"] != area["recommended"]:
        pictures.drawn_for = str(candidate["name"])
    _lay(pictures, papers, area, block, job.areas[row].outline is not None)
    _mark(pictures, papers, area["area"], block)
    return pictures


def _mark(pictures: Pictures, papers: JobPapers, name: str, block: TitleBlock) -> None:
    """Movement joints and heating cable of the area."""
    room = {"name": name, **papers.rooms.get(name, {})}
    joints, cable = papers.joints.get(name), papers.cables.get(name)
    if joints is not None:
        pictures.joints = joint_words(joints)
        if joints["joints"]:
            pictures.joint_plan = _inline(draw_joint_plan(room, joints, block))
    if cable is not None:
        pictures.cable = cable_words(cable)
        if cable["circuits"]:
            pictures.cable_plan = _inline(draw_cable_plan(room, cable, joints, block))


def _lay(
    pictures: Pictures, papers: JobPapers, area: dict[str, Any], block: TitleBlock, outlined: bool
) -> None:
    name = area["area"]
    pictures.takeoff = next((t for t in papers.takeoffs if t["area"] == name), None)
    for layout in papers.layouts:
        laid = next((one for one in layout["areas"] if one["name"] == name), None)
        if laid is None:
            continue
        pieces = list(layout["pieces"])
        rolls = {piece["roll"] for piece in pieces if piece["area"] == name}
        shared = {**layout, "pieces": [piece for piece in pieces if piece["roll"] in rolls]}
        pictures.plan = _inline(draw_plan({**laid, **papers.rooms.get(name, {})}, pieces, block))
        pictures.cut_map = _inline(draw_cut_map(shared, block)) if rolls else None
        others = sorted({p["area"] for p in shared["pieces"]} - {name})
        if others:
            pictures.notes.append(f"These rolls also serve {', '.join(others)}.")
    pictures.notes += [f"{problem.what}; {problem.fix}." for problem in papers.problems]
    if pictures.plan is None and not papers.problems:
        pictures.notes.append(_why_no_plan(area, outlined))


def _why_no_plan(area: dict[str, Any], outlined: bool) -> str:
    if not outlined:
        return "No plan: this area has no outline yet. Write one under “This area” on the sheet."
    if area["recommended"] is None:
        return "No plan: no product is recommended for this area."
    return "No plan: the recommended membrane does not come on rolls."


def _inline(sheet: Sheet) -> Markup:
    """A sheet as markup inside the page; the drawing's own writer escapes every text."""
    return Markup(to_svg(sheet).decode())
