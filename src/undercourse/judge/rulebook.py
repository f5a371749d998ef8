"""Everything a judgement needs, bound together once: vocabulary, rules, line, demands, tables."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import isfinite
from typing import Any

from undercourse.assembly.columns import candidate_domains
from undercourse.assembly.pairs import index_pairs
from undercourse.base.domains import Choices, Domain, Span, Spec, just_above, just_below, written_end
from undercourse.base.problems import Problem
from undercourse.demands import DEMANDS, Demand, Tables
from undercourse.demands.record import MEMORY
from undercourse.facts.consistency import Consistency
from undercourse.facts.vocabulary import MADE_SO, Vocabulary
from undercourse.facts.works import Works
from undercourse.judge.compiled import Compiled
from undercourse.line.records import Condition, Limit, Line, Pair, Practice

# Facts on a scale with a true zero: a share of the limit used makes sense for them.
_RATIO_DIMENSIONS = frozenset(
    (
        "length",
        "pressure",
        "mass",
        "time",
        "share",
        "vapor emission",
        "power per area",
        "ratio",
        "mass per area",
        "cost per area",
        "permeance",
        "temperature difference",
    )
)


def all_domains(vocabulary: Vocabulary) -> dict[str, Domain]:
    """Facts, candidate columns and computed demands by name."""
    return {
        **vocabulary.domains,
        **candidate_domains(),
        **{name: demand.domain for name, demand in DEMANDS.items()},
    }


@dataclass(frozen=True)
class Rulebook:
    """One line under one set of trade rules."""

    vocabulary: Vocabulary
    consistency: Consistency
    practice: Practice
    line: Line
    tables: Tables
    domains: Mapping[str, Domain]
    made_so: frozenset[str]
    columns: frozenset[str]
    basis: Mapping[str, Any]
    works: Works = field(default_factory=Works)

    @cached_property
    def compiled(self) -> Compiled:
        """The limits that read site facts alone, ready to be judged together."""
        limits = [*self.practice.rules, *self.practice.stops]
        limits += [limit for product in self.line.products.values() for limit in product.limits]
        return Compiled(self.vocabulary, limits)

    @cached_property
    def written(self) -> Mapping[str, tuple[float, ...]]:
        """By fact every number that a limit, condition or respect writes for it, rising. [SI]"""
        return {name: tuple(sorted({one for one, _, _ in ends})) for name, ends in self._ends.items()}

    @cached_property
    def cuts(self) -> Mapping[str, tuple[tuple[float, float], ...]]:
        """By fact where written numbers part its values: the last before and the first after. [SI]"""
        found = {}
        for name, ends in self._ends.items():
            # A number that belongs to the range below it, or not to the one above, ends the lower part.
            sides = {(one, upper == closed) for one, upper, closed in ends}
            both = [(one, just_above(one)) if lower else (just_below(one), one) for one, lower in sides]
            found[name] = tuple(sorted(both))
        return found

    @cached_property
    def _ends(self) -> Mapping[str, set[tuple[float, bool, bool]]]:
        """By fact the ends of written ranges: the number, whether it is the upper end, whether it belongs."""
        found: dict[str, set[tuple[float, bool, bool]]] = {}
        for name, spec in self._terms():
            unit = self.domains[name].unit if isinstance(spec, Span) else None
            for upper, end in enumerate(spec if isinstance(spec, Span) else ()):
                if isfinite(end):
                    number, closed = (end, True) if unit is None else written_end(end, bool(upper), unit)
                    found.setdefault(name, set()).add((number, bool(upper), closed))
        return found

    def _terms(self) -> Iterator[tuple[str, Spec]]:
        """Every name with a set that is written for it."""
        limits = list(self.practice.rules)
        conditions = [row.when for row in self.practice.must_state]
        conditions += [need.when for need in self.practice.needs]
        for product in self.line.products.values():
            limits += product.limits
            conditions += [need.when for need in product.needs]
        for limit in limits:
            conditions += [limit.when, *([limit.unless] if limit.unless else [])]
            if limit.capacity.spec is not None:
                yield limit.demand, limit.capacity.spec
            for respect in limit.evidence.respects if limit.evidence is not None else ():
                yield respect.fact, respect.spec
        for condition in conditions:
            yield from condition.terms

    @cached_property
    def limited(self) -> frozenset[str]:
        """What the limits of rules and products are about."""
        limits = [*self.practice.rules, *self.practice.stops]
        limits += [limit for product in self.line.products.values() for limit in product.limits]
        return frozenset(limit.demand for limit in limits)

    def demand(self, name: str) -> Demand | None:
        """The computed demand of a name; None for facts and columns."""
        return DEMANDS.get(name)

    def is_ratio(self, name: str) -> bool:
        """Whether a share of the limit used makes sense for a demand."""
        demand = DEMANDS.get(name)
        if demand is not None:
            return demand.scale == "ratio"
        unit = self.domains[name].unit
        return unit is not None and unit.dimension in _RATIO_DIMENSIONS

    @cached_property
    def pairs(self) -> dict[tuple[str, str], Pair]:
        """What may lie on what: the line's statements before the trade's."""
        own = [pair for product in self.line.products.values() for pair in product.pairs]
        return {**index_pairs(self.practice.pairs), **index_pairs(own)}

    @cached_property
    def rules_by_reach(self) -> tuple[list[Limit], list[tuple[Limit, tuple[str, ...]]]]:
        """Trade rules on the site alone, and those that read candidate columns, with the columns."""
        alone: list[Limit] = []
        reading: list[tuple[Limit, tuple[str, ...]]] = []
        for rule in self.practice.rules:
            columns = self.candidate_columns(rule)
            if columns:
                reading.append((rule, columns))
            else:
                alone.append(rule)
        return alone, reading

    def candidate_columns(self, limit: Limit) -> tuple[str, ...]:
        """The candidate columns through which a limit's outcome can differ between candidates."""
        own = self.columns
        names = {limit.demand, limit.capacity.column, *(name for name, _ in limit.when.terms)}
        if limit.unless is not None:
            names |= {name for name, _ in limit.unless.terms}
        demand = DEMANDS.get(limit.demand)
        if demand is not None:
            names |= demand.takes.keys()
        return tuple(sorted(names & own))


