"""From a job to its letters: the answer, the questions in the order of asking, the text."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from undercourse.advise.answers import answered
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.question_order import ordered_facts
from undercourse.advise.together import words_of_question
from undercourse.facts.jobs import Job
from undercourse.judge.rulebook import Rulebook
from undercourse.papers.letters import letter


def letters(job: Job, book: Rulebook, date: dt.date | None, rows: Sequence[int]) -> list[dict[str, Any]]:
    """One letter for each area that is meant; contradictions raise Problems."""
    document, evaluated = answered(job, book, date, advise=True)
    return [letter_of(document, evaluated, job, book, row) for row in rows]


def letter_of(
    document: Mapping[str, Any], evaluated: Evaluated, job: Job, book: Rulebook, row: int
) -> dict[str, Any]:
    """The letter of one area of a job that has been answered."""
    asks = []
    for following in ordered_facts(evaluated, book, row):
        question, find = words_of_question(book, following.fact, following.facts)
        asks.append({"question": question, "find": find})
    return letter(document, document["areas"][row], asks, job.client)
