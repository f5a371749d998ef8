"""Areas in, judged candidates out: the one path for a single area and for a million."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from undercourse.assembly.candidates import Assembler, Layer, read_proposed
from undercourse.base.columns import Columns
from undercourse.base.frame import Frame
from undercourse.base.problems import Problem
from undercourse.facts.jobs import Area, ProposedLayer, settle_facts
from undercourse.judge.judging import Judge
from undercourse.judge.results import Judgement, Site
from undercourse.judge.rulebook import Rulebook


@dataclass
class Evaluated:
    """Every area of a table judged with every candidate."""

    areas: Sequence[Area]
    facts: Frame
    site: Site
    judgements: list[Judgement]
    own: dict[int, Judgement]
    problems: dict[int, list[Problem]]
    judge: Judge

    def of_row(self, row: int) -> list[Judgement]:
        """All judgements that concern a row, the asker's own stack first."""
        first = [self.own[row]] if row in self.own else []
        return [*first, *self.judgements]


def evaluate(
    areas: Sequence[Area],
    book: Rulebook,
    date: dt.date | None,
    only: Collection[str] | None = None,
) -> Evaluated:
    """Judge every candidate in every area.

    Parameters
    ----------
    areas : sequence of Area
    only : collection of str, optional
        Membrane ids to judge; all on sale when left out.
    """
    columns, problems = settle_facts(areas, book.vocabulary, book.consistency)
    return evaluate_columns(areas, columns, problems, book, date, only)


def evaluate_columns(
    areas: Sequence[Area],
    columns: Columns,
    problems: dict[int, list[Problem]],
    book: Rulebook,
    date: dt.date | None,
    only: Collection[str] | None = None,
    rules: Rulebook | None = None,
) -> Evaluated:
    """As ``evaluate``, from an already consistent fact table.

    Parameters
    ----------
    rules : Rulebook, optional
        The part of the rulebook that is judged by, where the rest is known to be settled.
    """
    facts = Frame(columns)
    judge = Judge(rules or book, facts, areas, date)
    assembler = Assembler(book.line, book.practice, book.made_so, facts, date)
    membranes = [
        product for product in book.line.of_role("membrane", date) if only is None or product.id in only
    ]
    candidates = [assembler.with_membrane(product) for product in membranes]
    judge.prepare(candidates)
    judgements = [judge.judge(candidate) for candidate in candidates]
    own: dict[int, Judgement] = {}
    stacks: dict[tuple[ProposedLayer, ...], list[int]] = {}
    for row, area in enumerate(areas):
        if area.proposed and (only is None or "proposed" in only):
            stacks.setdefault(area.proposed, []).append(row)
    for stack, rows in stacks.items():
        layers, faults = _bind(stack, book)
        for row in rows:
            for where, what, fix in faults:
                problems.setdefault(row, []).append(Problem(where, what, fix))
        judgement = judge.judge(assembler.proposed(layers))
        own.update(dict.fromkeys(rows, judgement))
    return Evaluated(areas, facts, judge.site(), judgements, own, problems, judge)


def _bind(stack: Sequence[ProposedLayer], book: Rulebook) -> tuple[list[Layer], list[tuple[str, str, str]]]:
    return read_proposed(list(stack), book.line)
