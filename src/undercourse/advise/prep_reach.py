"""Which works can matter to which finding: by the facts that the one changes and the other reads."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from undercourse.advise.prep_floor import Floor, State
from undercourse.advise.sweeps import concerned_facts
from undercourse.base.domains import Choices, Span, Spec
from undercourse.facts.layers import DERIVED
from undercourse.facts.works import Work
from undercourse.judge.results import Finding
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import Condition, Limit, Need

# Candidate columns that follow from the membrane alone, whatever the floor.
_FIXED = ("membrane_", "provides_")


def touched_facts(work: Work, book: Rulebook) -> frozenset[str]:
    """Every fact whose values a work may change, what follows from them by consistency included."""
    names = {name for name, _ in (*work.changes, *work.add, *work.times)} | set(work.forgets)
    names |= {gate.fact for gate in work.gates}
    if work.layer is not None or work.takes_up is not None:
        names |= set(DERIVED)
    if work.height_m:
        names |= {"height_available", "door_sill_height"}
    if work.weight_kg_m2:
        names.add("existing_dead_load")
    grown = True
    while grown:
        size = len(names)
        for row in book.consistency.implies:
            if names & row.when.keys() or (len(row.when) == 1 and names & row.then.keys()):
                names |= row.then.keys()
                if len(row.when) == 1:
                    names |= row.when.keys()
        for bound in book.consistency.at_most:
            if names & {bound.fact, bound.other}:
                names |= {bound.fact, bound.other}
        grown = len(names) > size
    return frozenset(names)


def _condition_facts(*conditions: Condition | None) -> set[str]:
    return {name for condition in conditions if condition is not None for name, _ in condition.terms}


def _limit_facts(limit: Limit, book: Rulebook) -> set[str]:
    names = _condition_facts(limit.when, limit.unless) | {limit.demand, limit.capacity.column}
    demand = book.demand(limit.demand)
    if demand is not None:
        names |= {*demand.reads, *demand.takes}
    if limit.evidence is not None:
        names |= {respect.fact for respect in limit.evidence.respects}
    return names


class Reads:
    """The facts that findings read, through the assembly too."""

    def __init__(self, book: Rulebook) -> None:
        self._book = book
        needs: list[Need] = [*book.practice.needs]
        names: set[str] = set()
        self._of_demand: dict[str, set[str]] = {}
        for product in book.line.products.values():
            needs += product.needs
            for limit in product.limits:
                facts = _limit_facts(limit, book)
                self._of_demand.setdefault(limit.demand, set()).update(facts)
                if "membrane" not in product.roles:
                    names |= facts
        for rule in book.practice.rules:
            self._of_demand.setdefault(rule.demand, set()).update(_limit_facts(rule, book))
        for need in needs:
            names |= _condition_facts(need.when, need.unless)
        self.assembly = frozenset(name for name in names if name in book.vocabulary)

    def of(self, finding: Finding, membrane: str) -> frozenset[str]:
        """Facts through which a finding of a candidate with this membrane may change."""
        book = self._book
        names = set(concerned_facts(finding, book))
        columns: set[str] = set()
        if finding.limit is not None:
            columns = _limit_facts(finding.limit, book) & book.columns
        # What another statement on the same demand may take over, or a ruling settle.
        names |= {n for n in self._of_demand.get(finding.demand, ()) if n in book.vocabulary}
        through_assembly = (
            finding.need is not None
            or finding.demand in ("contact", "need")
            or finding.product not in ("", membrane)
            or any(not name.startswith(_FIXED) for name in columns)
        )
        if finding.demand == "contact":
            names |= {"top_surface", "surface_primed"}
        return frozenset(names | self.assembly) if through_assembly else frozenset(names)


def _inside(spec: Spec, wanted: Spec) -> bool:
    if isinstance(spec, Span):
        assert isinstance(wanted, Span)
        return wanted.low - 1e-9 <= spec.low and spec.high <= wanted.high + 1e-9
    assert isinstance(wanted, Choices)
    return spec.bits & ~wanted.bits == 0


def enables(work: Work, other: Work, fact: str, floor: Floor) -> bool:
    """Whether a work can bring about what another lacks in one fact."""
    if fact.startswith("layer_"):
        return work.takes_up is not None and (other.takes_up is None or floor.could_expose(other.takes_up))
    if work.takes_up is not None and fact in DERIVED:
        return True
    if work.layer is not None and fact in DERIVED:
        return True
    if fact in {name for name, _ in (*work.add, *work.times)} or fact in work.forgets:
        return True
    wanted = dict(other.when).get(fact)
    given = dict([*((gate.fact, gate.must_be) for gate in work.gates), *work.changes]).get(fact)
    return given is not None and (wanted is None or _inside(given, wanted))


def feasible(works: Sequence[Work], floor: Floor) -> list[Work]:
    """The works that can be done on a floor, at once or after others of them."""
    start = State()
    lacking = {work.id: floor.lacking(work, start) for work in works}
    found = [work for work in works if not lacking[work.id]]
    grown = True
    while grown:
        grown = False
        for work in works:
            if work in found:
                continue
            if all(_any_enables(found, work, fact, floor) for fact in lacking[work.id]):
                found.append(work)
                grown = True
    return [work for work in works if work in found]


def _any_enables(works: Iterable[Work], other: Work, fact: str, floor: Floor) -> bool:
    return any(enables(work, other, fact, floor) for work in works)
