"""How many questions settle an answer, by the order in which they are put; and how long one question takes.

By hand: ``python -m benchmarks.asking 1000 FILE``. Every hundred floors are kept in FILE as they are done, so
that a run that was ended goes on where it was; with another seed or other rules use another file. A third
number is how many of the floors are asked about now. The floors are drawn as usual values weigh, the truth
of each is hidden and replies to every question: ``tests/why_reply_ask/hidden_floors.py``.
"""

from __future__ import annotations

import datetime as dt
import json
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.why_reply_ask.hidden_floors import (
    TOLD,
    TOLD_MORE,
    Hidden,
    Policy,
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
from undercourse.base.columns import Bools
from undercourse.facts.jobs import Area
from undercourse.files.demo import demo_jobs
from undercourse.files.shipped import rulebook
from undercourse.judge.rulebook import Rulebook

DAY = dt.date(2026, 11, 25)
SEED = 20
# Floors judged in one table.
BATCH = 100
ORDERS: dict[str, Policy | None] = {"ours": ours, "of the file": file_order, "by chance": None}


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
    kept = Path(sys.argv[2]) if len(sys.argv) > 2 else None
    most = int(sys.argv[3]) if len(sys.argv) > 3 else count
    book = rulebook(None)
    print(f"next question with thirty open facts: {next_question_seconds() * 1e3:.0f} ms (aim: under 150 ms)")
    floors = batches(hidden_floors(book, count, SEED, DAY)[:most])
    done = Done(kept)
    found: dict[str, list[int]] = {name: [] for name in ORDERS}
    suits: list[bool] = []
    for place, part in enumerate(floors):
        suits += [one < 2 for one in verdicts_of(part, book, DAY)]
        for name, counts in found.items():
            counts += done.of(name, place, part, book)
        report(found, np.array(suits))


def report(found: dict[str, list[int]], suits: Bools) -> None:
    """Print what was counted so far."""
    print(
        f"{len(suits)} floors, seed {SEED}, {', '.join(TOLD)} and {TOLD_MORE} more facts told; a sheet suits"
        f" {suits.mean():.1%}"
    )
    heads = ("mean", "median", "nine in ten", "a sheet suits", "none suits")
    print(f"{'order':14s} {heads[0]:>6s} {heads[1]:>7s} {heads[2]:>12s} {heads[3]:>14s} {heads[4]:>11s}")
    for name, counts in found.items():
        asked = np.array(counts)
        print(
            f"{name:14s} {asked.mean():6.2f} {np.median(asked):7.0f} {np.quantile(asked, 0.9):12.0f}"
            f" {asked[suits].mean():14.1f} {asked[~suits].mean():11.1f}",
            flush=True,
        )


class Done:
    """What was counted already, as lines of a file: order, batch, number of questions of each floor."""

    def __init__(self, path: Path | None) -> None:
        self.path = path
        text = path.read_text("utf-8") if path is not None and path.exists() else ""
        rows = [json.loads(line) for line in text.splitlines()]
        self.counts: dict[tuple[str, int], list[int]] = {(row[0], row[1]): row[2] for row in rows}

    def of(self, order: str, place: int, floors: list[Hidden], book: Rulebook) -> list[int]:
        """The numbers of one batch by one order, counted now where they were not before."""
        if (order, place) not in self.counts:
            # Chance is the same however often a run was ended.
            policy = ORDERS[order] or random_order(place)
            self.counts[order, place] = questions_until_settled(floors, policy, book, DAY)
            if self.path is not None:
                line = json.dumps([order, place, self.counts[order, place]])
                self.path.open("a", encoding="utf-8").write(f"{line}\n")
        return self.counts[order, place]


def batches(floors: list[Hidden]) -> list[list[Hidden]]:
    """The floors, so many at a time."""
    return [floors[start : start + BATCH] for start in range(0, len(floors), BATCH)]


if __name__ == "__main__":
    main()
