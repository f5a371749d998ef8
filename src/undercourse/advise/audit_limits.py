"""Faults of a line's limits: rows that speak twice or against each other, claims beyond their evidence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from math import isfinite

from undercourse.advise.sentences import allowed_text, condition_text, label, spec_text
from undercourse.base.domains import SLACK, Choices, Domain, Span, Spec
from undercourse.facts.vocabulary import Vocabulary
from undercourse.line.records import Condition, Evidence, Limit, Product
from undercourse.line.rows import LOAD_CLASSES

FAULT, NOTE = "fault", "note"


@dataclass(frozen=True)
class Fault:
    """One thing to put right (fault) or to look at (note) in a line."""

    where: str
    what: str
    fix: str
    severity: str = FAULT


@dataclass(frozen=True)
class Words:
    """What sentences about rows need."""

    domains: Mapping[str, Domain]
    vocabulary: Vocabulary

    def condition(self, terms: Mapping[str, Spec]) -> str:
        """Terms in words, or that they always hold."""
        return condition_text(Condition(tuple(terms.items())), self.domains, self.vocabulary) or "always"

    def allowed(self, limit: Limit) -> str:
        """A row's capacity in words."""
        return allowed_text(limit, self.domains, self.vocabulary)

    def called(self, name: str) -> str:
        """A fact or demand in words."""
        return label(name, self.vocabulary)


def narrow_spec(first: Spec, second: Spec) -> Spec | None:
    """The values in both sets; None where there are none."""
    if isinstance(first, Span):
        assert isinstance(second, Span)
        low, high = max(first.low, second.low), min(first.high, second.high)
        return Span(low, high) if low <= high + _slack(high) else None
    assert isinstance(second, Choices)
    bits = first.bits & second.bits
    return Choices(bits) if bits else None


def _slack(value: float) -> float:
    """What the last digits of unit conversion may leave; none at an open end."""
    return SLACK * abs(value) if isfinite(value) else 0.0


def lies_within(inner: Spec, outer: Spec) -> bool:
    """Whether every value of one set is in the other."""
    if isinstance(inner, Span):
        assert isinstance(outer, Span)
        return inner.low >= outer.low - _slack(inner.low) and inner.high <= outer.high + _slack(inner.high)
    assert isinstance(outer, Choices)
    return not inner.bits & ~outer.bits


def join_conditions(first: Limit, second: Limit) -> dict[str, Spec] | None:
    """The floors on which both rows apply, fact by fact; None where they cannot."""
    joint: dict[str, Spec] = {}
    for name, spec in (*first.when.terms, *second.when.terms):
        met = narrow_spec(joint[name], spec) if name in joint else spec
        if met is None:
            return None
        joint[name] = met
    for limit in (first, second):
        terms = limit.unless.terms if limit.unless else ()
        if terms and all(name in joint and lies_within(joint[name], spec) for name, spec in terms):
            return None
    return joint


def _within(inner: Limit, outer: Limit) -> bool:
    """Whether one row's conditions are the other's with more added."""
    own = dict(inner.when.terms)
    return all(name in own and lies_within(own[name], spec) for name, spec in outer.when.terms)


def allowed_set(limit: Limit, domain: Domain) -> Spec | None:
    """The values that a row allows its demand; None where they stand in another column."""
    spec = limit.capacity.spec
    if limit.comparison == "never":
        return None
    if spec is None or limit.comparison == "not_stated":
        return None
    if isinstance(spec, Span):
        if limit.comparison == "at_most":
            return Span(float("-inf"), spec.high)
        return Span(spec.low, float("inf")) if limit.comparison == "at_least" else spec
    whole = (1 << len(domain.choices)) - 1
    if limit.comparison == "none_of":
        return Choices(whole & ~spec.bits)
    if limit.comparison == "at_most":
        return Choices((1 << spec.bits.bit_length()) - 1)
    if limit.comparison == "at_least":
        return Choices(whole & ~((spec.bits & -spec.bits) - 1))
    return spec


def limit_faults(product: Product, words: Words) -> Iterator[Fault]:
    """Overlaps of one product's limits, and claims wider than their evidence."""
    by_demand: dict[str, list[Limit]] = {}
    for limit in product.limits:
        if limit.comparison != "never":
            by_demand.setdefault(limit.demand, []).append(limit)
    for limits in by_demand.values():
        for first, second in combinations(limits, 2):
            fault = _overlap(first, second, words)
            if fault is not None:
                yield fault
    for limit in product.limits:
        yield from _claim_faults(limit, words)
    yield from _evidence_faults(product)


def _overlap(first: Limit, second: Limit, words: Words) -> Fault | None:
    joint = join_conditions(first, second)
    if joint is None:
        return None
    place = f"{first.where} and {second.where.rsplit(': ', 1)[-1]}"
    where = words.condition(joint)
    called = words.called(first.demand)
    if "not_stated" in (first.comparison, second.comparison):
        if first.ruling or second.ruling or first.comparison == second.comparison:
            return None
        what = f"{called} is stated and not stated at once, where {where}; the answer there is not stated"
        return Fault(place, what, "add the other row's condition under unless", NOTE)
    domain = words.domains[first.demand]
    sets = (allowed_set(first, domain), allowed_set(second, domain))
    if sets[0] is None or sets[1] is None or {first.comparison, second.comparison} == {"at_most", "at_least"}:
        return None
    if sets[0] == sets[1]:
        return _repeated(first, second, place, words)
    return _unequal(first, second, sets[0], sets[1], place, where, words)


