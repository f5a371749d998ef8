"""When asking is left off: once what may still be told would rarely change the answer.

What was put off stays open, and so does what means something only with it. On a floor whose answer hangs
on that, the questions left can but rule sheets out early. How often they would is estimated on the same
plausible floors that order the questions, and on how many questions could be answered so far.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from undercourse.advise.completions import Completions, one_row, settle_table
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.narrowing import Prospect, left_open, prospect, rank_questions, undecided
from undercourse.advise.question_order import Next, ordered_facts
from undercourse.advise.together import together_of
from undercourse.base.columns import Bools, ChoiceColumn, Columns, NumberColumn
from undercourse.judge.results import NEEDS_FACTS, SUITABLE, SUITABLE_IF
from undercourse.judge.rulebook import Rulebook

# Asking is left off where the questions left change a verdict in fewer plausible cases than this,
RARELY = 0.1
# and where in no more than these any sheet still open comes to suit while what was put off stays open.
HARDLY_ANY = 0.01


@dataclass(frozen=True)
class Outlook:
    """What further replies may do: shares of plausible cases.

    ``changes``: a verdict is closed, if as many questions can be answered as until now. ``suits``: a sheet
    still open comes to suit, if every question left is answered.
    """

    changes: float
    suits: float

    @property
    def rare(self) -> bool:
        """Whether asking on would rarely change the answer."""
        return self.changes < RARELY and self.suits <= HARDLY_ANY


def known_share(answered: int, asked: int) -> float:
    """The chance that the next question can be answered, after so many were.

    Laplace's rule of succession: (s + 1) / (n + 2) after s successes in n trials.
    """
    return (answered + 1) / (asked + 2)


def outlook(
    evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str], known: float
) -> Outlook | None:
    """What may still come of asking; None where nothing was put off or nothing is open.

    Parameters
    ----------
    apart : collection of str
        Facts that are not asked for again; those still open were put off, or told as a range.
    known : float
        The chance that a question can be answered, 0 to 1.
    """
    waiting = undecided(evaluated, row)
    if not waiting or not left_open(evaluated, book, row, apart):
        return None
    seen = prospect(evaluated, book, row, apart)
    sound = seen.drawn.sound
    codes = np.array([seen.verdicts[name][sound] for name in waiting if name in seen.verdicts])
    if not codes.size:
        return Outlook(0.0, 0.0)
    suits = float(((codes == SUITABLE) | (codes == SUITABLE_IF)).any(axis=0).mean())
    changes = float((codes != NEEDS_FACTS).any(axis=0).mean())
    if suits <= HARDLY_ANY and changes >= RARELY:
        changes = _with_gaps(seen, evaluated, book, row, known)
    return Outlook(changes, suits)


def _with_gaps(seen: Prospect, evaluated: Evaluated, book: Rulebook, row: int, known: float) -> float:
    """The share of plausible cases that close a verdict where each question is answered by chance only."""
    drawn = seen.drawn
    rows = drawn.columns.rows
    rng = np.random.default_rng(2)
    answered: dict[str, Bools] = {}
    told: dict[str, Bools] = {}
    for name in seen.drawn.names:
        several = together_of(name)
        question = several.id if several is not None else name
        if question not in answered:
            answered[question] = rng.random(rows) < known
        told[name] = answered[question]
    table = one_row(evaluated.facts.columns, row, rows)
    for name in told:
        _fill(table, drawn.columns, name, _means(name, told, book))
    sound = settle_table(table, book) & drawn.sound
    if not sound.any():
        return 0.0
    waiting = list(undecided(evaluated, row))
    again = Completions(table, (), sound).judge(evaluated, book, row, waiting)
    codes = [np.broadcast_to(one.verdict, (rows,))[sound] for one in again.of_row(0)]
    return float((np.array(codes) != NEEDS_FACTS).any(axis=0).mean())


def _means(name: str, told: dict[str, Bools], book: Rulebook) -> Bools:
    """Where a fact is told, and all that it hangs on."""
    rows = told[name]
    for leader, _ in book.vocabulary[name].asked_where:
        if leader in told:
            rows = rows & told[leader]
    return rows


def _fill(table: Columns, drawn: Columns, name: str, rows: Bools) -> None:
    """Take a fact from the plausible cases in some rows; in the others it stays open."""
    column, now = drawn[name], table[name]
    if isinstance(column, ChoiceColumn) and isinstance(now, ChoiceColumn):
        table[name] = ChoiceColumn(np.where(rows, column.bits, now.bits))
    elif isinstance(column, NumberColumn) and isinstance(now, NumberColumn):
        table[name] = NumberColumn(np.where(rows, column.low, now.low), np.where(rows, column.high, now.high))


def still_to_send(
    evaluated: Evaluated, book: Rulebook, row: int, replied: Collection[str], put_off: Collection[str]
) -> list[Next]:
    """The questions that were put off and on which the answer hangs, most telling first.

    What may well stop the work comes first, as in asking; then what a reply is expected to narrow, however
    hard it is to find out.
    """
    order = [one for one in ordered_facts(evaluated, book, row, replied) if set(one.facts) & set(put_off)]
    tells: dict[str, float] = {}
    for gain in rank_questions(evaluated, book, row, replied):
        for name in gain.asked:
            tells[name] = gain.tells
    order.sort(key=lambda one: (not one.pressing, -max(tells.get(name, 0.0) for name in one.facts)))
    return order
