"""Where along a number candidates are surely out: boundaries found by judging ranges, not single values.

A range is out where no number in it can suit; that three-valued judging proves for a whole range at once.
So a boundary is the greatest range from one end that is out, and what is said of it holds for every number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from undercourse.advise.cases import Case
from undercourse.advise.parts import written_above, written_below, written_step
from undercourse.advise.rounds import Ask, Steps
from undercourse.base.domains import Span
from undercourse.base.units import Unit
from undercourse.judge.rulebook import Rulebook

# Written numbers are tried all where they are at most so many times the usual count.
_DENSE = 3


@dataclass(frozen=True)
class Edge:
    """A range of one fact whose upper or lower end is out, with what else is fixed.

    ``upper`` tells at which end; ``candidates`` are those that are out there and not in all of the range.
    """

    case: Case
    fact: str
    span: Span
    upper: bool
    candidates: tuple[str, ...]


@dataclass(frozen=True)
class Border:
    """A boundary: out from ``out`` to the end; ``kept`` is the number that people write before it."""

    kept: float
    out: float


@dataclass
class EdgeSearch:
    """Boundaries of several ranges, narrowed down together.

    ``inner`` numbers are tried inside each range in one of ``rounds`` rounds; all that people write, where
    these are at most three times as many.
    """

    book: Rulebook
    edges: Sequence[Edge]
    inner: int
    rounds: int
    brackets: dict[tuple[int, str], tuple[float, float]] = field(default_factory=dict)

    def steps(self) -> Steps:
        """Narrow every range from its own ends."""
        for place, edge in enumerate(self.edges):
            low, high = edge.span
            for name in edge.candidates:
                self.brackets[place, name] = (low, high) if edge.upper else (high, low)
        for _ in range(self.rounds):
            tries = self._tries()
            if not tries:
                return
            names = sorted({name for _, _, some in tries for name in some})
            judged = yield Ask([self._case(place, value) for place, value, _ in tries], names)
            out = {name: judged.out(name).tolist() for name in names}
            for at, (place, value, some) in enumerate(tries):
                for name in some:
                    self.brackets[place, name] = _narrowed(self.brackets[place, name], value, out[name][at])

    def borders(self) -> dict[tuple[int, str], Border]:
        """What was reached, by the place of the edge and the candidate."""
        return {key: self._written(self.edges[key[0]], out) for key, (_, out) in self.brackets.items()}

    def _tries(self) -> list[tuple[int, float, list[str]]]:
        """Numbers to try, for the candidates that have the same bracket."""
        shared: dict[tuple[int, float, float], list[str]] = {}
        for (place, name), bracket in self.brackets.items():
            shared.setdefault((place, *bracket), []).append(name)
        return [
            (place, value, names)
            for (place, kept, out), names in shared.items()
            for value in self._between(self.edges[place], kept, out)
        ]

    def _case(self, place: int, value: float) -> Case:
        edge = self.edges[place]
        span = Span(value, edge.span.high) if edge.upper else Span(edge.span.low, value)
        return {**edge.case, edge.fact: span}

    def _unit(self, edge: Edge) -> Unit:
        unit = self.book.vocabulary[edge.fact].domain.unit
        assert unit is not None
        return unit

    def _between(self, edge: Edge, kept: float, out: float) -> list[float]:
        """Numbers inside a bracket, from the end that is out: those that people write, where they are few."""
        unit = self._unit(edge)
        low, high = min(kept, out), max(kept, out)
        step = written_step(unit, high) * unit.factor
        first, last = written_above(low, unit), written_below(high, unit)
        count = round((last - first) / step) + 1
        values = np.linspace(low, high, self.inner + 2)[1:-1].tolist()
        if count <= _DENSE * self.inner:
            values = [first + step * place for place in range(max(count, 0))]
        values = [value for value in values if low < value < high]
        return values[::-1] if edge.upper else values

    def _written(self, edge: Edge, out: float) -> Border:
        """Where a range is out, as people write it, and the number that they write before that."""
        unit = self._unit(edge)
        low, high = edge.span
        last = min(max((written_above if edge.upper else written_below)(out, unit), low), high)
        step = written_step(unit, last) * unit.factor
        kept = written_below(last - step, unit) if edge.upper else written_above(last + step, unit)
        return Border(min(max(kept, low), high), last)


def _narrowed(bracket: tuple[float, float], value: float, out: bool) -> tuple[float, float]:
    """The bracket after one try, from the end that is out inwards."""
    kept, last = bracket
    if not min(kept, last) < value < max(kept, last):
        return bracket
    return (kept, value) if out else (value, last)
