"""Small rulebooks of made-up limits, and every way in which their few facts may turn out, read plainly.

The plain reading shares no code with the judge: no columns, no three-valued logic, no proofs. Between the
numbers that are written nothing changes, so one number in each gap stands for all of it.
"""

from __future__ import annotations

import datetime as dt
import itertools
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from tests.judge.floors import BOOK, SAMPLES, WORDS

from undercourse.base.domains import Choices, Span, Spec
from undercourse.facts.consistency import Consistency
from undercourse.facts.jobs import Area, Reading
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import Capacity, Condition, Limit, MustState, Ruling

DAY = dt.date(2026, 11, 25)
SHEET = "low-meadow-3"
HOME = next(area for area in SAMPLES if area.name == "Hall bath on 3/4 in plywood")
# Facts that decide, of choices the places that stay possible; facts that can be made so.
PLACES = {"occupancy": (0, 1, 3), "wheels": (0, 2, 3), "drain": (0, 1)}
NUMBERS = {"crack_width": (0.0, 0.01), "heavy_item_weight": (100.0, 400.0)}
MADE_SO = {"flatness_10ft": (0.002, 0.012)}
FLAG = "surface_clean"
Point = Mapping[str, float | int]
Row = Limit | MustState


@dataclass(frozen=True)
class Small:
    """A rulebook of few limits on few facts, with a floor on which those facts are open."""

    book: Rulebook
    area: Area
    limits: tuple[Limit, ...]
    rules: tuple[Limit, ...]
    stating: tuple[MustState, ...]

    def grid(self, name: str) -> list[float | int]:
        """Values of a fact of which at least one stands for every other."""
        if name in PLACES:
            return list(PLACES[name])
        if name == FLAG:
            return [0, 1]
        low, high = {**NUMBERS, **MADE_SO}[name]
        ends = {end for spec in self._written(name) for end in (spec.low, spec.high) if low < end < high}
        points = sorted({low, high, *ends})
        return sorted({*points, *((one + other) / 2 for one, other in itertools.pairwise(points))})

    def _written(self, name: str) -> Iterator[Span]:
        for limit in (*self.limits, *self.rules):
            terms = [*limit.when.terms, *(limit.unless.terms if limit.unless else ())]
            if limit.capacity.spec is not None:
                terms.append((limit.demand, limit.capacity.spec))
            yield from (spec for fact, spec in terms if fact == name and isinstance(spec, Span))
        for row in self.stating:
            yield from (spec for fact, spec in row.when.terms if fact == name and isinstance(spec, Span))

    def floors(self) -> Iterator[Point]:
        """Every floor by what decides."""
        names = [*PLACES, *NUMBERS]
        for values in itertools.product(*(self.grid(name) for name in names)):
            yield dict(zip(names, values, strict=True))

    def ways(self) -> Iterator[Point]:
        """Every way in which things may be made so."""
        names = [*MADE_SO, FLAG]
        for values in itertools.product(*(self.grid(name) for name in names)):
            yield dict(zip(names, values, strict=True))

    def kind(self, floor: Point) -> str:
        """What comes of a floor, where whatever can be made so is made so as well as can be."""
        made = [limit for limit in self.limits if limit.demand in (*MADE_SO, FLAG)]
        found = {self._said(x, floor) for x in (*self.limits, *self.rules) if x not in made}
        found |= {self._stated(row, floor) for row in self.stating}
        possible = any(
            all(self._said(limit, {**floor, **way}) != "exceeds" for limit in made) for way in self.ways()
        )
        return _worst(found if possible else {"exceeds"})

    def outcome(self, point: Point) -> str:
        """What comes of a fully known floor."""
        found = {self._said(limit, point) for limit in (*self.limits, *self.rules)}
        return _worst(found | {self._stated(row, point) for row in self.stating})

    def _said(self, limit: Limit, point: Point) -> str:
        if not _holds(limit.when, point) or (limit.unless is not None and _holds(limit.unless, point)):
            return "nothing"
        if limit.comparison == "never":
            return "exceeds"
        if limit.comparison == "not_stated":
            return "nothing" if self._ruled(limit.demand, point) else "not stated"
        if _keeps(limit, point):
            return "meets"
        return (
            "nothing"
            if limit.yields_to == "product evidence" and self._ruling_met(limit.demand, point)
            else "exceeds"
        )

    def _stated(self, row: MustState, point: Point) -> str:
        if not _holds(row.when, point):
            return "nothing"
        counted = [x for x in self.limits if x.demand == row.demand and x.comparison != "not_stated"]
        stated = any(_holds(x.when, point) and not (x.unless and _holds(x.unless, point)) for x in counted)
        return "nothing" if stated else "not stated"

    def _ruled(self, demand: str, point: Point) -> bool:
        return any(x.ruling and x.demand == demand and _holds(x.when, point) for x in self.limits)

    def _ruling_met(self, demand: str, point: Point) -> bool:
        rulings = [x for x in self.limits if x.ruling and x.demand == demand]
        return any(_holds(x.when, point) and _keeps(x, point) for x in rulings)


def _worst(found: set[str]) -> str:
    return "fails" if "exceeds" in found else "ruling" if "not stated" in found else "suits"


def _inside(spec: Spec, value: float | int) -> bool:
    if isinstance(spec, Choices):
        return bool(spec.bits >> int(value) & 1)
    return spec.low <= value <= spec.high


