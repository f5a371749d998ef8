"""Numbers that decide together: two of one computed demand of which neither alone settles a candidate.

For a dozen values of the one number the boundary along the other is found; where a third number of the demand
moves that boundary, it is found with the third at its hard end too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

from undercourse.advise.cases import Case, JudgedCases
from undercourse.advise.depending import Dependence
from undercourse.advise.edges import Edge, EdgeSearch
from undercourse.advise.parts import round_values
from undercourse.advise.rounds import Ask, Steps
from undercourse.base.domains import Span
from undercourse.demands.record import LOWERS, RAISES
from undercourse.judge.rulebook import Rulebook

# Points of a curve; numbers tried along the other fact in one round, and rounds.
POINTS, INNER, ROUNDS = 12, 20, 2
# Values nearer to each other than this share of the range are one.
_NEAR = 0.03
# Pairs told of for one candidate.
MOST_PAIRS = 2


@dataclass(frozen=True)
class Number:
    """A number of a demand: what a candidate leaves of it, and whether its upper end is the hard one."""

    fact: str
    span: Span
    upper: bool

    @property
    def hard(self) -> Span:
        """The hard end."""
        end = self.span.high if self.upper else self.span.low
        return Span(end, end)

    @property
    def middle(self) -> Span:
        """Halfway."""
        value = (self.span.low + self.span.high) / 2
        return Span(value, value)


@dataclass(frozen=True)
class Pair:
    """A number that is bounded for values of another, and a third one that may move the boundary."""

    number: Number
    other: Number
    third: Number | None = None

    def case(self, hard: bool) -> Case:
        """Both at their hard ends, or both halfway; the third at its hard end."""
        both = (self.number, self.other)
        found = {one.fact: one.hard if hard else one.middle for one in both}
        return found if self.third is None else {**found, self.third.fact: self.third.hard}


@dataclass
class Curve:
    """The boundary of a pair for one candidate, by values of the other number. [SI]

    ``kept`` holds the last number with which it may suit, ``out`` the next that people write, which is out;
    none where nothing is.
    """

    pair: Pair
    at: list[float]
    kept: list[float]
    out: list[float | None]


@dataclass
class Pairing:
    """Looks for the pairs of candidates that are alike and follows their boundaries.

    ``left`` is what is left of facts for them, once values that are out are taken away.
    """

    found: Dependence
    names: Sequence[str]
    left: Case
    curves: dict[str, list[Curve]] = field(default_factory=dict)
    moved: dict[str, list[Curve]] = field(default_factory=dict)

    @property
    def book(self) -> Rulebook:
        """The rulebook."""
        return self.found.book

    def steps(self) -> Steps:
        """Which pairs decide, then their boundaries."""
        pairs = {name: self._pairs(name) for name in self.names}
        plan = {
            pair: place
            for place, pair in enumerate(dict.fromkeys(p for some in pairs.values() for p in some))
        }
        if not plan:
            return
        ends = [{**self.left, **pair.case(hard)} for pair in plan for hard in (True, False)]
        judged = yield Ask(ends, sorted(pairs))
        lines: dict[Pair, list[str]] = {}
        for name, some in pairs.items():
            out = judged.out(name)
            for pair in _telling(some, plan, out[::2].tolist(), out[1::2].tolist()):
                lines.setdefault(pair, []).append(name)
        if lines:
            yield from self._follow(lines)

    def _pairs(self, name: str) -> list[Pair]:
        """Every two numbers that an open computed demand of a candidate reads, alone and with a third."""
        # The facts that touch most findings come first, and so do their pairs.
        kept = {line.fact: line.kept() for line in self.found.of(name)}
        pairs: dict[Pair, None] = {}
        for ways in self._demands(name):
            numbers = [
                Number(fact, span, ways[fact])
                for fact, span in kept.items()
                if fact in ways and span is not None and span.high > span.low
            ]
            for both in combinations(numbers, 2):
                first, second = sorted(both, key=self._leads, reverse=True)
                pairs[Pair(first, second)] = None
                pairs |= {Pair(first, second, one): None for one in numbers if one not in both}
        return list(pairs)

    def _leads(self, number: Number) -> tuple[bool, int, str]:
        """Which number is bounded for values of the other: a length, and one without customary values."""
        unit = self.book.vocabulary[number.fact].domain.unit
        written = self.book.written.get(number.fact, ())
        return unit is not None and unit.dimension == "length", -len(written), number.fact

    def _demands(self, name: str) -> Iterator[Mapping[str, bool]]:
        """Numbers that open computed demands of a candidate read, and whether their upper end is hard."""
        for finding in self.found.open_findings(name):
            demand = self.book.demand(finding.demand)
            if demand is None or finding.limit is None:
                continue
            if finding.limit.comparison in ("at_most", "at_least"):
                raising = finding.limit.comparison == "at_most"
                ways = {RAISES: raising, LOWERS: not raising}
                yield {fact: ways[way] for fact, way in demand.reads.items() if way in ways}

    def _follow(self, lines: Mapping[Pair, Sequence[str]]) -> Steps:
        """Find the boundary of every pair at a dozen values of its other number."""
        places = [(pair, at) for pair in lines for at in self._values(pair.other)]
        cases: list[Case] = []
        for pair, at in places:
            given = self._given(pair, at)
            cases += [
                {**given, pair.number.fact: pair.number.hard},
                {**given, pair.number.fact: pair.number.span},
            ]
        names = sorted({name for some in lines.values() for name in some})
        judged = yield Ask(cases, names)
        edges, kinds = self._edges(lines, places, judged)
        search = EdgeSearch(self.book, edges, INNER, ROUNDS)
        yield from search.steps()
        self._write(lines, places, kinds, search)

    def _edges(
        self, lines: Mapping[Pair, Sequence[str]], places: Sequence[tuple[Pair, float]], judged: JudgedCases
    ) -> tuple[list[Edge], dict[tuple[int, str], int | None]]:
        """The values at which there is a boundary; -1 where everything is out, None where nothing is."""
        edges: list[Edge] = []
        kinds: dict[tuple[int, str], int | None] = {}
        out = {name: judged.out(name).tolist() for some in lines.values() for name in some}
        for place, (pair, at) in enumerate(places):
            bounded = []
            for name in lines[pair]:
                hard, whole = out[name][2 * place], out[name][2 * place + 1]
                kinds[place, name] = -1 if whole else len(edges) if hard else None
                bounded += [name] if hard and not whole else []
            if bounded:
                number = pair.number
                edges.append(
                    Edge(self._given(pair, at), number.fact, number.span, number.upper, tuple(bounded))
                )
        return edges, kinds

    def _write(
        self,
        lines: Mapping[Pair, Sequence[str]],
        places: Sequence[tuple[Pair, float]],
        kinds: Mapping[tuple[int, str], int | None],
        search: EdgeSearch,
    ) -> None:
        """Keep the curves that were followed."""
        borders = search.borders()
        for pair, names in lines.items():
            for name in names:
                curve = Curve(pair, [], [], [])
                for place, (one, at) in enumerate(places):
                    edge = kinds[place, name] if one == pair else -1
                    if edge == -1:
                        continue
                    border = None if edge is None else borders.get((edge, name))
                    curve.at.append(at)
                    curve.kept.append(pair.number.hard.low if border is None else border.kept)
                    curve.out.append(None if border is None else border.out)
                kept = self.curves if pair.third is None else self.moved
                if any(value is not None for value in curve.out):
                    kept.setdefault(name, []).append(curve)

    def _given(self, pair: Pair, at: float) -> Case:
        found = {**self.left, pair.other.fact: Span(at, at)}
        return found if pair.third is None else {**found, pair.third.fact: pair.third.hard}

    def _values(self, number: Number) -> list[float]:
        """Values at which a boundary is looked for: both ends, what limits write, and round ones between."""
        unit = self.book.vocabulary[number.fact].domain.unit
        assert unit is not None
        span = self._common(number)
        low, high = span
        found: list[float] = []
        wanted = [low, high, *self.book.written.get(number.fact, ()), *round_values(span, unit, POINTS)]
        for value in wanted:
            near = any(abs(value - other) < _NEAR * (high - low) for other in found)
            if low <= value <= high and not near and len(found) < POINTS:
                found.append(value)
        return sorted(found)

    def _common(self, number: Number) -> Span:
        """What most floors have of a number's values, where anything is known of that."""
        usual = [one.spec for one in self.book.vocabulary[number.fact].usuals if isinstance(one.spec, Span)]
        low = max(min((spec.low for spec in usual), default=number.span.low), number.span.low)
        high = min(max((spec.high for spec in usual), default=number.span.high), number.span.high)
        return Span(low, high) if high - low > _NEAR * (number.span.high - number.span.low) else number.span


def _telling(
    pairs: Sequence[Pair], plan: Mapping[Pair, int], hard: Sequence[bool], half: Sequence[bool]
) -> list[Pair]:
    """The pairs to follow, each number in one of them: those that are out halfway before others.

    With each the third number that puts it out halfway, where it is not so by itself.
    """
    alone = [pair for pair in pairs if pair.third is None and hard[plan[pair]]]
    chosen: list[Pair] = []
    for pair in sorted(alone, key=lambda pair: not half[plan[pair]]):
        used = {number.fact for one in chosen for number in (one.number, one.other)}
        if len(chosen) < MOST_PAIRS and not used & {pair.number.fact, pair.other.fact}:
            chosen.append(pair)
    found = list(chosen)
    for pair in chosen:
        moving = [one for one in pairs if one.third is not None and replace(one, third=None) == pair]
        moving = [one for one in moving if half[plan[one]] and not half[plan[pair]]]
        found += moving[:1]
    return found
