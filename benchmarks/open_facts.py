"""How long the answers to half-known areas take: exact verdicts, the next question, what it depends on, prep.

Of an area with thirty open facts, in process; part of ``make bench``.
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable, Iterator

from benchmarks.asking import half_open_area
from benchmarks.measuring import best_of
from undercourse.advise.asking import Session
from undercourse.advise.depends_on import depends_on
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.exact import exact_verdicts
from undercourse.advise.narrowing import deciding_facts, undecided
from undercourse.advise.prep import prep
from undercourse.files.shipped import rulebook

DAY = dt.date(2026, 11, 25)
TIMES = 5


def open_fact_rows() -> Iterator[tuple[str, float, str]]:
    """What is measured, its shortest time of several runs in seconds of one core, and the aim."""
    book, area = rulebook(None), half_open_area()
    first = evaluate([area], book, DAY)
    count = len(deciding_facts(undecided(first, 0).values(), first, book, 0))
    proven = exact_verdicts(first, book, 0)

    def best(work: Callable[[Evaluated], object]) -> float:
        # Each run has a table of its own: verdicts are written into it.
        tables = iter([evaluate([area], book, DAY) for _ in range(TIMES)])
        return best_of(TIMES, lambda: work(next(tables)), time.process_time)

    name = f"{count} open facts: "
    yield f"{name}exact verdicts", best(lambda judged: exact_verdicts(judged, book, 0)), "below 300 ms"
    yield f"{name}next question", best(lambda _: Session(area, book, DAY).question()), "below 150 ms"
    yield f"{name}prep", best(lambda judged: prep(judged, book, 0)), "below 500 ms"
    yield f"{name}depends on", best(lambda judged: depends_on(judged, book, 0, proven)), "no aim; after it"
