"""How long the demands take: all of one area, and all of a million known areas on two cores."""

from __future__ import annotations

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np

from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS
from undercourse.files.shipped import rulebook

AREAS = 1_000_000
# Rows that fit a core's cache with all the arrays of a kernel.
CHUNK = 8192


def random_areas(rows: int, seed: int) -> Columns:
    """Known areas with known assemblies, anywhere in their domains."""
    rng = np.random.default_rng(seed)
    book = rulebook(None)
    columns = Columns(book.domains, rows)
    read = {name for demand in DEMANDS.values() for name in (*demand.reads, *demand.takes)}
    for name in sorted(read):
        domain = book.domains[name]
        if domain.kind == "number":
            value = rng.uniform(domain.low, domain.high, rows)
            columns[name] = NumberColumn(value, value)
        else:
            place = rng.integers(0, len(domain.choices), rows).astype(np.uint64)
            columns[name] = ChoiceColumn(np.uint64(1) << place)
    return columns


def all_demands(columns: Columns) -> float:
    """Work out every demand of a table; returns a number that depends on all of them."""
    book = rulebook(None)
    frame = Frame(columns)
    total = 0.0
    for demand in DEMANDS.values():
        value = demand.value(frame, book.tables)
        total += float(value.high[0])
        if demand.valid:
            demand.validity(frame, book.tables)
    return total


def _some(job: tuple[int, int]) -> float:
    seed, chunks = job
    columns = random_areas(CHUNK, seed)
    return sum(all_demands(columns) for _ in range(chunks))


def one_area() -> dict[str, float]:
    """Seconds of each demand for one area whose numbers are ranges, the shortest of several runs."""
    book = rulebook(None)
    low, high = random_areas(1, 3), random_areas(1, 4)
    columns = Columns(book.domains, 1)
    for name in low:
        first, second = low[name], high[name]
        if isinstance(first, NumberColumn):
            assert isinstance(second, NumberColumn)
            ends = np.minimum(first.low, second.low), np.maximum(first.low, second.low)
            columns[name] = NumberColumn(*ends)
        else:
            columns[name] = first
    found = dict.fromkeys(DEMANDS, float("inf"))
    for _ in range(30):
        frame = Frame(columns)
        for name, demand in DEMANDS.items():
            start = time.perf_counter()
            demand.value(frame, book.tables)
            if demand.valid:
                demand.validity(frame, book.tables)
            found[name] = min(found[name], time.perf_counter() - start)
    return found


def million(processes: int = 2) -> float:
    """Seconds for a million known areas through all demands, the drawing of the areas left out."""
    rulebook(None)
    chunks = -(-AREAS // CHUNK)
    share = -(-chunks // processes)
    with ProcessPoolExecutor(processes, mp_context=get_context("fork")) as pool:
        list(pool.map(_some, [(seed, 1) for seed in range(processes)]))
        start = time.perf_counter()
        list(pool.map(_some, [(seed, share) for seed in range(processes)]))
        return time.perf_counter() - start


if __name__ == "__main__":
    each = one_area()
    for name, seconds in sorted(each.items(), key=lambda item: -item[1]):
        print(f"{seconds * 1e6:8.1f} us  {name}")
    print(f"all demands of one area: {sum(each.values()) * 1e3:.2f} ms (aim 2)")
    if "--million" in sys.argv:
        print(f"a million areas: {million():.1f} s (aim 10)")
