"""Completions of an area that suit a candidate, looked for by mending what fails."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.cases import Case
from undercourse.advise.completions import draw_completions, one_row, settle_table
from undercourse.advise.evaluating import Evaluated, evaluate_columns
from undercourse.advise.sweeps import concerned_facts
from undercourse.base.columns import Bools, ChoiceColumn, Columns, Floats, NumberColumn
from undercourse.base.domains import Choices, Span, Spec
from undercourse.judge.compiled import allowed
from undercourse.judge.results import (
    EXCEEDS,
    NOT_STATED,
    NOT_VALID,
    OPEN,
    SUITABLE,
    SUITABLE_IF,
    Finding,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

# Completions judged at once, and how many of those that fail least have children.
CROWD, PARENTS = 64, 6
ROUNDS = 20


# What every call costs for each candidate beside its rows, counted in rows.
_CALL_ROWS = 600


@dataclass
class Budget:
    """Judgements left to spend: some 300 ms of them on the machine that they were counted on."""

    left: int = 30_000

    def spend(self, rows: int, candidates: int) -> bool:
        """Take the cost of judging a table; false where nothing was left before."""
        if self.left <= 0:
            return False
        self.left -= cost_of(rows, candidates)
        return True

    def affords(self, rows: int, candidates: int) -> bool:
        """Whether the cost of judging a table is left."""
        return self.left >= cost_of(rows, candidates)


def cost_of(rows: int, candidates: int) -> int:
    """What judging a table costs, in judgements."""
    return (rows + _CALL_ROWS) * candidates


class Search:
    """A crowd of completions of one area, bred towards one that suits each of several candidates."""

    def __init__(self, evaluated: Evaluated, book: Rulebook, row: int, names: Sequence[str]) -> None:
        self.evaluated, self.book, self.row = evaluated, book, row
        self.names = [name for name in names if name in book.vocabulary]
        facts = evaluated.facts.columns
        self.specs = {name: facts.spec(name, row) for name in self.names}
        self.start = one_row(facts, row, CROWD)
        self.rng = np.random.default_rng(7)
        self.spare = [self._drawn(70, True), self._drawn(71, False)]
        self.numbers, self.bits = self._values(self._drawn(7, False))

    def _drawn(self, seed: int, adversarial: bool) -> Columns:
        return draw_completions(
            self.evaluated, self.book, self.row, self.names, CROWD, seed, adversarial
        ).columns

    def _values(self, columns: Columns) -> tuple[dict[str, Floats], dict[str, NDArray[np.uint64]]]:
        numbers: dict[str, Floats] = {}
        bits: dict[str, NDArray[np.uint64]] = {}
        for name in self.names:
            column = columns[name]
            if isinstance(column, NumberColumn):
                numbers[name] = np.broadcast_to(column.low, (CROWD,)).copy()
            else:
                bits[name] = np.broadcast_to(column.bits, (CROWD,)).copy()
        return numbers, bits

    def run(self, candidates: Collection[str], budget: Budget) -> dict[str, Case]:
        """For each candidate a completion that suits, where one was found before the budget ran out."""
        found: dict[str, Case] = {}
        left = list(candidates)
        areas = [self.evaluated.areas[self.row]] * CROWD
        for _ in range(ROUNDS * len(left)):
            if not left or not budget.spend(CROWD, len(left)):
                break
            table = self.start.copy()
            for name, values in self.numbers.items():
                table[name] = NumberColumn(values, values)
            for name, chosen in self.bits.items():
                table[name] = ChoiceColumn(chosen)
            sound = settle_table(table, self.book)
            again = evaluate_columns(areas, table, {}, self.book, self.evaluated.judge.date, left)
            judged = {one.candidate.id: one for one in (*again.own.values(), *again.judgements)}
            for name in list(left):
                verdict = judged[name].verdict
                good = np.flatnonzero(((verdict == SUITABLE) | (verdict == SUITABLE_IF)) & sound)
                if len(good):
                    found[name] = {fact: table.spec(fact, int(good[0])) for fact in self.names}
                    left.remove(name)
            if left:
                # One candidate after the other is the aim, so that each has its crowd for some rounds.
                self._breed(judged[left[0]], sound)
        return found

    def _breed(self, judgement: Judgement, sound: Bools) -> None:
        """Children of the rows that fail least, with values under failing findings drawn anew."""
        rng = self.rng
        status = np.array([np.broadcast_to(finding.status, (CROWD,)) for finding in judgement.findings])
        settled = np.array([np.broadcast_to(finding.settled, (CROWD,)) for finding in judgement.findings])
        failing = (status == EXCEEDS) | (status == NOT_STATED) | (status == NOT_VALID)
        failing |= (status == OPEN) & ~settled
        count = np.where(sound, failing.sum(axis=0), 10_000)
        parents = np.argsort(count, kind="stable")[:PARENTS]
        chosen = parents[rng.integers(0, len(parents), CROWD)]
        chosen[: len(parents)] = parents
        for values in (*self.numbers.values(), *self.bits.values()):
            values[:] = values[chosen]
        for child in range(len(parents) // 2, CROWD):
            places = np.flatnonzero(failing[:, chosen[child]])
            if not len(places):
                continue
            many = int(rng.integers(1, min(len(places), 4) + 1))
            for place in rng.choice(places, many, replace=False):
                self._mend(judgement.findings[int(place)], child)

    def _mend(self, finding: Finding, child: int) -> None:
        """Give one fact behind a failing finding a value that may settle it, or any other."""
        rng = self.rng
        options = ways_to_keep(finding, self.specs)
        if options and rng.random() < 0.8:
            name, spec = options[int(rng.integers(len(options)))]
            if isinstance(spec, Span):
                share = rng.choice([0.0, 1.0, rng.random()])
                self.numbers[name][child] = spec.low + (spec.high - spec.low) * share
            else:
                places = [p for p in range(spec.bits.bit_length()) if spec.bits >> p & 1]
                self.bits[name][child] = np.uint64(1 << int(rng.choice(places)))
            return
        reads = [name for name in concerned_facts(finding, self.book) if name in self.specs]
        if not reads:
            return
        name = reads[int(rng.integers(len(reads)))]
        column = self.spare[int(rng.integers(2))][name]
        source = int(rng.integers(CROWD))
        if isinstance(column, NumberColumn):
            self.numbers[name][child] = np.broadcast_to(column.low, (CROWD,))[source]
        else:
            self.bits[name][child] = np.broadcast_to(column.bits, (CROWD,))[source]


def ways_to_keep(finding: Finding, specs: Mapping[str, Spec]) -> list[tuple[str, Spec]]:
    """Facts and values, of those that are open, with which a limit would be kept or would not apply."""
    limit = finding.limit
    if limit is None:
        return []
    found: list[tuple[str, Spec]] = []
    wanted = allowed(limit)
    if limit.demand in specs and wanted is not None:
        found += _meet(limit.demand, specs[limit.demand], wanted)
    for name, spec in limit.when.terms:
        if name in specs:
            found += _outside(name, specs[name], spec)
    return found


def _meet(name: str, now: Spec, wanted: Spec) -> list[tuple[str, Spec]]:
    if isinstance(now, Choices) and isinstance(wanted, Choices):
        bits = now.bits & wanted.bits
        return [(name, Choices(bits))] if bits else []
    if isinstance(now, Span) and isinstance(wanted, Span):
        low, high = max(now.low, wanted.low), min(now.high, wanted.high)
        return [(name, Span(low, high))] if low <= high else []
    return []


def _outside(name: str, now: Spec, spec: Spec) -> list[tuple[str, Spec]]:
    if isinstance(now, Choices) and isinstance(spec, Choices):
        bits = now.bits & ~spec.bits
        return [(name, Choices(bits))] if bits else []
    found: list[tuple[str, Spec]] = []
    if isinstance(now, Span) and isinstance(spec, Span):
        if now.low < spec.low:
            found.append((name, Span(now.low, spec.low - 1e-6 * max(1.0, abs(spec.low)))))
        if now.high > spec.high:
            found.append((name, Span(spec.high + 1e-6 * max(1.0, abs(spec.high)), now.high)))
    return [(name, span) for name, span in found if isinstance(span, Span) and span.low <= span.high]
