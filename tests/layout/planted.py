"""Cutting instances whose optimum is known by how they are built."""

from __future__ import annotations

import random


def triplets(count: int, seed: int) -> list[int]:
    """Lengths of which each three fill 1000 exactly, in mixed order.

    Construction from "A hybrid grouping genetic algorithm for bin packing", Journal of Heuristics 2 (1996),
    the class known as triplets: first 380 to 490, second from 250 to half the rest, third what is left
    (ranges from memory). All are longer than a quarter and shorter than half, so that no roll holds four.
    """
    chance = random.Random(seed)
    lengths = []
    for _ in range(count):
        first = chance.randint(380, 490)
        second = chance.randint(250, (1000 - first) // 2)
        lengths += [first, second, 1000 - first - second]
    chance.shuffle(lengths)
    return lengths
