"""How times are taken, and the yardstick that they are printed beside."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np


def best_of(times: int, work: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> float:
    """The shortest of several runs, in seconds."""
    found = float("inf")
    for _ in range(times):
        start = clock()
        work()
        found = min(found, clock() - start)
    return found


def yardstick(clock: Callable[[], float] = time.perf_counter) -> float:
    """Seconds of one small NumPy addition, by the clock that the other times are taken with."""
    one = np.array([1.0])

    def run() -> None:
        for _ in range(100_000):
            one + one

    return best_of(5, run, clock) / 100_000
