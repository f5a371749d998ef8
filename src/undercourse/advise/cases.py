"""Cases of one area: some of its facts narrowed, the rest as it stands, judged together."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.completions import one_row, settle_table
from undercourse.advise.evaluating import Evaluated, evaluate_columns
from undercourse.base.columns import Bools, ChoiceColumn, Columns, NumberColumn
from undercourse.base.domains import Choices, Span, Spec
from undercourse.judge.remaining import remaining_rules
from undercourse.judge.results import NEEDS_RULING, SUITABLE_IF, Judgement
from undercourse.judge.rulebook import Rulebook

Case = Mapping[str, Spec]
Kind = TypeVar("Kind", bound=np.generic)


@dataclass(frozen=True)
class JudgedCases:
    """One row a case; ``sound`` marks those that do not contradict themselves."""

    table: Evaluated
    judgements: Mapping[str, Judgement]
    sound: Bools
    start: int = 0

    def codes(self, candidate: str) -> NDArray[np.int8]:
        """The verdict of a candidate in every case. [cases,]"""
        return self.own(self.judgements[candidate].verdict)

    def own(self, array: NDArray[Kind]) -> NDArray[Kind]:
        """The cases' rows of an array of the table's; one of length 1 holds in every row. [cases,]"""
        rows = self.table.facts.rows
        whole = array if len(array) == rows else np.broadcast_to(array, (rows,))
        return whole[self.start : self.start + len(self.sound)]

    def suits(self, candidate: str) -> Bools:
        """The cases in which a candidate suits, whatever else turns out. [cases,]"""
        return np.asarray((self.codes(candidate) <= SUITABLE_IF) & self.sound)

    def out(self, candidate: str) -> Bools:
        """The cases in which a candidate cannot suit, or which cannot be. [cases,]"""
        return np.asarray((self.codes(candidate) >= NEEDS_RULING) | ~self.sound)

    def spec(self, name: str, case: int) -> Spec:
        """What a case leaves of a fact."""
        return self.table.facts.columns.spec(name, self.start + case)

    def part(self, start: int, count: int) -> JudgedCases:
        """Some of the cases, in a row."""
        found = self.sound[start : start + count]
        return JudgedCases(self.table, self.judgements, found, self.start + start)


class CaseJudge:
    """Judges cases of one row of a table, by the ``rules`` that are open there for some candidates.

    Every candidate that cases are judged for must be among ``judgements`` and be undecided in the row.
    """

    def __init__(
        self, evaluated: Evaluated, book: Rulebook, row: int, judgements: Collection[Judgement]
    ) -> None:
        self.evaluated, self.book, self.row = evaluated, book, row
        self.rules = remaining_rules(book, evaluated.facts, judgements, row)

    def settle(self, cases: Sequence[Case]) -> tuple[Columns, Bools]:
        """The row in every case, consistent, and which cases do not contradict themselves."""
        table = lay_cases(self.evaluated.facts.columns, self.row, cases)
        return table, settle_table(table, self.rules)

    def judge(self, cases: Sequence[Case], only: Collection[str]) -> JudgedCases:
        """Judge the row in every case, for the candidates named in ``only``."""
        table, sound = self.settle(cases)
        areas = [self.evaluated.areas[self.row]] * len(cases)
        date = self.evaluated.judge.date
        again = evaluate_columns(areas, table, {}, self.book, date, only, self.rules)
        return JudgedCases(again, {one.candidate.id: one for one in all_judgements(again)}, sound)


def all_judgements(again: Evaluated) -> list[Judgement]:
    """Every candidate of a table once, the asker's own stack first."""
    own = list({id(one): one for one in again.own.values()}.values())
    return [*own, *again.judgements]


def lay_cases(facts: Columns, row: int, cases: Sequence[Case]) -> Columns:
    """A table of one row of facts, narrowed in each row as its case says."""
    table = one_row(facts, row, len(cases))
    for name in dict.fromkeys(name for case in cases for name in case):
        whole = facts.spec(name, row)
        specs = [case.get(name, whole) for case in cases]
        if isinstance(whole, Span):
            low = np.array([spec.low for spec in specs if isinstance(spec, Span)])
            high = np.array([spec.high for spec in specs if isinstance(spec, Span)])
            table[name] = NumberColumn(low, high)
        else:
            bits: NDArray[np.uint64] = np.array(
                [spec.bits for spec in specs if isinstance(spec, Choices)], dtype=np.uint64
            )
            table[name] = ChoiceColumn(bits)
    return table
