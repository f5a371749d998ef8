"""What cannot be true together: rows that prune half-known facts and name contradictions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from undercourse.base.columns import (
    SURE,
    Bools,
    ChoiceColumn,
    Columns,
    NumberColumn,
    Truth,
    is_empty,
    lies_in,
    pick,
)
from undercourse.base.domains import Choices, Span, Spec, read_spec
from undercourse.base.problems import Problem, Problems
from undercourse.facts.layers import derive_layer_facts
from undercourse.facts.vocabulary import Vocabulary


@dataclass(frozen=True)
class Implies:
    """Where every ``when`` holds, every ``then`` must."""

    id: str
    when: Mapping[str, Spec]
    then: Mapping[str, Spec]
    because: str
    basis: str


@dataclass(frozen=True)
class AtMostFact:
    """A number that another number cannot be below."""

    id: str
    fact: str
    other: str
    because: str
    basis: str


@dataclass(frozen=True)
class Consistency:
    """All rows."""

    implies: tuple[Implies, ...]
    at_most: tuple[AtMostFact, ...]

    @cached_property
    def naming(self) -> Mapping[str, tuple[tuple[Implies, ...], tuple[AtMostFact, ...]]]:
        """By fact the rows that name it."""
        names = {name for row in self.implies for name in (*row.when, *row.then)}
        names |= {name for bound in self.at_most for name in (bound.fact, bound.other)}
        return {
            name: (
                tuple(row for row in self.implies if name in row.when or name in row.then),
                tuple(bound for bound in self.at_most if name in (bound.fact, bound.other)),
            )
            for name in names
        }


@dataclass(frozen=True)
class Contradiction:
    """Rows of a table in which two facts cannot both be true."""

    rule: str
    because: str
    facts: tuple[str, ...]
    rows: Bools


def read_consistency(data: Mapping[str, Any], vocabulary: Vocabulary, where: str) -> Consistency:
    """Build the rows from their file; raises Problems with every fault."""
    problems: list[Problem] = []

    def specs(row: Mapping[str, Any], key: str) -> dict[str, Spec]:
        return {name: read_spec(vocabulary.domains[name], raw) for name, raw in row[key].items()}

    implies, bounds = [], []
    for row in data.get("implies", []):
        try:
            implies.append(
                Implies(row["id"], specs(row, "when"), specs(row, "then"), row["because"], row["basis"])
            )
        except (KeyError, ValueError) as error:
            problems.append(Problem(f"{where}: {row.get('id')}", f"faulty row: {error}", "mend the row"))
    for row in data.get("at_most_fact", []):
        if row["fact"] in vocabulary and row["other"] in vocabulary:
            bounds.append(AtMostFact(row["id"], row["fact"], row["other"], row["because"], row["basis"]))
        else:
            problems.append(Problem(f"{where}: {row['id']}", "names no fact", "mend the names"))
    if problems:
        raise Problems(problems)
    return Consistency(tuple(implies), tuple(bounds))


def make_consistent(columns: Columns, consistency: Consistency) -> list[Contradiction]:
    """Prune what cannot be, in place, until nothing changes.

    Returns
    -------
    list of Contradiction
        Facts that leave no possible floor, with the rows [rows,] concerned.
    """
    told = _Told(columns.rows)
    for name, rows in derive_layer_facts(columns).items():
        told.note(
            f"layers: {name}", "the listed layers amount to something else", (name, "layer_1_kind"), rows
        )
    for _ in range(_MOST_ROUNDS):
        changed = False
        for row in consistency.implies:
            changed |= _apply(columns, row, told)
        for bound in consistency.at_most:
            changed |= _bound(columns, bound, told)
        told.end_round()
        if not changed:
            break
    return told.contradictions()


def narrow_by_rows(columns: Columns, consistency: Consistency, name: str) -> None:
    """Prune one fact by every row that names it, once and in place; contradictions are not told."""
    told = _Told(columns.rows)
    implies, bounds = consistency.naming.get(name, ((), ()))
    for row in implies:
        _apply(columns, row, told)
    for bound in bounds:
        _bound(columns, bound, told)


def remaining_rows(consistency: Consistency, columns: Columns, row: int) -> Consistency:
    """The rows that may still prune one row of a consistent table, once more of its facts are known."""

    def may_prune(one: Implies) -> bool:
        whens = [lies_in(columns[name], spec) for name, spec in one.when.items()]
        thens = [lies_in(columns[name], spec) for name, spec in one.then.items()]
        possible = all(bool(pick(truth.may, row)) for truth in whens)
        return possible and not all(bool(pick(truth.must, row)) for truth in thens)

    def may_bound(one: AtMostFact) -> bool:
        small, large = columns.number(one.fact), columns.number(one.other)
        return float(pick(small.high, row)) > float(pick(large.low, row))

    implies = tuple(one for one in consistency.implies if may_prune(one))
    return Consistency(implies, tuple(one for one in consistency.at_most if may_bound(one)))


# Consequences of consequences: the longest chain of rows is far shorter.
_MOST_ROUNDS = 24


class _Told:
    """Contradictions found so far, each row of the table by itself.

    A row that contradicts itself is finished at the end of its round, as if it stood alone: what would
    follow from it says nothing, and its neighbors go on.
    """

    def __init__(self, rows: int) -> None:
        self.rows = rows
        self.alive: Bools = np.ones(rows, dtype=np.bool_)
        self._by_rule: dict[str, Bools] = {}
        self._found: dict[tuple[str, tuple[str, ...]], tuple[str, Bools]] = {}

    def note(self, rule: str, because: str, facts: tuple[str, ...], rows: Bools) -> None:
        """Keep the first contradiction of each rule in each row."""
        if not rows.any():
            return
        before = self._by_rule.get(rule, np.zeros(self.rows, dtype=np.bool_))
        new = rows & self.alive & ~before
        if not new.any():
            return
        self._by_rule[rule] = before | new
        _, known = self._found.get((rule, facts), ("", np.zeros(self.rows, dtype=np.bool_)))
        self._found[rule, facts] = (because, known | new)

    def end_round(self) -> None:
        """Finish the rows in which something was found."""
        for rows in self._by_rule.values():
            self.alive = self.alive & ~rows

    def contradictions(self) -> list[Contradiction]:
        """One entry a rule and its facts, in the order found."""
        return [
            Contradiction(rule, because, facts, rows)
            for (rule, facts), (because, rows) in self._found.items()
        ]


def _apply(columns: Columns, row: Implies, told: _Told) -> bool:
    known = any(name in columns for name in row.when)
    if not known and (len(row.when) > 1 or not any(name in columns for name in row.then)):
        return False
    changed = False
    truth: Truth = SURE
    for name, spec in row.when.items():
        truth = truth & lies_in(columns[name], spec)
        if not truth.may.any():
            return False
    if truth.must.any():
        for name, spec in row.then.items():
            changed |= _narrow(columns, name, spec, truth.must & told.alive)
            told.note(row.id, row.because, (*row.when, name), is_empty(columns[name]) & truth.must)
    if len(row.when) == 1:
        changed |= _contrapositive(columns, row, told)
    return changed


def _contrapositive(columns: Columns, row: Implies, told: _Told) -> bool:
    """Where a consequence is surely false, the one condition must be false too."""
    ((name, spec),) = row.when.items()
    if not isinstance(spec, Choices) or not any(fact in columns for fact in row.then):
        return False
    fails = np.array([False])
    for fact, wanted in row.then.items():
        fails = fails | ~lies_in(columns[fact], wanted).may
    if not fails.any():
        return False
    everything = columns.domains[name].everything
    assert isinstance(everything, Choices)
    rest = Choices(everything.bits & ~spec.bits)
    leaves = lies_in(columns[name], rest).may
    return _narrow(columns, name, rest, fails & leaves & told.alive)


def _narrow(columns: Columns, name: str, spec: Spec, where: Bools) -> bool:
    column = columns[name]
    if isinstance(column, NumberColumn):
        assert isinstance(spec, Span)
        low = np.where(where, np.maximum(column.low, spec.low), column.low)
        high = np.where(where, np.minimum(column.high, spec.high), column.high)
        if np.array_equal(low, np.broadcast_to(column.low, low.shape)) and np.array_equal(
            high, np.broadcast_to(column.high, high.shape)
        ):
            return False
        columns[name] = NumberColumn(low, high)
        return True
    assert isinstance(spec, Choices)
    bits = np.where(where, column.bits & np.uint64(spec.bits), column.bits)
    if np.array_equal(bits, np.broadcast_to(column.bits, bits.shape)):
        return False
    columns[name] = ChoiceColumn(bits)
    return True


def _bound(columns: Columns, row: AtMostFact, told: _Told) -> bool:
    if row.fact not in columns and row.other not in columns:
        return False
    small, large = columns.number(row.fact), columns.number(row.other)
    changed = False
    if ((small.high > large.high) & told.alive).any():
        high = np.where(told.alive, np.minimum(small.high, large.high), small.high)
        columns[row.fact] = NumberColumn(small.low, high)
        changed = True
    if ((large.low < small.low) & told.alive).any():
        low = np.where(told.alive, np.maximum(large.low, small.low), large.low)
        columns[row.other] = NumberColumn(low, large.high)
        changed = True
    if changed:
        empty = is_empty(columns[row.fact]) | is_empty(columns[row.other])
        told.note(row.id, row.because, (row.fact, row.other), empty)
    return changed
