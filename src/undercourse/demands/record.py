"""What a demand is: declared inputs with directions, one pure kernel, a unit, a source, its working."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import isnan
from typing import NamedTuple

import numpy as np

from undercourse.base.columns import SURE, ChoiceColumn, Floats, NumberColumn, Truth
from undercourse.base.domains import SLACK, Domain
from undercourse.base.frame import Frame

RAISES = "raises"
LOWERS = "lowers"
CHOICE = "choice"
BOTH = "both"
RATIO, OTHER, ORDINAL, SET = "ratio", "other", "ordinal", "set"
PUBLISHED, DERIVED, PRACTICE, MEMORY = "published", "derived", "practice", "memory"
# Where one input both raises and lowers a demand, this is what the kernel calls its lowering part.
LESS = "_less"
# Pieces into which such an input's range is cut, by the number of such inputs: finer is tighter.
_PIECES = {1: 16, 2: 6, 3: 4}
# Tables up to this length are worked out with all corners of all pieces together.
_FEW_ROWS = 512

Values = dict[str, Floats]
Kernel = Callable[[Values], tuple[Floats, Values]]
Ranges = Mapping[str, tuple[float, float]]


NOTHING = NumberColumn(np.zeros(1), np.zeros(1))


class ChoiceTable(dict[str, tuple[float, float]]):
    """Least and greatest value of a quantity by choice; remembers itself as arrays in a domain's order."""

    def __init__(self, ranges: Ranges) -> None:
        super().__init__(ranges)
        self._arrays: dict[tuple[str, ...], tuple[Floats, Floats]] = {}

    def arrays(self, choices: tuple[str, ...]) -> tuple[Floats, Floats]:
        """Least and greatest values in the order of ``choices``."""
        found = self._arrays.get(choices)
        if found is None:
            low = np.array([self[choice][0] for choice in choices])
            high = np.array([self[choice][1] for choice in choices])
            if np.array_equal(low, high):
                high = low
            found = self._arrays[choices] = (low, high)
        return found


@dataclass(frozen=True)
class Tables:
    """Standard tables and practice tables that kernels look choices up in.

    ``ranges`` holds, by quantity, the least and greatest value of each choice of a fact, in SI.
    """

    joist_stiffness: Mapping[str, Floats]
    panel_stiffness: Ranges
    load_class: Mapping[str, Ranges]
    tile_density: Ranges
    ranges: Mapping[str, Ranges] = field(default_factory=dict)


class Notation(NamedTuple):
    """How a quantity is written on a calculation sheet; ``unit`` is a key of ``base.paired.PAIRS``.

    Facts are labelled by the vocabulary, so they need no ``label`` here.
    """

    symbol: str
    unit: str
    label: str = ""
    source: str = ""


class Step(NamedTuple):
    """One line of a calculation, in SI: what the kernel returns under ``name``, by ``formula``.

    The formula is arithmetic over the symbols above it, so that it can be followed by hand; where a
    number is found by iteration or by a series, ``formula`` is empty and ``source`` says how.
    """

    name: str
    formula: str
    source: str = ""


class Valid(NamedTuple):
    """A range of one kernel input outside which the formula does not hold, and who says so."""

    name: str
    low: float
    high: float
    source: str


