"""Calculation sheets on the page: the one that a finding asks for, and the list of all of an area."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from markupsafe import Markup

from undercourse.advise.area_sheets import area_sheet, area_sheets
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.questions import question_of
from undercourse.assembly.candidates import PROPOSED
from undercourse.base.problems import Problem, Problems
from undercourse.demands import DEMANDS
from undercourse.drawings.chart import chart_svg
from undercourse.drawings.demand_charts import COMPARED, chart_input, chart_of
from undercourse.facts.jobs import Job
from undercourse.judge.rulebook import Rulebook
from undercourse.papers.sheet_rows import (
    calm_numbers,
    given_text,
    held_row,
    number_rows,
    result_pieces,
    step_rows,
    valid_rows,
)
from undercourse.papers.wording import sentence
from undercourse.web.mathml import math_markup
from undercourse.web.wording import share_words, title

# As many as the page's style sheet has widths for.
_MOST_PLACES = 14
_BACK = "open it again from a finding of the answer"


@dataclass(frozen=True)
class Asked:
    """Which sheet is asked for: a candidate's id and the name of a demand."""

    candidate: str
    demand: str

    @property
    def key(self) -> str:
        """As a button of the page writes it."""
        return f"{self.candidate}:{self.demand}"


def read_asked(text: str) -> Asked:
    """Candidate and demand out of a button's value.

    Raises
    ------
    Problems
        Where it names no computed number.
    """
    candidate, colon, demand = text.partition(":")
    if not colon:
        raise Problems([Problem("calculation", f'"{text[:80]}" names no candidate and number', _BACK)])
    if demand not in DEMANDS:
        near = get_close_matches(demand, list(DEMANDS), 1)
        fix = f'did you mean "{near[0]}"?' if near else _BACK
        raise Problems([Problem("calculation", f'"{demand[:80]}" is no number that is worked out', fix)])
    return Asked(candidate, demand)


def area_row(text: str, names: list[str]) -> int:
    """The area that a page names by its place.

    Raises
    ------
    Problems
        Where the job has no such area.
    """
    if text.isdecimal() and len(text) < 4 and int(text) < len(names):
        return int(text)
    what = f'"{text[:20]}" is no area of this job'
    raise Problems([Problem("area", what, f"its areas are {', '.join(names)}; {_BACK}")])


def calculation_view(job: Job, book: Rulebook, today: dt.date, row: int, asked: Asked) -> dict[str, Any]:
    """One sheet with its chart, as the page shows it.

    Only this area is judged, and only this candidate where no chart sets others beside it.

    Raises
    ------
    Problems
        Contradictory facts, or a candidate that the area does not have.
    """
    day = job.date or today
    name = _name_of(asked.candidate, job, book, day, row)
    evaluated = _judged(job, book, day, row, None if asked.demand in COMPARED else asked.candidate)
    sheet = area_sheet(evaluated, book, 0, asked.candidate, asked.demand)
    given = chart_input(evaluated, book, 0, asked.candidate, sheet["limits"])
    chart = chart_of(asked.demand, given) if sheet["applies"] else None
    return {
        **sheet_view(sheet),
        "key": asked.key,
        "job": job.name,
        "area": job.areas[row].name,
        "candidate": name,
        # The chart's own writer escapes every text.
        "chart": Markup(chart_svg(chart)) if chart is not None else None,
    }


def _judged(job: Job, book: Rulebook, day: dt.date, row: int, candidate: str | None) -> Evaluated:
    evaluated = evaluate([job.areas[row]], book, day, None if candidate is None else (candidate,))
    faults = evaluated.problems.get(0)
    if faults:
        raise Problems(dict.fromkeys(faults))
    return evaluated


def _name_of(candidate: str, job: Job, book: Rulebook, day: dt.date, row: int) -> str:
    """The name of an area's candidate."""
    found = _candidates(job, book, day, row)
    if candidate not in found:
        what = f'"{candidate[:80]}" is no candidate of this area'
        raise Problems([Problem("candidate", what, f"its candidates are {', '.join(found)}")])
    return found[candidate]


