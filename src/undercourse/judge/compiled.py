"""All limits that speak of site facts alone, judged for all rows in a few array operations.

A limit with a fixed capacity is a set of values that its demand must lie in, so conditions,
capacities and respects are all terms (fact, set). Every distinct term is decided once; a limit's
status follows by joining its terms. What needs a candidate, a computed demand, or a reading's date is
judged one by one in ``limits``, by the same table of statuses.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from undercourse.base.columns import Bools, ChoiceColumn, NumberColumn, Truth
from undercourse.base.domains import SLACK, Choices, Span, Spec
from undercourse.base.frame import Frame
from undercourse.facts.vocabulary import Vocabulary
from undercourse.judge.results import NOT_APPLY, Codes
from undercourse.judge.status import STATUS
from undercourse.line.records import Limit

Term = tuple[str, Spec]
_ALL_BITS = (1 << 64) - 1


@dataclass(frozen=True)
class Outcome:
    """One limit in every row."""

    status: Codes
    applies: Truth
    within: Truth
    valid: Truth


def allowed(limit: Limit) -> Spec | None:
    """The set of values that a limit with a fixed capacity leaves its demand; None for another."""
    spec = limit.capacity.spec
    if limit.capacity.column or (spec is None and limit.comparison not in ("never", "not_stated")):
        return None
    if limit.comparison in ("never", "not_stated"):
        return Choices(0)
    if isinstance(spec, Span):
        if limit.comparison == "at_most":
            return Span(-np.inf, spec.high)
        return Span(spec.low, np.inf) if limit.comparison == "at_least" else None
    if isinstance(spec, Choices) and limit.comparison == "one_of":
        return spec
    if isinstance(spec, Choices) and limit.comparison == "none_of":
        return Choices(~spec.bits & _ALL_BITS)
    return None


class Compiled:
    """The terms and limits of a rulebook that read site facts alone."""

    def __init__(self, vocabulary: Vocabulary, limits: Sequence[Limit]) -> None:
        self.vocabulary = vocabulary
        self.terms: dict[Term, int] = {}
        self.rows: dict[int, int] = {}
        groups: list[list[int]] = []
        unless: list[list[int]] = []
        within: list[int] = []
        respects: list[list[int]] = []
        # Term 0 always holds; it stands for an empty conjunction.
        self._always = self._term(("", Span(-np.inf, np.inf)))
        for limit in limits:
            if not self._plain(limit):
                continue
            self.rows[id(limit)] = len(within)
            groups.append([self._term(t) for t in limit.when.terms] or [self._always])
            unless.append([self._term(t) for t in limit.unless.terms] if limit.unless else [])
            spec = allowed(limit)
            assert spec is not None
            within.append(-1 if limit.comparison == "never" else self._term((limit.demand, spec)))
            proof = limit.evidence.respects if limit.evidence else ()
            respects.append([self._term((r.fact, r.spec)) for r in proof] or [self._always])
        self._when, self._when_at = _flatten(groups)
        self._respects, self._respects_at = _flatten(respects)
        self._within = np.array(within, dtype=np.intp)
        self._unless = [(place, items) for place, items in enumerate(unless) if items]
        self._arrays()

    def _plain(self, limit: Limit) -> bool:
        names = [name for name, _ in limit.when.terms]
        names += [name for name, _ in limit.unless.terms] if limit.unless else []
        names += [r.fact for r in limit.evidence.respects] if limit.evidence else []
        names += [limit.demand] if limit.comparison != "never" else []
        fixed = allowed(limit) is not None and limit.comparison != "not_stated"
        dated = limit.max_age_days is not None or bool(limit.methods)
        return (
            fixed
            and not dated
            and not limit.needs_membrane
            and all(name in self.vocabulary for name in names)
        )

    def _term(self, term: Term) -> int:
        return self.terms.setdefault(term, len(self.terms))

    def _arrays(self) -> None:
        """Terms as arrays, numbers and choices apart, sorted by fact."""
        self._number_facts: list[str] = []
        self._choice_facts: list[str] = []
        numbers: list[tuple[int, int, float, float]] = []
        choices: list[tuple[int, int, int]] = []
        for (name, spec), place in self.terms.items():
            if name == "":
                continue
            if isinstance(spec, Span):
                fact = _place(self._number_facts, name)
                low = spec.low - SLACK * max(1e-6, abs(spec.low)) if np.isfinite(spec.low) else spec.low
                high = spec.high + SLACK * max(1e-6, abs(spec.high)) if np.isfinite(spec.high) else spec.high
                numbers.append((place, fact, low, high))
            else:
                choices.append((place, _place(self._choice_facts, name), spec.bits))
        self._n_at = np.array([n[0] for n in numbers], dtype=np.intp)
        self._n_fact = np.array([n[1] for n in numbers], dtype=np.intp)
        self._n_low = np.array([n[2] for n in numbers])[:, None]
        self._n_high = np.array([n[3] for n in numbers])[:, None]
        self._c_at = np.array([c[0] for c in choices], dtype=np.intp)
        self._c_fact = np.array([c[1] for c in choices], dtype=np.intp)
        self._c_bits = np.array([c[2] for c in choices], dtype=np.uint64)[:, None]

    def judge(self, frame: Frame) -> Judged:
        """Every compiled limit in every row of a fact table."""
        rows = frame.rows
        may = np.ones((len(self.terms), rows), dtype=np.bool_)
        must = np.ones((len(self.terms), rows), dtype=np.bool_)
        low, high = np.empty((len(self._number_facts), rows)), np.empty((len(self._number_facts), rows))
        for place, name in enumerate(self._number_facts):
            number = frame[name]
            assert isinstance(number, NumberColumn)
            low[place], high[place] = number.low, number.high
        bits = np.empty((len(self._choice_facts), rows), dtype=np.uint64)
        for place, name in enumerate(self._choice_facts):
            choice = frame[name]
            assert isinstance(choice, ChoiceColumn)
            bits[place] = choice.bits
        here, there = low[self._n_fact], high[self._n_fact]
        possible = (there >= self._n_low) & (here <= self._n_high)
        may[self._n_at] = possible
        must[self._n_at] = possible & (here >= self._n_low) & (there <= self._n_high)
        chosen = bits[self._c_fact]
        inside = chosen & self._c_bits
        may[self._c_at] = inside != 0
        must[self._c_at] = (inside == chosen) & (chosen != 0)
        return self._join(may, must)

    def _join(self, may: Bools, must: Bools) -> Judged:
        if not len(self._within):
            empty = np.zeros((0, may.shape[1]), dtype=np.bool_)
            return Judged(
                self, np.zeros(empty.shape, np.int8), empty, empty, empty, empty, empty, empty, may, must
            )
        a_may = np.logical_and.reduceat(may[self._when], self._when_at, axis=0)
        a_must = np.logical_and.reduceat(must[self._when], self._when_at, axis=0)
        for place, items in self._unless:
            a_may[place] &= ~must[items].all(axis=0)
            a_must[place] &= ~may[items].all(axis=0)
        w_may, w_must = may[self._within], must[self._within]
        never = self._within < 0
        w_may[never] = False
        w_must[never] = False
        v_may = np.logical_and.reduceat(may[self._respects], self._respects_at, axis=0)
        v_must = np.logical_and.reduceat(must[self._respects], self._respects_at, axis=0)
        packed = sum(
            (
                truth * np.int8(1 << bit)
                for bit, truth in enumerate((a_must, w_may, w_must, v_may, v_must), 1)
            ),
            start=a_may.astype(np.int8),
        )
        return Judged(self, STATUS[packed], a_may, a_must, w_may, w_must, v_may, v_must, may, must)


def _place(names: list[str], name: str) -> int:
    if name not in names:
        names.append(name)
    return names.index(name)


def _flatten(groups: list[list[int]]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    flat = [item for group in groups for item in group]
    starts = np.cumsum([0, *(len(group) for group in groups)])[:-1]
    return np.array(flat, dtype=np.intp), starts.astype(np.intp)


class Judged:
    """The outcome of all compiled limits over one table."""

    def __init__(
        self,
        compiled: Compiled,
        status: Codes,
        a_may: Bools,
        a_must: Bools,
        w_may: Bools,
        w_must: Bools,
        v_may: Bools,
        v_must: Bools,
        may: Bools,
        must: Bools,
    ) -> None:
        self._compiled = compiled
        self._status = status
        self._truths = (a_may, a_must, w_may, w_must, v_may, v_must)
        self._live = (status != NOT_APPLY).any(axis=1)
        self._terms = (may, must)

    def knows(self, limit: Limit) -> bool:
        """Whether a limit is among the compiled ones."""
        return id(limit) in self._compiled.rows

    def outcome(self, limit: Limit) -> Outcome | None:
        """A compiled limit's outcome; None where it applies in no row."""
        place = self._compiled.rows[id(limit)]
        if not self._live[place]:
            return None
        a_may, a_must, w_may, w_must, v_may, v_must = (truth[place] for truth in self._truths)
        return Outcome(self._status[place], Truth(a_may, a_must), Truth(w_may, w_must), Truth(v_may, v_must))

    def preload(self, frame: Frame) -> None:
        """Give the frame every term that was decided here."""
        may, must = self._terms
        frame.remember({term: (may, must, place) for term, place in self._compiled.terms.items() if term[0]})
