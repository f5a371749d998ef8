"""Many jobs as JSON lines in, one answer a line out; all areas of a chunk are judged together."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable
from itertools import islice
from typing import Any, TextIO

from undercourse.advise.answers import area_document, brief
from undercourse.advise.evaluating import evaluate
from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Area, Job
from undercourse.files.jobfiles import job_from_data
from undercourse.files.reading import parse_json
from undercourse.judge.ranking import rank
from undercourse.judge.results import STOP
from undercourse.judge.rulebook import Rulebook

CHUNK = 2000


def answer_lines(
    source: Iterable[str], out: TextIO, book: Rulebook, date: dt.date, is_brief: bool, advise: bool
) -> None:
    """Answer every line; a faulty line gets its problems as its answer and stops nothing."""
    numbered = enumerate(source, 1)
    while chunk := list(islice(numbered, CHUNK if is_brief else 200)):
        documents: list[dict[str, Any] | None] = []
        jobs: list[tuple[int, Job]] = []
        for number, text in chunk:
            if not text.strip():
                continue
            try:
                data = parse_json(text, f"line {number}")
                jobs.append((len(documents), job_from_data(data, book.vocabulary, f"line {number}")))
                documents.append(None)
            except (Problems, RecursionError) as error:
                found = (
                    error.problems
                    if isinstance(error, Problems)
                    else [Problem(f"line {number}", "nested too deep", "flatten it")]
                )
                documents.append(_faults(found))
        by_day: dict[dt.date, list[tuple[int, Job]]] = {}
        for place, job in jobs:
            by_day.setdefault(job.date or date, []).append((place, job))
        for day, of_day in by_day.items():
            _answer_day(of_day, documents, book, day, is_brief, advise)
        for document in documents:
            out.write(json.dumps(document, ensure_ascii=False) + "\n")


def _faults(problems: Iterable[Problem]) -> dict[str, Any]:
    return {"problems": [{"where": p.where, "what": p.what, "fix": p.fix} for p in problems]}


def _answer_day(
    jobs: list[tuple[int, Job]],
    documents: list[dict[str, Any] | None],
    book: Rulebook,
    day: dt.date,
    is_brief: bool,
    advise: bool,
) -> None:
    areas: list[Area] = [area for _, job in jobs for area in job.areas]
    evaluated = evaluate(areas, book, day)
    basis = {**book.basis, "date": day.isoformat()}
    row = 0
    for place, job in jobs:
        rows = range(row, row + len(job.areas))
        row += len(job.areas)
        faults = [problem for at in rows for problem in evaluated.problems.get(at, [])]
        if faults:
            documents[place] = {"job": job.name, **_faults(faults)}
            continue
        if is_brief:
            found = []
            for at in rows:
                stopped = int(evaluated.site.status[0 if len(evaluated.site.status) == 1 else at]) == STOP
                best = None if stopped else rank(evaluated.judgements, book.line.ranking, at).recommended
                found.append(brief(evaluated, at, best))
        else:
            found = [area_document(evaluated, book, at, advise) for at in rows]
        documents[place] = (
            {"job": job.name, "areas": found}
            if is_brief
            else {"basis": basis, "job": job.name, "areas": found}
        )
