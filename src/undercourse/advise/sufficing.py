"""Which of the things that must be made so are idle: proven by cases, not by looking at single limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations

from undercourse.advise.cases import Case, CaseJudge
from undercourse.advise.proving import Proof, Prover
from undercourse.advise.rounds import Steps
from undercourse.base.columns import lies_in, pick
from undercourse.base.domains import Choices, Span, Spec, just_above, just_below
from undercourse.judge.rulebook import Rulebook

# Idle items up to this many are left out in every way that there is.
_MANY = 5
_NOT_SUITING = frozenset(("fails", "ruling"))


@dataclass(frozen=True)
class Item:
    """A fact that must be made so, and the rules that ask for it.

    ``plain`` where some rule surely applies and fails without it: only what the others imply can be idle.
    """

    fact: str
    spec: Spec
    sources: tuple[str, ...]
    plain: bool


@dataclass
class Sufficing:
    """The list of one candidate; ``items`` are as few as there can be once its steps are taken."""

    name: str
    items: Sequence[Item]
    judge: CaseJudge
    _closed: list[bool] = field(default_factory=list)

    def steps(self) -> Steps:
        """Leave out what is idle: with the rest made so every completion suits."""
        kept = _strictest(self.items)
        today = self._said_of_today()
        implied = [item for item in self._implied(kept) if item.fact not in today]
        rest = [item for item in kept if item not in implied]
        if implied and self._are_implied(implied, rest):
            implied, kept = [], rest
        self.items = kept
        doubtful = [one for one in kept if one.fact not in today and (not one.plain or one in implied)]
        yield from self._prove([[one for one in kept if one is not item] for item in doubtful], doubtful)
        idle = [item for item, fine in zip(doubtful, self._closed, strict=True) if fine]
        if idle:
            self.items = [item for item in kept if item is not idle[0]]
        # Each of these can go by itself; as many of them as can go together do.
        for size in range(len(idle), 1, -1):
            rests = [[item for item in kept if item not in gone] for gone in _subsets(idle, size)]
            yield from self._prove(rests)
            for rest, fine in zip(rests, self._closed, strict=True):
                if fine:
                    self.items = rest
                    return

    def _prove(self, lists: Sequence[Sequence[Item]], gone: Sequence[Item] = ()) -> Steps:
        """Whether every completion in which these are made so suits, for each list.

        Where it is named what is ``gone`` from each, only completions that break it are looked into.
        """
        cases = [[self._made_so(items)] for items in lists]
        for some, item in zip(cases, gone, strict=False):
            some[:] = self._broken(some[0], item)
        proofs = [Proof(self.name, list(some), _NOT_SUITING, firm=True) for some in cases]
        self._closed = [not some for some in cases]
        yield from Prover(self.judge.book, proofs).steps()
        # Where nothing can break an item, or only what contradicts the others, there is no case at all.
        self._closed = [not (proof.cases or proof.stuck or proof.differs) for proof in proofs]

    def _broken(self, case: Case, item: Item) -> list[Case]:
        """A case with the fact of an item at all values that the item leaves out."""
        now = case.get(item.fact, self.judge.evaluated.facts.columns.spec(item.fact, self.judge.row))
        if isinstance(now, Choices):
            assert isinstance(item.spec, Choices)
            rest = now.bits & ~item.spec.bits
            return [{**case, item.fact: Choices(rest)}] if rest else []
        assert isinstance(item.spec, Span)
        below = Span(now.low, min(now.high, just_below(item.spec.low)))
        above = Span(max(now.low, just_above(item.spec.high)), now.high)
        return [{**case, item.fact: span} for span in (below, above) if span.low <= span.high]

    def _implied(self, items: Sequence[Item]) -> list[Item]:
        """The items that the others make so by the consistency rows, each by itself."""
        linked = [item for item in items if _is_linked(item.fact, self.judge.book)]
        if not linked:
            return []
        rests = [[one for one in items if one is not item] for item in linked]
        table, _ = self.judge.settle([self._made_so(rest) for rest in rests])
        inside = [lies_in(table[item.fact], item.spec).must for item in linked]
        return [item for at, item in enumerate(linked) if bool(pick(inside[at], at))]

    def _are_implied(self, items: Sequence[Item], rest: Sequence[Item]) -> bool:
        """Whether all of some items are made so by the rest."""
        table, _ = self.judge.settle([self._made_so(rest)])
        return all(bool(lies_in(table[item.fact], item.spec).must[0]) for item in items)

    def _made_so(self, items: Sequence[Item]) -> Case:
        """The facts of items as they are once made so."""
        case: dict[str, Spec] = {}
        for item in items:
            now = case.get(item.fact, self.judge.evaluated.facts.columns.spec(item.fact, self.judge.row))
            case[item.fact] = meet(now, item.spec)
        return case

    def _said_of_today(self) -> set[str]:
        """Facts that stay to be made so whatever is read today."""
        readings = self.judge.evaluated.areas[self.judge.row].readings
        return {name for name, reading in readings.items() if reading.holds_for == "today"}


def _strictest(items: Sequence[Item]) -> list[Item]:
    """The items without those that a plain one on the same fact holds already."""

    def holds(strict: Item, loose: Item) -> bool:
        return strict.plain and strict.fact == loose.fact and meet(strict.spec, loose.spec) == strict.spec

    return [item for item in items if not any(holds(one, item) for one in items if one is not item)]


def _is_linked(fact: str, book: Rulebook) -> bool:
    """Whether a consistency row binds a fact to others."""
    rows = book.consistency
    return any(fact in (bound.fact, bound.other) for bound in rows.at_most) or any(
        fact in one.then or fact in one.when for one in rows.implies
    )


def _subsets(items: Sequence[Item], size: int) -> list[tuple[Item, ...]]:
    """Sets of so many items; of many items only the first ones, so that there are few."""
    return list(combinations(items, size)) if len(items) <= _MANY else [tuple(items[:size])]


def meet(first: Spec, second: Spec) -> Spec:
    if isinstance(first, Span) and isinstance(second, Span):
        return Span(max(first.low, second.low), min(first.high, second.high))
    assert isinstance(first, Choices)
    assert isinstance(second, Choices)
    return Choices(first.bits & second.bits)