def bind(
    vocabulary: Vocabulary,
    consistency: Consistency,
    practice: Practice,
    line: Line,
    tables: Tables,
    basis: Mapping[str, Any],
    works: Works | None = None,
) -> Rulebook:
    """Bind a line to the trade rules; a rule's jurisdiction becomes one of its conditions."""
    domain = vocabulary.domains["jurisdiction"]

    def placed(limit: Limit) -> Limit:
        if not limit.jurisdictions:
            return limit
        bits = 0
        for name in limit.jurisdictions:
            bits |= 1 << domain.choices.index(name)
        return replace(limit, when=Condition((("jurisdiction", Choices(bits)), *limit.when.terms)))

    practice = replace(
        practice,
        rules=tuple(placed(rule) for rule in practice.rules),
        stops=tuple(placed(rule) for rule in practice.stops),
    )
    made_so = frozenset(name for name, fact in vocabulary.facts.items() if fact.role == MADE_SO)
    return Rulebook(
        vocabulary,
        consistency,
        practice,
        line,
        tables,
        all_domains(vocabulary),
        made_so,
        frozenset(candidate_domains()),
        basis,
        works or Works(),
    )


def unfit_limits(line: Line, practice: Practice) -> list[Problem]:
    """Limits on computed numbers that may not carry one.

    A number resting on memory can warn, so a trade rule may name it, but no product's promise may
    hang on it; a number that only informs has no limit at all.
    """
    problems = []
    own = [limit for product in line.products.values() for limit in product.limits]
    for limit in (*own, *practice.rules, *practice.stops):
        demand = DEMANDS.get(limit.demand)
        if demand is None:
            continue
        if demand.informs:
            what, fix = "only informs and carries no limit", "limit a demand that decides"
        elif demand.rests_on == MEMORY and limit.product:
            what, fix = "rests on memory, so no promise may hang on it", "limit a fact instead"
        else:
            continue
        problems.append(Problem(limit.where or limit.id, f"{limit.demand} {what}", fix))
    return problems


def unfit_asks(line: Line, practice: Practice, vocabulary: Vocabulary) -> list[Problem]:
    """Rows that put a fact first and name something that nobody can be asked for."""
    problems = []
    for row in (*line.ask_first, *practice.ask_first):
        for name in (row.fact, *(name for name, _ in row.when.terms)):
            if name not in vocabulary:
                problems.append(Problem(row.where, f'"{name}" is not a fact', vocabulary.nearest(name)))
    return problems


def in_force(limit: Limit, date: dt.date | None) -> bool:
    """Whether a ruling has been given and has not expired; other limits always are."""
    if limit.ruling is None or date is None:
        return True
    return limit.ruling.date <= date and (limit.ruling.expires is None or date <= limit.ruling.expires)
