"""Where a product must state a limit and has no row for it: the floors that its conditions leave out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from itertools import product as every

import numpy as np

from undercourse.advise.audit_limits import NOTE, Fault, Words
from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.base.frame import Frame
from undercourse.facts.consistency import make_consistent
from undercourse.judge.rulebook import Rulebook
from undercourse.line.comparing import applies, compare, holds
from undercourse.line.records import MustState, Product

# Beyond this number of cases the conditions are too many to try one by one.
MOST_CASES = 50_000
_SHOWN = 4
_STRICT = 1e-6


@dataclass(frozen=True)
class Part:
    """A part of a domain that no condition cuts: one value that speaks for it, and all of it."""

    trial: Spec
    whole: Spec


def gap_notes(product: Product, book: Rulebook, words: Words) -> Iterator[Fault]:
    """One note for each limit that must be stated, with the floors that no row covers."""
    for row in book.practice.must_state:
        if row.role not in product.roles or (row.kinds and product.kind not in row.kinds):
            continue
        called = words.called(row.demand)
        place = f"{product.where}: {row.demand}"
        parts = _parts(row, product, words.domains)
        if np.prod([float(len(each)) for each in parts.values()]) > MOST_CASES:
            yield Fault(place, f"the conditions on {called} are too many to try", "simplify them", NOTE)
            continue
        left = _uncovered(parts, row, product, book)
        if left:
            shown = " or ".join(words.condition(case) for case in left[:_SHOWN])
            more = f", and {len(left) - _SHOWN} more cases" if len(left) > _SHOWN else ""
            what = f"no row states {called} where {shown}{more}"
            yield Fault(place, what, "state it there, or write not_stated = true", NOTE)


def split_domain(domain: Domain, specs: Iterable[Spec]) -> list[Part]:
    """A domain parted so that no set of ``specs`` cuts through a part; numbers in rising order."""
    specs = list(specs)
    if domain.kind != "number":
        bits: dict[tuple[bool, ...], int] = {}
        for place in range(len(domain.choices)):
            signs = tuple(bool(spec.bits >> place & 1) for spec in specs if isinstance(spec, Choices))
            bits[signs] = bits.get(signs, 0) | 1 << place
        return [Part(Choices(each), Choices(each)) for each in bits.values()]
    ends = {end for spec in specs if isinstance(spec, Span) for end in (spec.low, spec.high)}
    inner = sorted(end for end in ends if domain.low < end < domain.high)
    points = [domain.low, *inner, domain.high]
    parts = []
    for low, high in pairwise(points):
        parts.append(Part(Span(low, low), Span(low, low)))
        if high - low > 10 * _STRICT * max(abs(high), 1e-9):
            middle = (low + high) / 2
            between = Span(low + abs(low) * _STRICT, high - abs(high) * _STRICT)
            parts.append(Part(Span(middle, middle), between))
    return [*parts, Part(Span(domain.high, domain.high), Span(domain.high, domain.high))]


def _parts(row: MustState, product: Product, domains: Mapping[str, Domain]) -> dict[str, list[Part]]:
    """The parts of every fact that the rows on a demand name, cut also where the product draws a limit."""
    conditions = [row.when]
    for limit in product.limits:
        if limit.demand == row.demand:
            conditions += [limit.when] + ([limit.unless] if limit.unless is not None else [])
    specs: dict[str, list[Spec]] = {}
    for condition in conditions:
        for name, spec in condition.terms:
            specs.setdefault(name, []).append(spec)
    for limit in product.limits:
        if limit.demand in specs and limit.capacity.spec is not None:
            specs[limit.demand].append(limit.capacity.spec)
    return {name: split_domain(domains[name], found) for name, found in specs.items()}


def _uncovered(
    parts: Mapping[str, list[Part]], row: MustState, product: Product, book: Rulebook
) -> list[dict[str, Spec]]:
    """The floors on which the limit is asked for, that can be, that no row covers and none refuses."""
    cases = list(every(*(range(len(each)) for each in parts.values())))
    columns = _table(parts, cases, book.domains)
    size = (len(cases),)
    left = np.broadcast_to(holds(row.when, Frame(columns)).must, size).copy()
    for limit in product.limits:
        concerned = applies(limit, Frame(columns))
        if limit.demand == row.demand or limit.comparison == "never":
            left &= ~concerned.must
        elif limit.comparison != "not_stated":
            within = compare(limit, Frame(columns)[limit.demand], Frame(columns))
            left &= ~(concerned.must & ~within.may)
    for contradiction in make_consistent(columns, book.consistency):
        left &= ~contradiction.rows
    names = list(parts)
    found = [
        {name: {at} for name, at in zip(names, cases[place], strict=True)} for place in np.flatnonzero(left)
    ]
    return [case for merged in _merge(found) for case in _shown(merged, parts)]


def _table(
    parts: Mapping[str, list[Part]], cases: Sequence[tuple[int, ...]], domains: Mapping[str, Domain]
) -> Columns:
    """One row a case."""
    columns = Columns(domains, len(cases))
    for place, (name, own) in enumerate(parts.items()):
        trials = [own[case[place]].trial for case in cases]
        spans = [spec for spec in trials if isinstance(spec, Span)]
        if spans:
            columns[name] = NumberColumn(np.array([s.low for s in spans]), np.array([s.high for s in spans]))
        else:
            bits = [spec.bits for spec in trials if isinstance(spec, Choices)]
            columns[name] = ChoiceColumn(np.array(bits, dtype=np.uint64))
    return columns


def _merge(cases: list[dict[str, set[int]]]) -> list[dict[str, set[int]]]:
    """Cases that differ in one fact alone become one."""
    changed = bool(cases)
    while changed:
        changed = False
        for name in cases[0]:
            groups: dict[tuple[tuple[str, frozenset[int]], ...], set[int]] = {}
            for case in cases:
                rest = tuple((other, frozenset(at)) for other, at in case.items() if other != name)
                groups.setdefault(rest, set()).update(case[name])
            if len(groups) < len(cases):
                names = list(cases[0])
                joined = [{**{other: set(at) for other, at in rest}, name: at} for rest, at in groups.items()]
                cases = [{other: case[other] for other in names} for case in joined]
                changed = True
    return cases


def _shown(case: Mapping[str, set[int]], parts: Mapping[str, list[Part]]) -> list[dict[str, Spec]]:
    """A merged case as sets of values; numbers in more than one run give more than one."""
    found: list[dict[str, Spec]] = [{}]
    for name, places in case.items():
        own = parts[name]
        if len(places) == len(own):
            continue
        found = [{**one, name: spec} for one in found for spec in _runs(own, sorted(places))]
    return found


def _runs(own: Sequence[Part], places: Sequence[int]) -> list[Spec]:
    specs = [own[place].whole for place in places]
    if isinstance(specs[0], Choices):
        bits = 0
        for spec in specs:
            assert isinstance(spec, Choices)
            bits |= spec.bits
        return [Choices(bits)]
    runs: list[Spec] = []
    before = -2
    for place, spec in zip(places, specs, strict=True):
        assert isinstance(spec, Span)
        last = runs[-1] if runs and place == before + 1 else None
        if isinstance(last, Span):
            runs[-1] = Span(last.low, spec.high)
        else:
            runs.append(spec)
        before = place
    return runs
