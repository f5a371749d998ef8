"""Several searches over one area, taken forward together: what they ask for in a round is judged at once."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import NamedTuple

from undercourse.advise.cases import Case, CaseJudge, JudgedCases
from undercourse.advise.witnesses import Budget


class Ask(NamedTuple):
    """Cases that a search wants judged next, and for which candidates."""

    cases: Sequence[Case]
    candidates: Sequence[str]


# A search asks, is sent its own cases judged, and keeps what it finds; it may be ended after any round.
Steps = Generator[Ask, JudgedCases, None]


def run_together(judge: CaseJudge, budget: Budget, searches: Sequence[Steps]) -> None:
    """Take searches forward round by round until all have ended or nothing is left to spend.

    Searches come in the order of their importance: where not all can go on, the last is ended.
    """
    asked: list[tuple[Steps, Ask]] = []
    for one in searches:
        _take(asked, one, None)
    while asked:
        cases = [case for _, ask in asked for case in ask.cases]
        names = sorted({name for _, ask in asked for name in ask.candidates})
        if not budget.affords(len(cases), len(names)):
            last, _ = asked.pop()
            last.close()
            continue
        budget.spend(len(cases), len(names))
        judged = judge.judge(cases, names)
        again: list[tuple[Steps, Ask]] = []
        start = 0
        for one, ask in asked:
            _take(again, one, judged.part(start, len(ask.cases)))
            start += len(ask.cases)
        asked = again


def _take(asked: list[tuple[Steps, Ask]], one: Steps, judged: JudgedCases | None) -> None:
    """Send a search what it asked for, and keep what it asks next."""
    try:
        asked.append((one, next(one) if judged is None else one.send(judged)))
    except StopIteration:
        return
