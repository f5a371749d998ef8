"""A demand's declaration is proved: what it reads, which way each number moves it, what its sheet says."""

from __future__ import annotations

import math

import numpy as np
import pytest

from undercourse.base.columns import ChoiceColumn, Column, Columns, NumberColumn
from undercourse.base.frame import Frame
from undercourse.base.paired import PAIRS
from undercourse.demands import DEMANDS, Demand
from undercourse.demands.record import BOTH, CHOICE, LESS, LOWERS, MEMORY, RAISES
from undercourse.files.shipped import rulebook

BOOK = rulebook(None)
NAMES = [name for name in BOOK.domains if name not in DEMANDS]
ROWS = 400
BASES = ("sawn joists", "I-joists", "slab on ground", "suspended slab")
CASES = [(name, base) for name in DEMANDS for base in BASES]
# What a formula on a sheet may use beside its symbols.
MATH = {
    name: getattr(np, name)
    for name in ("sqrt", "exp", "log", "log10", "sin", "cos", "tan", "sinh", "cosh", "tanh", "abs")
} | {"min": np.minimum, "max": np.maximum, "pi": math.pi}


class Recording(Frame):
    """A frame that notes every column it is asked for."""

    def __init__(self, columns: Columns) -> None:
        super().__init__(columns)
        self.asked: set[str] = set()

    def __getitem__(self, name: str) -> Column:
        self.asked.add(name)
        return super().__getitem__(name)


def points(seed: int, base: str, only: tuple[str, ...] | list[str] = NAMES) -> Columns:
    """Random known values for everything a demand could read, half of the numbers small."""
    rng = np.random.default_rng(seed)
    columns = Columns(BOOK.domains, ROWS)
    for name in NAMES:
        domain = BOOK.domains[name]
        if domain.kind == "number":
            share = rng.uniform(0, 1, ROWS) ** rng.choice([1, 3], ROWS)
            low, high = max(domain.low, 1e-6 * min(1.0, domain.high)), min(domain.high, 1e9)
            value = low + (high - low) * share
            columns[name] = NumberColumn(value, value)
        else:
            columns[name] = ChoiceColumn(
                np.uint64(1) << rng.integers(0, len(domain.choices), ROWS).astype(np.uint64)
            )
    bit = np.uint64(1 << BOOK.domains["base"].choices.index(base))
    columns["base"] = ChoiceColumn(np.full(ROWS, bit, dtype=np.uint64))
    return columns


def value(demand: Demand, columns: Columns) -> tuple[np.ndarray, np.ndarray]:
    """The demand's range in every row."""
    found = demand.value(Frame(columns), BOOK.tables)
    return tuple(np.broadcast_to(end, (ROWS,)) for end in (found.low, found.high))  # type: ignore[return-value]


def valid(demand: Demand, columns: Columns) -> np.ndarray:
    """Rows in which the formula surely holds."""
    return np.broadcast_to(demand.validity(Frame(columns), BOOK.tables).must, (ROWS,))


@pytest.mark.parametrize(("name", "base"), CASES)
def test_nothing_undeclared_moves_a_demand(name: str, base: str) -> None:
    """Changing every fact that a demand does not declare leaves it as it was; all declared are asked for."""
    demand = DEMANDS[name]
    declared = {*demand.reads, *demand.takes}
    first, other = points(5, base), points(55, base)
    mixed = Columns(BOOK.domains, ROWS)
    for each in NAMES:
        mixed[each] = (first if each in declared else other)[each]
    assert all(np.array_equal(a, b) for a, b in zip(value(demand, first), value(demand, mixed), strict=True))
    frame = Recording(first)
    demand.value(frame, BOOK.tables)
    demand.validity(frame, BOOK.tables)
    assert frame.asked <= declared


@pytest.mark.parametrize("name", list(DEMANDS))
def test_everything_declared_is_asked_for_somewhere(name: str) -> None:
    """What a demand says it reads it reads on one base or another."""
    demand = DEMANDS[name]
    asked: set[str] = set()
    for base in BASES:
        frame = Recording(points(5, base))
        demand.value(frame, BOOK.tables)
        demand.validity(frame, BOOK.tables)
        asked |= frame.asked
    assert asked == {*demand.reads, *demand.takes}


@pytest.mark.parametrize(("name", "base"), CASES)
def test_declared_directions_hold(name: str, base: str) -> None:
    """More of a number marked RAISES never lowers the demand; LOWERS never raises it."""
    demand = DEMANDS[name]
    for number, way in {**demand.reads, **demand.takes}.items():
        if way in (CHOICE, BOTH):
            continue
        here, more = points(6, base), points(6, base)
        column = here.number(number)
        raised = np.minimum(column.low * 1.3, BOOK.domains[number].high)
        more[number] = NumberColumn(raised, raised)
        sound = valid(demand, here) & valid(demand, more)
        for low, high in zip(value(demand, here), value(demand, more), strict=True):
            slack = 1e-9 * np.maximum(np.maximum(abs(low), abs(high)), 1e-12)
            moved = high - low if way == RAISES else low - high
            assert way in (RAISES, LOWERS)
            assert (moved >= -slack)[sound].all(), number


