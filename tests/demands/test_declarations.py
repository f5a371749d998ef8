"""A demand's declaration is proved: what it reads, and in which direction each number moves it."""

from __future__ import annotations

import random

import numpy as np
import pytest

from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS, Demand
from undercourse.demands.record import CHOICE, RAISES
from undercourse.files.shipped import rulebook

BOOK = rulebook(None)
NAMES = [*BOOK.vocabulary.domains, "layers_weight", "layers_height"]


def point(rng: random.Random, base: str) -> dict[str, float | int]:
    """One value for everything a demand could read."""
    found: dict[str, float | int] = {}
    for name in NAMES:
        domain = BOOK.domains[name]
        if domain.kind == "number":
            found[name] = rng.uniform(
                max(domain.low, 1e-3), min(domain.high, 40.0) if domain.high > 40 else domain.high
            )
        else:
            found[name] = rng.randrange(len(domain.choices))
    found["base"] = BOOK.domains["base"].choices.index(base)
    return found


def value(demand: Demand, known: dict[str, float | int]) -> tuple[float, float]:
    """The demand's range at a point."""
    columns = Columns(BOOK.domains, 1)
    for name, number in known.items():
        if BOOK.domains[name].kind == "number":
            columns[name] = NumberColumn(np.array([float(number)]), np.array([float(number)]))
        else:
            columns[name] = ChoiceColumn(np.array([1 << int(number)], dtype=np.uint64))
    found = demand.value(Frame(columns), BOOK.tables)
    return float(found.low[0]), float(found.high[0])


BASES = ("sawn joists", "I-joists", "slab on ground")
CASES = [(name, base) for name in DEMANDS for base in BASES]


@pytest.mark.parametrize(("name", "base"), CASES)
def test_nothing_undeclared_moves_a_demand(name: str, base: str) -> None:
    """Changing every fact that a demand does not declare leaves it as it was."""
    demand = DEMANDS[name]
    rng = random.Random(5)
    declared = {*demand.reads, *demand.takes}
    for _ in range(5):
        first = point(rng, base)
        other = point(rng, base)
        mixed = {n: (first[n] if n in declared else other[n]) for n in NAMES}
        assert value(demand, first) == value(demand, mixed)


@pytest.mark.parametrize(("name", "base"), CASES)
def test_declared_directions_hold(name: str, base: str) -> None:
    """More of a number marked RAISES never lowers the demand; LOWERS never raises it."""
    demand = DEMANDS[name]
    rng = random.Random(6)
    for number, way in {**demand.reads, **demand.takes}.items():
        if way == CHOICE:
            continue
        for _ in range(8):
            here = point(rng, base)
            more = {**here, number: float(here[number]) * 1.3}
            low, high = value(demand, here), value(demand, more)
            slack = 1e-9 * max(abs(low[1]), abs(high[1]), 1e-12)
            if way == RAISES:
                assert high[0] >= low[0] - slack
                assert high[1] >= low[1] - slack
            else:
                assert high[0] <= low[0] + slack
                assert high[1] <= low[1] + slack


@pytest.mark.parametrize("name", list(DEMANDS))
def test_range_of_a_half_known_floor_holds_every_completion(name: str) -> None:
    """The value at any completion lies within the range of the half-known floor."""
    demand = DEMANDS[name]
    rng = random.Random(8)
    for _ in range(20):
        base = rng.choice(BASES)
        points = [point(rng, base) for _ in range(4)]
        columns = Columns(BOOK.domains, 1)
        for fact in NAMES:
            chosen = [p[fact] for p in points]
            if BOOK.domains[fact].kind == "number":
                columns[fact] = NumberColumn(np.array([min(chosen)], float), np.array([max(chosen)], float))
            else:
                bits = 0
                for one in chosen:
                    bits |= 1 << int(one)
                columns[fact] = ChoiceColumn(np.array([bits], dtype=np.uint64))
        wide = demand.value(Frame(columns), BOOK.tables)
        for mixed in ({n: rng.choice(points)[n] for n in NAMES} for _ in range(10)):
            low, high = value(demand, mixed)
            if demand.model_parameter:
                continue
            assert wide.low[0] <= low + 1e-9 * abs(low)
            assert high <= wide.high[0] + 1e-9 * abs(high)


def test_stated_stiffness_counts_only_where_it_is_stated() -> None:
    """A designer's L/n moves I-joists and leaves sawn joists alone."""
    demand = DEMANDS["joist_live_deflection"]
    rng = random.Random(9)
    sawn, rated = point(rng, "sawn joists"), point(rng, "I-joists")
    assert value(demand, {**sawn, "framing_live_l_over": 200.0}) == value(
        demand, {**sawn, "framing_live_l_over": 900.0}
    )
    assert value(demand, {**rated, "framing_live_l_over": 480.0}) == pytest.approx((1 / 480, 1 / 480))