def _candidates(job: Job, book: Rulebook, day: dt.date, row: int) -> dict[str, str]:
    """Ids and names of an area's candidates, the asker's own stack first."""
    own = {PROPOSED: "The asker’s own stack"} if job.areas[row].proposed else {}
    return {**own, **{product.id: product.name for product in book.line.of_role("membrane", day)}}


def sheet_view(sheet: Mapping[str, Any]) -> dict[str, Any]:
    """A calculation sheet in the pieces that the template sets."""
    outside = any(item["here"] == "no" for item in sheet["valid"])
    steps = [] if outside else step_rows(sheet["steps"])
    for step in steps:
        step["math"] = math_markup(step["tree"]) if step["tree"] else None
    inputs = [] if sheet["remark"] else number_rows(sheet["inputs"])
    given, unknown = given_text(sheet["choices"])
    return {
        "demand": sheet["demand"],
        "title": sheet["title"],
        "subject": title(sheet["subject"]),
        "question": question_of(sheet["demand"], sheet["title"]),
        "result": result_pieces(sheet),
        "held": [held_row(limit) for limit in sheet["limits"]],
        "open": bool(sheet["open"]) and not sheet["remark"],
        "remark": sentence(sheet["remark"]),
        "cautions": [sentence(text) for text in sheet["cautions"]],
        "given": given,
        "unknown": unknown,
        "inputs": inputs,
        "places": {system: _places([row[system] for row in (*inputs, *steps)]) for system in ("si", "us")},
        "steps": steps,
        "valid": valid_rows(sheet["valid"]),
        "ground": sentence(sheet["ground"]),
        "source": sentence(sheet["source"]),
    }


def _places(quantities: list[dict[str, str]]) -> int:
    """Places before the decimal mark of the longest number; a comma takes half the room of a figure."""
    longest = max((len(one["whole"]) - one["whole"].count(",") / 2 for one in quantities), default=1)
    return min(max(math.ceil(longest), 1), _MOST_PLACES)


def calculations_view(
    job: Job, book: Rulebook, today: dt.date, row: int, candidate: str
) -> dict[str, Any] | None:
    """Every calculation of a candidate in an area; None where no candidate is named.

    Returns
    -------
    dict
        The name of the ``candidate``, and ``parts``: what a limit is held against, then what only informs,
        each with its ``subjects`` in order and their rows of title, result and limits.
    """
    if not candidate:
        return None
    day = job.date or today
    name = _name_of(candidate, job, book, day, row)
    evaluated = _judged(job, book, day, row, candidate)
    return {"candidate": name, "parts": _listed(evaluated, book, candidate)}


def _listed(evaluated: Evaluated, book: Rulebook, candidate: str) -> list[dict[str, Any]]:
    parts: list[dict[str, Any]] = [
        {"head": "Held against a limit", "decides": True, "subjects": {}},
        {"head": "For information only", "decides": False, "subjects": {}},
    ]
    for sheet in area_sheets(evaluated, book, 0, candidate):
        rows = parts[0 if sheet["limits"] else 1]["subjects"].setdefault(title(sheet["subject"]), [])
        rows.append(
            {
                "key": Asked(candidate, sheet["demand"]).key,
                "title": sheet["title"],
                "result": result_pieces(sheet),
                "held": [_held(limit) for limit in sheet["limits"]],
            }
        )
    for part in parts:
        part["count"] = sum(len(rows) for rows in part["subjects"].values())
    return [part for part in parts if part["count"]]


def _held(limit: Mapping[str, Any]) -> dict[str, str]:
    return {
        "status": title(str(limit["status"])),
        "allows": calm_numbers(str(limit["capacity_text"])),
        "share": share_words(limit["utilisation"]),
        "by": title(str(limit["by"])),
    }