@pytest.mark.parametrize("name", list(DEMANDS))
def test_range_of_a_half_known_floor_holds_every_completion(name: str) -> None:
    """The value at any completion lies within the range of the half-known floor, densely sampled."""
    demand = DEMANDS[name]
    for trial, base in enumerate(BASES):
        few = [points(80 + trial * 10 + k, base) for k in range(3)]
        wide = Columns(BOOK.domains, ROWS)
        rng = np.random.default_rng(trial)
        for each in NAMES:
            columns = [one[each] for one in few]
            if isinstance(columns[0], NumberColumn):
                ends = np.array([c.low for c in columns if isinstance(c, NumberColumn)])
                wide[each] = NumberColumn(ends.min(axis=0), ends.max(axis=0))
            else:
                bits = [c.bits for c in columns if isinstance(c, ChoiceColumn)]
                wide[each] = ChoiceColumn(bits[0] | bits[1] | bits[2])
        low, high = value(demand, wide)
        for _ in range(12):
            mixed = Columns(BOOK.domains, ROWS)
            for each in NAMES:
                column = wide[each]
                if isinstance(column, NumberColumn):
                    at = column.low + (column.high - column.low) * rng.choice([0, 1, rng.uniform()], ROWS)
                    mixed[each] = NumberColumn(at, at)
                else:
                    mixed[each] = few[rng.integers(0, 3)][each]
            least, most = value(demand, mixed)
            sound = valid(demand, mixed)
            slack = 1e-9 * np.maximum(abs(least), abs(most)) + 1e-15
            assert (low <= least + slack)[sound].all()
            assert (most <= high + slack)[sound].all()


@pytest.mark.parametrize("name", list(DEMANDS))
def test_every_number_of_a_sheet_is_written_once_and_has_a_unit(name: str) -> None:
    """Each input, each step and the result have a symbol of their own and a unit in both systems."""
    demand = DEMANDS[name]
    assert demand.title
    assert demand.subject
    assert demand.steps, "no working"
    assert demand.steps[-1].name == "value"
    named = [*demand.ways, *(step.name for step in demand.steps)]
    symbols = [demand.notation[each].symbol for each in named]
    assert len(set(symbols)) == len(symbols), symbols
    for each in named:
        notation = demand.notation[each]
        assert notation.unit in PAIRS
        assert notation.label or each in BOOK.vocabulary.facts, each
    for step in demand.steps:
        assert step.formula or step.source, "neither a formula nor how the number is found"
    for span in demand.valid:
        assert span.name in demand.ways
        assert span.source
    if demand.rests_on == MEMORY:
        assert "memory" in demand.source


@pytest.mark.parametrize("name", list(DEMANDS))
def test_printed_formulas_give_what_the_kernel_gives(name: str) -> None:
    """Each formula, worked through by itself from the symbols above it, gives the kernel's number."""
    demand = DEMANDS[name]
    for base in BASES:
        columns = points(31, base)
        frame = Frame(columns)
        _, most = demand.corners(frame, BOOK.tables)
        inputs = {k: np.broadcast_to(v, (ROWS,)) for k, v in most.items()}
        inputs |= {each + LESS: inputs[each] for each in demand.both}
        result, working = demand.kernel(inputs)
        known = {demand.notation[each].symbol: inputs[each] for each in demand.ways}
        sound = np.broadcast_to(valid(demand, columns), (ROWS,))
        for step in demand.steps:
            kernel = np.broadcast_to(result if step.name == "value" else working[step.name], (ROWS,))
            if step.formula:
                with np.errstate(all="ignore"):
                    found = eval(step.formula, {"__builtins__": {}}, {**MATH, **known})
                np.testing.assert_allclose(
                    np.broadcast_to(found, (ROWS,))[sound], kernel[sound], rtol=2e-6, atol=1e-12
                )
            known[demand.notation[step.name].symbol] = kernel


def test_stated_stiffness_counts_only_where_it_is_stated() -> None:
    """A designer's L/n moves I-joists and leaves sawn joists alone."""
    demand = DEMANDS["joist_live_deflection"]
    for base, moves in (("sawn joists", False), ("I-joists", True)):
        columns = points(9, base)
        stated = []
        for ratio in (200.0, 900.0):
            columns["framing_live_l_over"] = NumberColumn(np.array([ratio]), np.array([ratio]))
            stated.append(value(demand, columns)[1].copy())
        assert np.array_equal(*stated) is not moves