def _repeated(first: Limit, second: Limit, place: str, words: Words) -> Fault | None:
    if not (_within(first, second) and _within(second, first)) or first.unless != second.unless:
        return None
    what = f"two rows say the same of {words.called(first.demand)}: {words.allowed(first)}"
    return Fault(place, what, "delete one", NOTE)


def _unequal(
    first: Limit, second: Limit, one: Spec, other: Spec, place: str, where: str, words: Words
) -> Fault | None:
    """Two different capacities where both rows apply: on purpose, never counting, or by chance."""
    stricter = first if lies_within(one, other) else second if lies_within(other, one) else None
    inside = (_within(first, second), _within(second, first))
    called = words.called(first.demand)
    both = f"{called}: {words.allowed(first)} and {words.allowed(second)} both hold where {where}"
    if all(inside):
        counts = f"{words.allowed(stricter)} counts" if stricter else "only what both allow counts"
        return Fault(place, f"{both}; {counts}", "delete one row or part their conditions")
    if any(inside):
        special = first if inside[0] else second
        if stricter is special:
            return None
        if stricter is not None:
            what = f"{both}; {words.allowed(stricter)} counts, so the row made for this case never does"
            return Fault(place, what, "exclude the case from the wider row with unless")
    counts = f"the stricter, {words.allowed(stricter)}, counts" if stricter else "only what both allow counts"
    return Fault(place, f"{both}; {counts}", "part the conditions if that is not meant", NOTE)


def _claim_faults(limit: Limit, words: Words) -> Iterator[Fault]:
    proof = limit.evidence
    if proof is None:
        if limit.basis.startswith("evidence:"):
            what = f'the basis "{limit.basis}" names a test that is not there'
            yield Fault(limit.where, what, "add the evidence record or mend the basis")
        return
    conditions = dict(limit.when.terms)
    domain = words.domains.get(limit.demand)
    allowed = allowed_set(limit, domain) if domain is not None else None
    for respect in proof.respects:
        if respect.fact == limit.demand and allowed is not None and domain is not None:
            claimed = (
                narrow_spec(allowed, conditions[limit.demand]) if limit.demand in conditions else allowed
            )
            claimed = narrow_spec(claimed, domain.everything) if claimed is not None else None
            if claimed is not None and not _kept(limit, claimed, respect.spec):
                beyond = _beyond(domain, claimed, respect.spec)
                what = f"claims {words.allowed(limit)}{beyond}, but {proof.id} was tested at {respect.text}"
                yield Fault(limit.where, what, "claim no more than the test, or cite a test that went as far")
        elif respect.fact in conditions and narrow_spec(conditions[respect.fact], respect.spec) is None:
            term = words.condition({respect.fact: conditions[respect.fact]})
            tested = f"{proof.id} was tested at {respect.text}"
            what = f"speaks of floors where {term}, but {tested}: it is valid nowhere"
            yield Fault(limit.where, what, "cite a test of such a floor, or mend the condition")
    yield from _rating_faults(limit, proof)


def _kept(limit: Limit, claimed: Spec, respect: Spec) -> bool:
    """Whether a claim stays within what was tested, on the side that the claim bounds."""
    if isinstance(claimed, Span) and isinstance(respect, Span):
        if limit.comparison == "at_most":
            return claimed.high <= respect.high + _slack(claimed.high)
        if limit.comparison == "at_least":
            return claimed.low >= respect.low - _slack(claimed.low)
    return lies_within(claimed, respect)


def _beyond(domain: Domain, claimed: Spec, respect: Spec) -> str:
    if isinstance(claimed, Choices) and isinstance(respect, Choices):
        return f", among them {spec_text(domain, Choices(claimed.bits & ~respect.bits))}"
    return ""


def _rating_faults(limit: Limit, proof: Evidence) -> Iterator[Fault]:
    """A floor-load class above the one that the load test reached."""
    spec = limit.capacity.spec
    if limit.demand != "floor_load_class" or not proof.rating or not isinstance(spec, Span):
        return
    reached = LOAD_CLASSES.index(proof.rating) + 1
    if limit.comparison == "at_most" and spec.high > reached:
        claimed = LOAD_CLASSES[round(spec.high) - 1]
        what = f"claims the {claimed} class, but {proof.id} reached {proof.rating}"
        yield Fault(limit.where, what, "claim no more than the test, or cite a test that went as far")


def _evidence_faults(product: Product) -> Iterator[Fault]:
    for record in product.evidence.values():
        place = f"{product.where}: evidence {record.id}"
        if not record.respects:
            what = "the test names no respect, so its claims would carry over to any floor"
            yield Fault(place, what, "add respects: base, surface, panel, spacing, tile")
        missing = [name for name in ("laboratory", "report") if not getattr(record, name)]
        missing += [] if record.date else ["date"]
        if missing:
            yield Fault(
                place, f"the test names no {' and no '.join(missing)}", "add it from the report", NOTE
            )
        if not any(limit.evidence is record for limit in product.limits):
            yield Fault(place, "no limit rests on this test", "cite it, or drop the record", NOTE)
