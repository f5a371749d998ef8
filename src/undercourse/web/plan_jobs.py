"""Plans and jobs: a job's outlines as a plan, and a plan's areas as the outlines of a job."""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Mapping
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.files.plan_laying import Held, held_from, start_of
from undercourse.files.plan_outlines import read_outlines
from undercourse.files.plan_parts import PlanOptions
from undercourse.files.plan_telling import plan_document
from undercourse.files.reporting import prepare
from undercourse.judge.rulebook import Rulebook
from undercourse.layout import Sheet
from undercourse.web.pages import read
from undercourse.web.state import MOST_AREAS, MOST_STATE_CHARACTERS, State, empty_state, write_state

_KEYS = ("outline", "obstacles", "doors")


def job_plan(state: State) -> tuple[dict[str, Any] | None, list[str]]:
    """The outlines of a job as a plan, and the names of its areas that have none."""
    areas = [area for area in state["areas"] if area.get("outline")]
    missing = [str(area["name"]) for area in state["areas"] if not area.get("outline")]
    if not areas:
        return None, missing
    rows = [{"name": area["name"], **{key: area.get(key) or [] for key in _KEYS}} for area in areas]
    found = read_outlines({"unit": "m", "area": rows}, str(state["name"]), PlanOptions(unit="m"))
    # Areas of a job are floors apart: each may have an origin of its own.
    plan = {**plan_document(found), "overlaps": []}
    lines = {area["name"]: [*area.get("base_joint_lines", ()), *area.get("seams_off", ())] for area in areas}
    for row in plan["areas"]:
        row["seams_off"] = lines.get(row["name"], [])
    return plan, missing


def job_held(state: State, plan: dict[str, Any], sheet: Sheet) -> dict[str, Held]:
    """What the job holds of its areas: direction and start line, by name."""
    outlines = {area["name"]: area["outline"] for area in plan["areas"]}
    found = {}
    for area in state["areas"]:
        turn, start = area.get("strip_direction"), area.get("strip_start")
        if turn is not None and area["name"] in outlines:
            found[area["name"]] = held_from(outlines[area["name"]], sheet, turn, start)
    return found


def hold_in_job(state: State, plan: dict[str, Any], sheet: Sheet, held: Mapping[str, Held]) -> State:
    """The job with directions and start lines as they are held on the page; those let go are dropped."""
    made = copy.deepcopy(state)
    outlines = {area["name"]: area["outline"] for area in plan["areas"]}
    for area in made["areas"]:
        if area["name"] not in outlines:
            continue
        one = held.get(area["name"], Held())
        start = start_of(outlines[area["name"]], sheet, one)
        for key, value in (("strip_direction", one.direction_deg), ("strip_start", start)):
            area.pop(key, None)
            if value is not None:
                area[key] = round(value, 6)
    return made


def job_marks(
    state: State, book: Rulebook, today: dt.date
) -> tuple[dict[str, str], dict[str, dict[str, Any]]]:
    """The membrane recommended for each area of the job, and its movement joints and cable, by name."""
    papers = prepare(read(state, book), book, today, advise=False)
    marks = {
        name: {"joints": papers.joints.get(name), "cable": papers.cables.get(name)}
        for name in {**papers.joints, **papers.cables}
    }
    return {area["area"]: str(area["recommended"] or "") for area in papers.answer["areas"]}, marks


def take_outlines(state: State | None, plan: dict[str, Any], picked: list[int], go: str) -> tuple[State, int]:
    """The job with outlines of a plan, and the area to show.

    Parameters
    ----------
    state : dict, optional
        The job that asked for the plan; without it a job begins.
    go : str
        ``fill:2`` gives the one chosen area to that area of the job; ``add`` and ``begin`` make areas of all.

    Raises
    ------
    Problems
        When nothing, or too much, is chosen.
    """
    if not picked:
        raise Problems([Problem("areas", "no area is chosen", "tick the areas that the job is about")])
    chosen = [plan["areas"][number] for number in picked]
    word, _, rest = go.partition(":")
    if word == "fill" and state is not None:
        return _fill(state, chosen, int(rest) if rest.isdecimal() and len(rest) < 4 else 0)
    made = copy.deepcopy(state) if state is not None else {**empty_state(), "name": plan["file"], "areas": []}
    first = len(made["areas"])
    names = {str(area["name"]) for area in made["areas"]}
    for area in chosen:
        name, number = area["name"], 1
        while name in names:
            number += 1
            name = f"{area['name']} ({number})"
        names.add(name)
        made["areas"].append({"name": name, "facts": {}, **_outlines(area)})
    return _checked(made), first


def _fill(state: State, chosen: list[dict[str, Any]], row: int) -> tuple[State, int]:
    if len(chosen) != 1:
        fix = "tick the one that is this area, or add them all as areas of their own"
        raise Problems([Problem("areas", f"{len(chosen)} areas are chosen for one outline", fix)])
    if row >= len(state["areas"]):
        raise Problems([Problem("the page", "the job has no such area", "go back to the job")])
    made = copy.deepcopy(state)
    for key in _KEYS:
        made["areas"][row].pop(key, None)
    made["areas"][row].update(_outlines(chosen[0]))
    return _checked(made), row


def _outlines(area: dict[str, Any]) -> dict[str, Any]:
    return {key: area[key] for key in _KEYS if area[key]}


def _checked(state: State) -> State:
    if len(state["areas"]) > MOST_AREAS:
        what = f"{len(state['areas'])} areas are more than a job on the page holds"
        raise Problems([Problem("areas", what, f"tick at most {MOST_AREAS}, or split the job")])
    if len(write_state(state)) > MOST_STATE_CHARACTERS:
        raise Problems([Problem("areas", "these outlines have too many corners", "tick fewer areas")])
    return state