@dataclass(frozen=True)
class Demand:
    """A number that a floor with a candidate asks of a product or a rule.

    ``reads`` names facts, ``takes`` candidate columns, each with the direction in which it moves
    the demand; what is marked CHOICE acts through the named ranges that ``collapse`` returns, whose
    directions stand in ``through``. The kernel sees one corner at a time. An input marked BOTH enters
    the kernel twice, as ``name`` where more of it raises the demand and as ``name + LESS`` where more
    lowers it: any two values bound the demand, and cutting the range into pieces makes the bound close.
    ``branches`` joins the computed range with what else a choice may make of it.
    ``model_parameter`` names an input whose range no fact can narrow, or several with spaces between:
    a verdict counts only where both ends agree, so a limit is exceeded when it is so at the gentle end.
    ``rests_on`` is the weakest ground of the number; what rests on memory may warn and never allow.
    A demand that only ``informs`` may not be limited at all. ``only_base`` names the bases on which it is
    in play; on any other it is 0, and nothing is worked out.
    """

    name: str
    domain: Domain
    scale: str
    source: str
    reads: Mapping[str, str]
    takes: Mapping[str, str]
    through: Mapping[str, str]
    kernel: Kernel
    collapse: Callable[[Frame, Tables], dict[str, NumberColumn]]
    reason: str
    model_parameter: str = ""
    branches: Callable[[Frame, NumberColumn], NumberColumn] | None = None
    subject: str = ""
    title: str = ""
    notation: Mapping[str, Notation] = field(default_factory=dict)
    steps: tuple[Step, ...] = ()
    valid: tuple[Valid, ...] = ()
    cautions: tuple[str, ...] = ()
    rests_on: str = PUBLISHED
    informs: bool = False
    wanted: str = "low"
    only_base: tuple[str, ...] = ()
    numbers: tuple[str, ...] = field(init=False, default=())
    both: tuple[str, ...] = field(init=False, default=())
    ways: Mapping[str, str] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        named = {**self.reads, **self.takes}
        ways = {name: way for name, way in {**named, **self.through}.items() if way != CHOICE}
        object.__setattr__(self, "numbers", tuple(n for n, way in named.items() if way != CHOICE))
        object.__setattr__(self, "both", tuple(n for n, way in ways.items() if way == BOTH))
        object.__setattr__(self, "ways", ways)

    def directions(self) -> dict[str, str]:
        """Direction of every number that the kernel sees."""
        return dict(self.ways)

    def inputs(self, frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
        """The range of every number that the kernel sees, row by row."""
        columns = {}
        for name in self.numbers:
            column = frame[name]
            assert isinstance(column, NumberColumn), name
            columns[name] = column
        columns.update(self.collapse(frame, tables))
        return columns

    def in_play(self, frame: Frame) -> bool:
        """Whether any row may have a base on which the demand is in play."""
        if not self.only_base:
            return True
        found: bool = frame.keep("base", f"in play {self.only_base}", lambda: self._may_be(frame))
        return found

    def _may_be(self, frame: Frame) -> bool:
        column = frame["base"]
        assert isinstance(column, ChoiceColumn)
        choices = frame.domain("base").choices
        bits = np.uint64(sum(1 << choices.index(name) for name in self.only_base))
        return bool(((column.bits & bits) != 0).any())

    def _kept_inputs(self, frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
        """The inputs, worked out once for a table of few rows; long tables would hold too much."""
        if frame.rows > _FEW_ROWS:
            return self.inputs(frame, tables)
        found: dict[str, NumberColumn] = frame.keep_here(
            f"inputs {self.name}", lambda: self.inputs(frame, tables)
        )
        return found

    def corners(self, frame: Frame, tables: Tables) -> tuple[Values, Values]:
        """Inputs at the corner of least and of greatest demand."""
        return self._corners(self.inputs(frame, tables))

    def _corners(self, columns: Mapping[str, NumberColumn]) -> tuple[Values, Values]:
        least, most = {}, {}
        for name, way in self.ways.items():
            column = columns[name]
            least[name], most[name] = (
                (column.high, column.low) if way == LOWERS else (column.low, column.high)
            )
            if way == BOTH:
                least[name + LESS], most[name + LESS] = column.high, column.low
        return least, most

    def value(self, frame: Frame, tables: Tables, gentle: bool = False) -> NumberColumn:
        """The demand as a range, row by row; ``gentle`` holds the model's own range at its gentle end."""
        if not self.in_play(frame):
            return NOTHING
        columns = self._kept_inputs(frame, tables)
        computed = self._enclose(columns, gentle)
        return computed if self.branches is None else self.branches(frame, computed)

    def _enclose(self, columns: Mapping[str, NumberColumn], gentle: bool) -> NumberColumn:
        if all(_same(columns[name]) for name in self.ways):
            here = {name: columns[name].low for name in self.ways}
            here.update({name + LESS: columns[name].low for name in self.both})
            known = self._finite(self.kernel(here)[0], self.domain.low)
            return NumberColumn(known, known)
        least, most = self._corners(columns)
        if gentle and self.model_parameter:
            most = {**most, **{name: least[name] for name in self.model_parameter.split()}}
        wide = [name for name in self.both if not np.array_equal(least[name], most[name])]
        if not wide:
            low, high = self.kernel(least)[0], self.kernel(most)[0]
        elif (rows := max(len(least[name]) for name in self.ways)) <= _FEW_ROWS:
            low, high = self._at_once(least, most, wide, rows)
        else:
            low, high = self._in_turn(least, most, wide)
        return NumberColumn(
            self._finite(low, self.domain.low),
            self._finite(high, self.domain.high),
        )

    def _at_once(self, least: Values, most: Values, wide: Sequence[str], rows: int) -> tuple[Floats, Floats]:
        """Both corners of every piece in one call of the kernel: few rows cost mostly their calls."""
        count = _PIECES.get(len(wide), 2)
        shape = (*(count for _ in wide), 2, rows)
        given = {name: np.array((first, most[name])) for name, first in least.items()}
        for place, name in enumerate(wide):
            low, high = least[name], most[name]
            edges = low + (high - low) * (np.arange(count + 1) / count)[:, None]
            ends = np.stack((edges[:-1], edges[1:]), axis=1)
            own = [1] * len(wide) + [2, len(low)]
            own[place] = count
            given[name] = ends.reshape(own)
            given[name + LESS] = ends[:, ::-1].reshape(own)
        flat = {name: np.broadcast_to(values, shape).ravel() for name, values in given.items()}
        found = np.broadcast_to(self.kernel(flat)[0], (int(np.prod(shape)),)).reshape(-1, 2, rows)
        return found[:, 0].min(axis=0), found[:, 1].max(axis=0)

    def _in_turn(self, least: Values, most: Values, wide: Sequence[str]) -> tuple[Floats, Floats]:
        """The same piece by piece, for tables too long to hold every piece at once."""
        low: Floats | None = None
        high: Floats | None = None
        for first, last in _pieces(least, most, wide):
            here_low, here_high = self.kernel(first)[0], self.kernel(last)[0]
            low = here_low if low is None else np.minimum(low, here_low)
            high = here_high if high is None else np.maximum(high, here_high)
        assert low is not None
        assert high is not None
        return low, high

    def _finite(self, ends: Floats, instead: float) -> Floats:
        """A formula that gives no number says nothing: its end is the domain's."""
        if ends.ndim == 0:
            ends = ends.reshape(1)
        if ends.size == 1:
            return np.array([instead]) if isnan(ends.item()) else ends
        broken = np.isnan(ends)
        return np.where(broken, instead, ends) if broken.any() else ends

    def holds(self, columns: Mapping[str, NumberColumn]) -> Truth:
        """Whether the formula's inputs lie where it is valid, row by row."""
        truth = SURE
        for span in self.valid:
            column = columns[span.name]
            low = span.low - SLACK * max(1e-6, abs(span.low))
            high = span.high + SLACK * max(1e-6, abs(span.high))
            one = column.low.size == 1 and column.high.size == 1
            if one and low <= column.low.item() and column.high.item() <= high:
                continue
            may = (column.high >= low) & (column.low <= high)
            truth = truth & Truth(may, may & (column.low >= low) & (column.high <= high))
        return truth

    def validity(self, frame: Frame, tables: Tables) -> Truth:
        """Whether the formula is valid in each row."""
        if not self.valid or not self.in_play(frame):
            return SURE
        return self.holds(self._kept_inputs(frame, tables))

    def worst(self, columns: Mapping[str, NumberColumn]) -> Values:
        """The one point, within the ranges of a single row, at which the demand is least favorable."""
        least, most = self._corners(columns)
        point = dict(most if self.wanted == "low" else least)
        sign = 1.0 if self.wanted == "low" else -1.0
        for name in self.both:
            low, high = columns[name].low, columns[name].high
            tries = np.linspace(low, high, 65)
            found = [
                sign * float(np.ravel(self.kernel({**point, name: one, name + LESS: one})[0])[0])
                for one in tries
            ]
            best = tries[int(np.nanargmax(found))] if not np.all(np.isnan(found)) else low
            point[name] = point[name + LESS] = best
        return point


def _same(column: NumberColumn) -> bool:
    """Whether a column is known in every row."""
    low, high = column.low, column.high
    if low is high:
        return True
    if low.size == 1 and high.size == 1:
        return bool(low.item() == high.item())
    return bool(np.array_equal(low, high))


def _pieces(least: Values, most: Values, wide: Sequence[str]) -> Iterator[tuple[Values, Values]]:
    """Corner pairs of the pieces that together cover the ranges of inputs marked BOTH."""
    count = _PIECES.get(len(wide), 2)
    for cell in product(range(count), repeat=len(wide)):
        first, last = dict(least), dict(most)
        for name, place in zip(wide, cell, strict=True):
            low, high = least[name], most[name]
            start = low + (high - low) * (place / count)
            end = low + (high - low) * ((place + 1) / count)
            first[name], first[name + LESS] = start, end
            last[name], last[name + LESS] = end, start
        yield first, last
