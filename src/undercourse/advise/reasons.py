"""Why an answer is as it is, area by area, as one document."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from undercourse.advise.apart import telling_apart
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.exact import tighten
from undercourse.advise.losing import what_would_lose
from undercourse.advise.why import shortest_proof
from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Job
from undercourse.judge.ranking import rank
from undercourse.judge.rulebook import Rulebook


def why_document(
    job: Job, book: Rulebook, date: dt.date | None, rows: Sequence[int], product: str = "", against: str = ""
) -> dict[str, Any]:
    """The proof of a verdict, what tells two products apart, and what would make the recommended lose.

    Parameters
    ----------
    rows : sequence of int
        Places of the areas that are meant; those in which a named product is not judged are left out.
    product : str, optional
        Candidate id; the recommended one when left out, else the asker's own stack, else the first.

    Raises
    ------
    Problems
        Contradictory facts; ids that are not judged.
    """
    day = job.date or date
    evaluated = evaluate(job.areas, book, day)
    faults = [p for row in sorted(evaluated.problems) for p in evaluated.problems[row]]
    for name, option in ((product, "--product"), (against, "--against")):
        meant = rows
        rows = [row for row in rows if not name or name in _ids(evaluated, row)]
        if not rows:
            known = dict.fromkeys(one for row in meant for one in _ids(evaluated, row))
            faults.append(Problem(option, f'"{name}" is no candidate here', f"use one of {', '.join(known)}"))
            break
    if faults:
        raise Problems(dict.fromkeys(faults))
    return {
        "basis": {**book.basis, "date": day.isoformat() if day else None},
        "job": job.name,
        "areas": [_area(evaluated, book, row, product, against) for row in rows],
    }


def _ids(evaluated: Evaluated, row: int) -> list[str]:
    return [judgement.candidate.id for judgement in evaluated.of_row(row)]


def _area(evaluated: Evaluated, book: Rulebook, row: int, product: str, against: str) -> dict[str, Any]:
    tighten(evaluated, book, row)
    recommended = rank(evaluated.judgements, book.line.ranking, row).recommended
    chosen = product or recommended or evaluated.of_row(row)[0].candidate.id
    return {
        "area": evaluated.areas[row].name,
        "recommended": recommended,
        "proof": shortest_proof(evaluated, book, row, chosen),
        "apart": telling_apart(evaluated, book, row, chosen, against) if against else None,
        "loses": what_would_lose(evaluated, book, row) if chosen == recommended else [],
    }
