"""One open fact at a time, over the values it may still have; which facts findings read."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from undercourse.advise.evaluating import Evaluated, evaluate_columns
from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn, pick
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.facts.consistency import make_consistent
from undercourse.judge.results import (
    NEEDS_FACTS,
    OPEN,
    SUITABLE_IF,
    Finding,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

# Values tried between the ends of a number beside every limit that is written for it.
GRID = 9


@dataclass(frozen=True)
class Sweep:
    """The verdicts of every candidate for each tried value of one fact."""

    fact: str
    values: tuple[Spec, ...]
    verdicts: Mapping[str, tuple[int, ...]]


def concerned_facts(finding: Finding, book: Rulebook) -> tuple[str, ...]:
    """The facts that a finding reads."""
    names: list[str] = list(finding.reads)
    limit = finding.limit
    if limit is not None:
        demand = book.demand(limit.demand)
        names += list(demand.reads) if demand is not None else [limit.demand]
        names += [name for name, _ in limit.when.terms]
        names += [name for name, _ in limit.unless.terms] if limit.unless else []
        names += [limit.capacity.column] if limit.capacity.column else []
        names += [respect.fact for respect in limit.evidence.respects] if limit.evidence else []
    if finding.need is not None:
        names += [name for name, _ in finding.need.when.terms]
    return tuple(name for name in dict.fromkeys(names) if name in book.vocabulary)


def open_facts(
    evaluated: Evaluated, book: Rulebook, row: int, only: Collection[str] | None = None
) -> dict[str, int]:
    """Undecided facts behind open findings of candidates still in play, with how many they touch.

    Parameters
    ----------
    only : collection of str, optional
        Candidates to look at, by id.
    """
    counts: dict[str, int] = {}
    for judgement in evaluated.of_row(row):
        if only is not None and judgement.candidate.id not in only:
            continue
        if int(judgement.verdict[row]) not in (NEEDS_FACTS, SUITABLE_IF):
            continue
        for finding in judgement.findings:
            if int(pick(finding.status, row)) != OPEN or bool(pick(finding.settled, row)):
                continue
            for name in concerned_facts(finding, book):
                if is_open(evaluated.facts[name], row):
                    counts[name] = counts.get(name, 0) + 1
    return counts


def is_open(column: Any, row: int) -> bool:
    """Whether more than one value is left."""
    if isinstance(column, NumberColumn):
        low, high = float(pick(column.low, row)), float(pick(column.high, row))
        return high > low * (1 + 1e-9) + 1e-12
    return int(pick(column.bits, row)).bit_count() > 1


def breakpoints(book: Rulebook, name: str) -> list[float]:
    """Every number that a limit, condition or respect writes for a fact."""
    return list(book.written.get(name, ()))


def trial_values(
    domain: Domain, spec: Spec, written: Sequence[float], more: Sequence[float] = ()
) -> list[Spec]:
    """Values to try for an open fact: each choice, or a grid with every written limit and just beyond.

    Parameters
    ----------
    more : sequence of float
        Numbers to try beside them. [SI]
    """
    if isinstance(spec, Choices):
        return [Choices(1 << place) for place in range(len(domain.choices)) if spec.bits >> place & 1]
    points = set(np.linspace(spec.low, spec.high, GRID).tolist())
    points |= {value for value in more if spec.low <= value <= spec.high}
    for value in written:
        for near in (value, value * (1 + 1e-5) + 1e-7, value * (1 - 1e-5) - 1e-7):
            if spec.low <= near <= spec.high:
                points.add(near)
    return [Span(value, value) for value in sorted(points)]


def sweep(evaluated: Evaluated, book: Rulebook, row: int, names: Sequence[str]) -> list[Sweep]:
    """Judge every candidate again for each value of each open fact, the rest as it stands."""
    facts = evaluated.facts.columns
    plan: list[tuple[str, Spec]] = []
    for name in names:
        domain = book.vocabulary.domains[name]
        written = breakpoints(book, name) if domain.kind == "number" else []
        plan += [(name, value) for value in trial_values(domain, facts.spec(name, row), written)]
    if not plan:
        return []
    table = Columns(facts.domains, len(plan))
    for name in facts:
        column = facts[name]
        if isinstance(column, NumberColumn):
            table[name] = NumberColumn(
                np.array([float(pick(column.low, row))]), np.array([float(pick(column.high, row))])
            )
        else:
            table[name] = ChoiceColumn(np.array([int(pick(column.bits, row))], dtype=np.uint64))
    for name in names:
        _lay_in(table, name, plan)
    impossible = np.zeros(len(plan), dtype=np.bool_)
    for contradiction in make_consistent(table, book.consistency):
        impossible |= contradiction.rows
    area = evaluated.areas[row]
    again = evaluate_columns([area] * len(plan), table, {}, book, evaluated.judge.date)
    found = []
    for name in names:
        places = [place for place, (fact, _) in enumerate(plan) if fact == name and not impossible[place]]
        verdicts = {
            judgement.candidate.id: tuple(int(judgement.verdict[place]) for place in places)
            for judgement in _all(again)
        }
        found.append(Sweep(name, tuple(plan[place][1] for place in places), verdicts))
    return found


def _all(evaluated: Evaluated) -> list[Judgement]:
    own = list({id(j): j for j in evaluated.own.values()}.values())
    return [*own, *evaluated.judgements]


def _lay_in(table: Columns, name: str, plan: Sequence[tuple[str, Spec]]) -> None:
    column = table[name]
    if isinstance(column, NumberColumn):
        low, high = np.full(table.rows, column.low[0]), np.full(table.rows, column.high[0])
        for place, (fact, spec) in enumerate(plan):
            if fact == name and isinstance(spec, Span):
                low[place], high[place] = spec.low, spec.high
        table[name] = NumberColumn(low, high)
        return
    bits = np.full(table.rows, column.bits[0], dtype=np.uint64)
    for place, (fact, spec) in enumerate(plan):
        if fact == name and isinstance(spec, Choices):
            bits[place] = spec.bits
    table[name] = ChoiceColumn(bits)
