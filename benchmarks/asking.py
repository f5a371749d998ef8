"""How many questions settle an answer, by the order in which they are put; and how long one question takes.

By hand: ``python -m benchmarks.asking 1000`` takes some ten minutes. The floors are drawn as usual values
weigh, the truth of each is hidden and replies to every question: ``tests/why_reply_ask/hidden_floors.py``.
"""

from __future__ import annotations

import datetime as dt
import sys
import time
from dataclasses import replace

import numpy as np
from tests.why_reply_ask.hidden_floors import (
    TOLD,
    TOLD_MORE,
    Hidden,
    file_order,
    hidden_floors,
    ours,
    questions_until_settled,
    random_order,
    verdicts_of,
)

from undercourse.advise.asking import Session
from undercourse.advise.evaluating import evaluate
from undercourse.advise.narrowing import deciding_facts, undecided
from undercourse.facts.jobs import Area
from undercourse.files.demo import demo_jobs
from undercourse.files.shipped import rulebook

DAY = dt.date(2026, 11, 25)
SEED = 20
# Floors judged in one table.
BATCH = 100


def half_open_area(least: int = 30) -> Area:
    """The first area of a demo job with so many of its facts left out that at least so many are open."""
    book = rulebook(None)
    area = dict(demo_jobs(book.vocabulary))["laundry"].areas[0]
    names = [name for name in area.readings if not name.startswith("layer_") and name != "base"]
    for count in range(1, len(names) + 1):
        left = {name: one for name, one in area.readings.items() if name not in names[-count:]}
        known = replace(area, readings=left)
        evaluated = evaluate([known], book, DAY)
        if len(deciding_facts(undecided(evaluated, 0).values(), evaluated, book, 0)) >= least:
            return known
    raise AssertionError("the area has too few facts")


def next_question_seconds(times: int = 7) -> float:
    """Seconds from a reply to the next question with all that is told of it, the shortest of several runs."""
    book, area = rulebook(None), half_open_area()
    found = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        Session(area, book, DAY).question()
        found = min(found, time.perf_counter() - start)
    return found


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    book = rulebook(None)
    print(f"next question with thirty open facts: {next_question_seconds() * 1e3:.0f} ms (aim: under 150 ms)")
    floors = hidden_floors(book, count, SEED, DAY)
    suits = np.array([one < 2 for part in batches(floors) for one in verdicts_of(part, book, DAY)])
    print(
        f"{count} floors, {', '.join(TOLD)} and {TOLD_MORE} more facts told; {suits.mean():.0%} suit a sheet"
    )
    heads = ("mean", "median", "nine in ten", "a sheet suits", "none suits")
    print(f"{'order':14s} {heads[0]:>6s} {heads[1]:>7s} {heads[2]:>12s} {heads[3]:>14s} {heads[4]:>11s}")
    for name, policy in (("ours", ours), ("of the file", file_order), ("by chance", random_order(5))):
        asked = np.array(
            [one for part in batches(floors) for one in questions_until_settled(part, policy, book, DAY)]
        )
        print(
            f"{name:14s} {asked.mean():6.1f} {np.median(asked):7.0f} {np.quantile(asked, 0.9):12.0f}"
            f" {asked[suits].mean():14.1f} {asked[~suits].mean():11.1f}",
            flush=True,
        )


def batches(floors: list[Hidden]) -> list[list[Hidden]]:
    """The floors, so many at a time."""
    return [floors[start : start + BATCH] for start in range(0, len(floors), BATCH)]


if __name__ == "__main__":
    main()
