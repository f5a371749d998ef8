"""A line tried on sample areas: where each membrane is recommended, and to which sibling it loses."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.base.columns import pick
from undercourse.facts.jobs import Area
from undercourse.judge.ranking import rank
from undercourse.judge.results import STOP, SUITABLE, SUITABLE_IF
from undercourse.judge.rulebook import Rulebook

LEAST = 3
CONDITION = (
    f"each membrane is recommended on at least {LEAST} sample areas and loses at least {LEAST} to a sibling"
)


def sample_document(areas: Sequence[Area], book: Rulebook, date: dt.date | None) -> dict[str, Any]:
    """Wins and losses of every membrane over sample areas.

    A membrane wins an area where it is recommended, loses it where a sibling is, and is outranked
    where it would have suited too. Areas under a site stop are nobody's.
    """
    if not areas:
        return {
            "areas": 0,
            "stopped": [],
            "without": [],
            "contradictory": [],
            "products": [],
            "condition": CONDITION,
            "met": None,
        }
    evaluated = evaluate(areas, book, date)
    tallies = {j.candidate.id: _tally(j.candidate.id, book) for j in evaluated.judgements}
    stopped: list[str] = []
    without: list[str] = []
    for row, area in enumerate(areas):
        if row in evaluated.problems:
            continue
        if int(pick(evaluated.site.status, row)) == STOP:
            stopped.append(area.name)
            continue
        best = rank(evaluated.judgements, book.line.ranking, row).recommended
        if best is None:
            without.append(area.name)
        _count(evaluated, row, best, tallies)
    for tally in tallies.values():
        tally["never_suitable"] = tally["suitable"] == 0
        tally["met"] = tally["recommended"] >= LEAST and sum(tally["loses_to"].values()) >= LEAST
    return {
        "areas": len(areas),
        "stopped": stopped,
        "without": without,
        "contradictory": [areas[row].name for row in sorted(evaluated.problems)],
        "products": list(tallies.values()),
        "condition": CONDITION,
        "met": all(tally["met"] for tally in tallies.values()),
    }


def _tally(name: str, book: Rulebook) -> dict[str, Any]:
    return {
        "id": name,
        "name": book.line.products[name].name,
        "recommended": 0,
        "suitable": 0,
        "loses_to": {},
        "outranked_by": {},
    }


def _count(evaluated: Evaluated, row: int, best: str | None, tallies: dict[str, dict[str, Any]]) -> None:
    for judgement in evaluated.judgements:
        own = tallies[judgement.candidate.id]
        suits = int(judgement.verdict[row]) in (SUITABLE, SUITABLE_IF)
        own["suitable"] += suits
        if best is None:
            continue
        if best == own["id"]:
            own["recommended"] += 1
            continue
        own["loses_to"][best] = own["loses_to"].get(best, 0) + 1
        if suits:
            own["outranked_by"][best] = own["outranked_by"].get(best, 0) + 1
