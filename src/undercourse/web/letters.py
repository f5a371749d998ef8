"""The ready reply on the page: the letter of one area as text."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

from undercourse.advise.answers import answered
from undercourse.facts.jobs import Job
from undercourse.files.replying import letter_of
from undercourse.judge.rulebook import Rulebook


def letter_view(job: Job, book: Rulebook, today: dt.date, row: int) -> dict[str, Any]:
    """The letter of one area; the others are not worked out for it.

    Raises
    ------
    Problems
        Contradictory facts.
    """
    only = replace(job, areas=(job.areas[row],))
    document, evaluated = answered(only, book, job.date or today, advise=True)
    return letter_of(document, evaluated, only, book, 0)