def _holds(condition: Condition, point: Point) -> bool:
    return all(_inside(spec, point[name]) for name, spec in condition.terms)


def _keeps(limit: Limit, point: Point) -> bool:
    value, spec = point[limit.demand], limit.capacity.spec
    assert spec is not None
    if isinstance(spec, Choices):
        return _inside(spec, value) == (limit.comparison == "one_of")
    return value <= spec.high if limit.comparison == "at_most" else value >= spec.low


def small_rulebook(seed: int) -> Small:
    """A few limits of every sort, on one sheet and in the trade; in one of three most floors suit."""
    rng = random.Random(seed)
    limits = [_made_so(rng, "made so"), _made_so(rng, "made so too")]
    rules: list[Limit] = []
    stating: list[MustState] = []
    if seed % 3:
        limits += [_limit(rng, f"limit {place}") for place in range(rng.randrange(2, 5))]
        rules.append(replace(_number(rng, "rule"), yields_to=rng.choice(["nobody", "product evidence"])))
        rules[0] = replace(rules[0], when=_condition(rng, 1))
    if seed % 3 and rng.random() < 0.5:
        demand = rng.choice([*NUMBERS])
        stating.append(MustState("membrane", demand, (), _condition(rng, 2), "It must be stated.", "test"))
    if seed % 3 and rng.random() < 0.7:
        # Somebody may rule on what is not stated, or on what the trade's rule says.
        demand = rng.choice([x.demand for x in (*limits, *rules) if x.demand in NUMBERS])
        signed = Ruling("signed", "the desk", dt.date(2026, 1, 1), dt.date(2027, 1, 1))
        ruling = replace(_number(rng, "ruling", demand), basis="ruling:signed", ruling=signed)
        limits.append(replace(ruling, when=_condition(rng, 1)))
    practice = replace(BOOK.practice, rules=tuple(rules), stops=(), must_state=tuple(stating))
    products = {name: replace(product, limits=()) for name, product in BOOK.line.products.items()}
    products[SHEET] = replace(products[SHEET], limits=tuple(limits))
    line = replace(BOOK.line, products=MappingProxyType(products))
    book = replace(BOOK, practice=practice, line=line, consistency=Consistency((), ()))
    return Small(book, _area(), tuple(limits), tuple(rules), tuple(stating))


def _area() -> Area:
    """A floor for which everything about the assembly is settled and the few facts are open."""
    readings = {n: r for n, r in HOME.readings.items() if n not in (*PLACES, *NUMBERS, *MADE_SO, FLAG)}
    for name, places in PLACES.items():
        readings[name] = Reading(Choices(sum(1 << place for place in places)), "test")
    for name, ends in {**NUMBERS, **MADE_SO}.items():
        readings[name] = Reading(Span(*ends), "test")
    return Area(HOME.name, readings)


def _limit(rng: random.Random, name: str) -> Limit:
    """A limit of any sort, more often than not with a condition."""
    sort = rng.choice(["number", "number", "choice", "never", "not_stated"])
    if sort == "never":
        return _row(name, "", "never", None, _condition(rng, 2, least=1))
    if sort == "not_stated":
        return _row(name, rng.choice([*NUMBERS]), "not_stated", None, _condition(rng, 2, least=1))
    limit = _number(rng, name) if sort == "number" else _choice(rng, name)
    unless = _condition(rng, 1, least=1) if rng.random() < 0.3 else None
    return replace(limit, when=_condition(rng, 2), unless=unless)


def _row(name: str, demand: str, comparison: str, spec: Spec | None, when: Condition) -> Limit:
    return Limit(name, demand, comparison, Capacity(spec), when, None, "test", "Made up.", product=SHEET)


def _number(rng: random.Random, name: str, fact: str = "") -> Limit:
    fact = fact or rng.choice([*NUMBERS])
    low, high = NUMBERS[fact]
    end = low + (high - low) * rng.choice([0.25, 0.5, 0.75])
    return _row(name, fact, rng.choice(["at_most", "at_least"]), Span(end, end), Condition())


def _choice(rng: random.Random, name: str) -> Limit:
    fact = rng.choice([*PLACES])
    some = rng.sample(PLACES[fact], rng.randrange(1, len(PLACES[fact])))
    spec = Choices(sum(1 << place for place in some))
    return _row(name, fact, rng.choice(["one_of", "none_of"]), spec, Condition())


def _made_so(rng: random.Random, name: str) -> Limit:
    """A limit on what can be made so, under a condition on what decides."""
    if rng.random() < 0.5:
        end = rng.choice([0.004, 0.006, 0.009])
        return _row(name, "flatness_10ft", "at_most", Span(end, end), _condition(rng, 2))
    return _row(name, FLAG, "one_of", Choices(2), _condition(rng, 2))


def _condition(rng: random.Random, most: int, least: int = 0) -> Condition:
    names = rng.sample([*PLACES, *NUMBERS], rng.randrange(least, most + 1))
    return Condition(tuple((name, _values(rng, name)) for name in names))


def _values(rng: random.Random, name: str) -> Spec:
    if name in PLACES:
        some = rng.sample(PLACES[name], rng.randrange(1, len(PLACES[name])))
        return Choices(sum(1 << place for place in some))
    low, high = NUMBERS[name]
    domain = WORDS.domains[name]
    end = low + (high - low) * rng.choice([0.2, 0.4, 0.6, 0.8])
    return Span(domain.low, end) if rng.random() < 0.5 else Span(end, domain.high)
