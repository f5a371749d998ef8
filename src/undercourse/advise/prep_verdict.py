"""What stands between a candidate and a suitable verdict, row by row of a judged table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.provided import provided
from undercourse.advise.sweeps import concerned_facts
from undercourse.base.columns import NumberColumn, pick
from undercourse.base.domains import Choices, Span
from undercourse.judge.results import (
    EXCEEDS,
    NEEDS_FACTS,
    NOT_STATED,
    NOT_VALID,
    OPEN,
    SUITABLE_IF,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

_G = 9.80665
# Stand-ins for findings: too much new weight on joists, and requirements that pull apart.
TOO_HEAVY, PULLED_APART = -1, -2
_LETTER = "framing_plan_seen"


@dataclass(frozen=True)
class Outcome:
    """One candidate in one row: the findings that block it, none where it suits."""

    judgement: Judgement
    blocking: tuple[int, ...]
    row: int
    evaluated: Evaluated
    book: Rulebook

    def facts_of(self, place: int) -> frozenset[str]:
        """The facts of a stand-in."""
        if place == TOO_HEAVY:
            return frozenset((_LETTER,))
        names: set[str] = set()
        for finding in self.judgement.findings:
            if int(pick(finding.status, self.row)) == OPEN:
                names |= set(concerned_facts(finding, self.book))
                names |= {need.fact for need in finding.requirements}
        return frozenset(names)

    @property
    def to_provide(self) -> int:
        """How many things must be made so."""
        if int(self.judgement.verdict[self.row]) != SUITABLE_IF:
            return 0
        return len(provided(self.judgement, self.evaluated, self.book, self.row))


class Look:
    """One candidate of a judged table, laid out by finding and row."""

    def __init__(self, judgement: Judgement, evaluated: Evaluated, book: Rulebook) -> None:
        self.judgement = judgement
        self._book = book
        self._evaluated = evaluated

    @cached_property
    def _blocks(self) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        rows = self._evaluated.facts.rows
        found = np.zeros((len(self.judgement.findings), rows), dtype=np.bool_)
        for place, finding in enumerate(self.judgement.findings):
            status = finding.status
            bad = (status == EXCEEDS) | (status == NOT_STATED) | (status == NOT_VALID)
            found[place] = bad | ((status == OPEN) & ~finding.settled)
        return found

    def at(self, row: int, weight_kg_m2: float) -> Outcome:
        """What blocks the candidate in one row, with this much laid on the floor before it."""
        blocking = np.flatnonzero(self._blocks[:, row]).tolist()
        verdict = int(self.judgement.verdict[row])
        if not blocking and verdict >= NEEDS_FACTS:
            blocking.append(PULLED_APART)
        if weight_kg_m2 and self._too_heavy(row, weight_kg_m2):
            blocking.append(TOO_HEAVY)
        return Outcome(self.judgement, tuple(blocking), row, self._evaluated, self._book)

    def _too_heavy(self, row: int, weight_kg_m2: float) -> bool:
        """Whether works and assembly together weigh more than a rule on new weight allows."""
        letter = self._evaluated.facts.says(_LETTER, Choices(2))
        if bool(pick(letter.must, row)):
            return False
        for finding in self.judgement.findings:
            limit = finding.limit
            if limit is None or limit.demand != "added_dead_load" or limit.comparison != "at_most":
                continue
            spec, value = limit.capacity.spec, finding.value
            if not isinstance(spec, Span) or not isinstance(value, NumberColumn):
                continue
            all_of_it = float(pick(value.high, row)) + weight_kg_m2 * _G
            if bool(pick(finding.applies.may, row)) and all_of_it > spec.high * (1 + 1e-9):
                return True
        return False
