"""The order of asking: the author's own first, likely site stops, what closes most, the rest."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cached_property
from typing import NamedTuple

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.exact import kind_of, prove
from undercourse.advise.narrowing import (
    Gain,
    deciding_facts,
    left_open,
    prospect,
    rank_questions,
    undecided,
)
from undercourse.advise.sentences import series
from undercourse.advise.site_questions import site_facts
from undercourse.advise.sweeps import is_open, open_facts
from undercourse.advise.together import asked_with, may_be_asked, stand_in
from undercourse.advise.why import name_of
from undercourse.advise.witnesses import Budget
from undercourse.base.columns import pick
from undercourse.judge.results import STOP
from undercourse.judge.rulebook import Rulebook

# A proof is tried where no more facts than these are open, with a part of what an answer may spend.
MOST_PROVED = 16
PROOF_BUDGET = 8_000


class Next(NamedTuple):
    """One question: the fact that leads it, why it is asked, and all the facts that it asks for.

    ``pressing`` marks what the author of line or rules wants asked, and what may well stop the work.
    """

    fact: str
    why: str
    about_site: bool
    facts: tuple[str, ...]
    pressing: bool = False


def close_proven(evaluated: Evaluated, book: Rulebook, row: int) -> None:
    """Close verdicts that limits leave open and that no completion can change, where that is cheap.

    Nothing is tried while plausible completions differ, or while many facts are open.
    """
    waiting = undecided(evaluated, row)
    if not waiting or len(deciding_facts(waiting.values(), evaluated, book, row)) > MOST_PROVED:
        return
    seen = prospect(evaluated, book, row)
    budget = Budget(PROOF_BUDGET)
    for name, judgement in waiting.items():
        kinds = {kind_of(int(code)) for code in seen.verdicts[name][seen.drawn.sound]} - {""}
        if len(kinds) == 1:
            proof = prove(evaluated, book, row, name, budget)
            if proof.exact:
                judgement.verdict[row] = proof.verdict


def ordered_facts(
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
    apart: Collection[str] = (),
    first_only: bool = False,
    to_the_end: bool = False,
) -> list[Next]:
    """What to ask, in order.

    First what the author of the line or the rules wants asked first; then facts that clear a site stop on
    one visit, where such a stop is not unlikely; then what closes most verdicts for its effort; then what
    may still change one together with others; then the unlikely stops, which are asked before a floor is
    called ready; last the tests that a stop waits for. Empty once nothing more can change a verdict, and
    on a site that is surely stopped: there somebody else decides first.

    Parameters
    ----------
    apart : collection of str
        Facts that are not asked for again. What matters only together with one of them that is still open
        is left out too.
    first_only : bool, optional
        Stop at the first question; the rest may be missing.
    to_the_end : bool, optional
        Ask for that too: whatever is open.
    """
    if int(pick(evaluated.site.status, row)) == STOP:
        return []
    order = _Order(evaluated, book, row, apart)
    sites = [one for one in site_facts(evaluated, book, row) if one.name not in apart]
    likely = [one for one in sites if one.comes_first]
    if sites or undecided(evaluated, row):
        for rule in (*book.line.ask_first, *book.practice.ask_first):
            if all(bool(pick(evaluated.facts.says(*term).must, row)) for term in rule.when.terms):
                order.add(rule.fact, f"It is to be asked first here: {rule.because}", False, pressing=True)
    for one in likely:
        order.add(one.name, _site_reason(one.reasons), True, pressing=True)
    if order.found and first_only:
        return order.found[:1]
    for gain in rank_questions(evaluated, book, row, apart):
        order.add(gain.fact, narrowing_reason(gain, evaluated, row), False, gain.asked)
        if first_only and order.found:
            return order.found
    if undecided(evaluated, row):
        counts = open_facts(
            evaluated, book, row, None if to_the_end else in_play(evaluated, book, row, apart)
        )
        for name in sorted(counts, key=lambda name: (-counts[name], name)):
            order.add(name, "Together with other facts the reply can change a verdict.", False)
    for spot in (True, False):
        for one in sites:
            if one.on_the_spot == spot:
                order.add(one.name, _site_reason(one.reasons), True)
    return order.found


def in_play(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]) -> set[str]:
    """The sheets that can still come to suit while some facts stay open; all where none does."""
    waiting = set(undecided(evaluated, row))
    settled = {one.candidate.id for one in evaluated.of_row(row)} - waiting
    if not left_open(evaluated, book, row, apart):
        return settled | waiting
    seen = prospect(evaluated, book, row, apart)
    sound = seen.drawn.sound
    return settled | {
        name
        for name in waiting & set(seen.verdicts)
        if any(kind_of(int(code)) == "suits" for code in seen.verdicts[name][sound])
    }


def may_suit(evaluated: Evaluated, row: int) -> bool:
    """Whether any candidate suits, or may still."""
    return any(kind_of(int(one.verdict[row])) in ("suits", "") for one in evaluated.of_row(row))


class _Order:
    """Questions in order, each open fact in one of them."""

    def __init__(self, evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]) -> None:
        self.evaluated, self.book, self.row, self.apart = evaluated, book, row, apart
        self.found: list[Next] = []
        self._asked: set[str] = set()
        self._together = may_be_asked(evaluated, book, row, apart)

    @cached_property
    def matter(self) -> set[str]:
        """The facts on which a verdict or a stop turns."""
        waiting = undecided(self.evaluated, self.row).values()
        stops = site_facts(self.evaluated, self.book, self.row)
        return {one.name for one in stops} | set(deciding_facts(waiting, self.evaluated, self.book, self.row))

    def add(
        self, fact: str, why: str, about_site: bool, asked: tuple[str, ...] = (), pressing: bool = False
    ) -> None:
        """Put a fact last, with those that are asked for with it, unless it is there already."""
        if fact in self.apart:
            return
        lead = stand_in(self.evaluated, self.book, self.row, fact, self.apart)
        if lead is None or lead in self._asked or not is_open(self.evaluated.facts[lead], self.row):
            return
        facts = asked or asked_with(lead, self.matter, self._together, self.book)
        facts = tuple(name for name in facts if name not in self._asked)
        self._asked |= set(facts)
        self.found.append(Next(lead, why, about_site, facts, pressing))


def narrowing_reason(one: Gain, evaluated: Evaluated, row: int) -> str:
    """Why a fact is asked now."""
    names = [name_of(j) for j in evaluated.of_row(row) if j.candidate.id in one.settles]
    if not names:
        return "Together with other facts the reply can change a verdict."
    return f"Of all that is open it is likeliest, for its effort, to settle {series(names, most=3)}."


def _site_reason(reasons: Sequence[str]) -> str:
    more = len(reasons) - 1
    if not more:
        return f"It can clear a site stop: {reasons[0]}"
    return f"It can clear {more + 1} site stops; the first: {reasons[0]}"
