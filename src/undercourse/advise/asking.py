"""Asking one fact after another: what to ask, why, what each reply leads to, and when to end."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from undercourse.advise.answers import area_document
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.findings import clip, show_text
from undercourse.advise.losing import describe
from undercourse.advise.narrowing import Gain, rank_questions
from undercourse.advise.site_questions import site_facts
from undercourse.advise.sweeps import Sweep, open_facts, sweep
from undercourse.advise.why import name_of
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Span, Spec
from undercourse.base.problems import Problem
from undercourse.facts.jobs import Area, Reading, read_reading
from undercourse.judge.results import NEEDS_FACTS, SITE_OPEN, SITE_WORDS, STOP, VERDICT_WORDS
from undercourse.judge.rulebook import Rulebook

MOST_OUTCOMES = 4
_YES_NO = {"y": "yes", "n": "no"}
_SAID = ("suitable", "suitable, provided …", "in need of facts", "not stated by the maker", "not suitable")


@dataclass(frozen=True)
class Question:
    """One fact to ask: why, how to find it out, and what its replies lead to."""

    fact: str
    label: str
    question: str
    why: str
    find: str
    effort: str
    leads_to: tuple[str, ...]
    choices: tuple[str, ...]
    unit: str
    about_site: bool


@dataclass(frozen=True)
class Outcome:
    """What a reply did: problems (and nothing else), or the new verdict sentence and what changed."""

    problems: tuple[Problem, ...]
    headline: str = ""
    changes: tuple[str, ...] = ()
    skipped: bool = False


@dataclass(frozen=True)
class Reply:
    """One step of a session; no reading where the fact was put off."""

    fact: str
    reading: Reading | None


def ordered_facts(
    evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str] = (), first_only: bool = False
) -> list[tuple[str, str, bool]]:
    """What to ask, in order: (fact, why, whether it is about the site itself).

    Facts that clear a site stop on one visit come first where such a stop is not unlikely; then what
    narrows the verdicts most for its effort; then what may still change one together with others; then
    the unlikely stops, which are asked before a floor is called ready; last the tests that a stop waits
    for. Empty once nothing more can change a verdict, and on a site that is surely stopped: there somebody
    else decides first.
    """
    if int(pick(evaluated.site.status, row)) == STOP:
        return []
    found: dict[str, tuple[str, bool]] = {}
    unlikely: dict[str, tuple[str, bool]] = {}
    late: dict[str, tuple[str, bool]] = {}
    for fact in site_facts(evaluated, book, row):
        if fact.name in apart:
            continue
        place = found if fact.comes_first else unlikely if fact.on_the_spot else late
        place[fact.name] = (_site_reason(fact.reasons), True)
    if found and first_only:
        name, (why, about) = next(iter(found.items()))
        return [(name, why, about)]
    counts = {name: n for name, n in open_facts(evaluated, book, row).items() if name not in apart}
    names = sorted(counts, key=lambda name: (-counts[name], name))
    for one in rank_questions(evaluated, book, row, apart):
        found.setdefault(one.fact, (narrowing_reason(one, evaluated, row), False))
    if any(int(judgement.verdict[row]) == NEEDS_FACTS for judgement in evaluated.of_row(row)):
        for name in names:
            why = "Together with other facts the reply can change a verdict."
            found.setdefault(name, (why, False))
    for name, reason in (*unlikely.items(), *late.items()):
        found.setdefault(name, reason)
    return [(name, why, about) for name, (why, about) in found.items()]


def narrowing_reason(one: Gain, evaluated: Evaluated, row: int) -> str:
    """Why a fact is asked now."""
    names = [name_of(j) for j in evaluated.of_row(row) if j.candidate.id in one.settles]
    if not names:
        return "Together with other facts the reply can change a verdict."
    shown = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
    return f"Of all that is open it tells most, for its effort, about {shown}."


def _site_reason(reasons: Sequence[str]) -> str:
    more = len(reasons) - 1
    if not more:
        return f"It can clear a site stop: {reasons[0]}"
    return f"It can clear {more + 1} site stops; the first: {reasons[0]}"


def make_question(
    evaluated: Evaluated, book: Rulebook, row: int, name: str, why: str, site: bool
) -> Question:
    """The question for one fact, with what its replies lead to."""
    fact = book.vocabulary[name]
    now = evaluated.facts.columns.spec(name, row)
    leads = _stops_on(evaluated, book, row, name) if site else []
    for one in sweep(evaluated, book, row, [name]):
        leads += _verdicts_on(one, evaluated, book, row)
    choices = tuple(fact.domain.names(now.bits)) if isinstance(now, Choices) else ()
    unit = fact.domain.unit.symbol if fact.domain.unit is not None else ""
    return Question(
        name, fact.label, fact.question, why, fact.find, fact.effort, tuple(leads), choices, unit, site
    )


def _stops_on(evaluated: Evaluated, book: Rulebook, row: int, name: str) -> list[str]:
    """With which values a stop stays possible or becomes sure, and who decides then."""
    found: dict[str, str] = {}
    domain = book.vocabulary.domains[name]
    now = evaluated.facts.columns.spec(name, row)
    for rule, truth in evaluated.site.stops:
        if not bool(pick(truth.may, row)) or bool(pick(truth.must, row)):
            continue
        for term, spec in rule.when.terms:
            if term != name or bool(pick(evaluated.facts.says(term, spec).must, row)):
                continue
            if isinstance(now, Choices) and isinstance(spec, Choices):
                text = " or ".join(domain.names(now.bits & spec.bits))
            else:
                text = describe_span(book, name, spec)
            found.setdefault(text, f"{text}: may stop the work; decides: {rule.who_decides}")
    return list(found.values())[: MOST_OUTCOMES // 2]


def describe_span(book: Rulebook, name: str, spec: Spec) -> str:
    """A set of values of a fact in words."""
    domain = book.vocabulary.domains[name]
    return show_text(domain, clip(domain, spec))


def _verdicts_on(one: Sweep, evaluated: Evaluated, book: Rulebook, row: int) -> list[str]:
    """Per group of values with the same consequences, which verdicts change and to what."""
    judged = {judgement.candidate.id: judgement for judgement in evaluated.of_row(row)}
    groups: dict[tuple[tuple[str, int], ...], list[Spec]] = {}
    for place, value in enumerate(one.values):
        changed = tuple(
            (name, codes[place])
            for name, codes in one.verdicts.items()
            if name in judged and codes[place] != int(judged[name].verdict[row])
        )
        groups.setdefault(changed, []).append(value)
    domain = book.vocabulary.domains[one.fact]
    lines = []
    for changed, values in groups.items():
        if not changed:
            continue
        parts = []
        for code in sorted({code for _, code in changed}):
            names = [name_of(judged[name]) for name, new in changed if new == code]
            shown = ", ".join(names[:2]) + (f" and {len(names) - 2} more" if len(names) > 2 else "")
            parts.append(f"{shown} {'is' if len(names) == 1 else 'are'} then {_SAID[code]}")
        lines.append(f"{describe(domain, one.values, values)}: {'; '.join(parts)}")
    more = len(lines) - MOST_OUTCOMES
    return lines if more <= 0 else [*lines[:MOST_OUTCOMES], f"and {more} more outcomes"]


@dataclass
class Session:
    """One area asked about, fact by fact; every step can be taken back."""

    area: Area
    book: Rulebook
    date: dt.date | None
    replies: list[Reply] = field(default_factory=list)
    _evaluated: Evaluated | None = None

    @property
    def evaluated(self) -> Evaluated:
        """The area judged on what is known now."""
        if self._evaluated is None:
            self._evaluated = evaluate([self.now()], self.book, self.date)
        return self._evaluated

    def now(self) -> Area:
        """The area with what was replied."""
        said = {reply.fact: reply.reading for reply in self.replies if reply.reading is not None}
        return replace(self.area, readings={**self.area.readings, **said})

    def question(self) -> Question | None:
        """The next question; None once nothing more can change a verdict or nothing is left to ask."""
        apart = {reply.fact for reply in self.replies}
        order = ordered_facts(self.evaluated, self.book, 0, apart, first_only=True)
        if not order:
            return None
        return make_question(self.evaluated, self.book, 0, *order[0])

    @property
    def stopped(self) -> bool:
        """Whether the site is surely stopped, whatever the product."""
        return int(pick(self.evaluated.site.status, 0)) == STOP

    def headline(self) -> str:
        """The verdict as a sentence."""
        return str(area_document(self.evaluated, self.book, 0, advise=False)["headline"])

    def skip(self, fact: str) -> Outcome:
        """Put a fact off: it is not known."""
        self.replies.append(Reply(fact, None))
        return Outcome((), self.headline(), (), True)

    def reply(self, fact: str, text: str) -> Outcome:
        """Take a value as job files write it; a contradiction is told and the reply undone."""
        problems: list[Problem] = []
        said = text.strip()
        if self.book.vocabulary.domains[fact].kind == "flag":
            said = _YES_NO.get(said.lower(), said)
        reading = read_reading(self.book.vocabulary, fact, said, "reply", problems)
        if problems or reading is None:
            return Outcome(tuple(problems))
        known = self.now().readings.get(fact)
        if known is not None and _apart(known.spec, reading.spec):
            what = f'{fact} = "{said}" cannot be: the job says "{known.said}"'
            return Outcome((Problem(str(known.where), what, "correct the job file, or reply otherwise"),))
        if reading.spec == self.book.vocabulary.domains[fact].everything:
            return self.skip(fact)
        before, state = self.evaluated, list(self.replies)
        self.replies.append(Reply(fact, reading))
        self._evaluated = None
        if faults := self.evaluated.problems.get(0):
            self.replies, self._evaluated = state, before
            return Outcome(tuple(dict.fromkeys(faults)))
        return Outcome((), self.headline(), tuple(changes(before, self.evaluated)))

    def back(self) -> str | None:
        """Undo the last step; its fact, or None where there is none."""
        if not self.replies:
            return None
        last = self.replies.pop()
        self._evaluated = None
        return last.fact

    def new_facts(self) -> dict[str, Any]:
        """What was replied, as written."""
        return {reply.fact: reply.reading.said for reply in self.replies if reply.reading is not None}


def _apart(first: Spec, second: Spec) -> bool:
    if isinstance(first, Choices) and isinstance(second, Choices):
        return first.bits & second.bits == 0
    assert isinstance(first, Span)
    assert isinstance(second, Span)
    return first.low > second.high or second.low > first.high


def changes(before: Evaluated, after: Evaluated) -> list[str]:
    """What a reply changed: the site's status and each verdict."""
    found = []
    first, last = (int(pick(one.site.status, 0)) for one in (before, after))
    if first != last:
        found.append(f"Site: {SITE_WORDS[first]} → {SITE_WORDS[last]}")
    elif first == SITE_OPEN:
        counts = [_open_stops(one) for one in (before, after)]
        if counts[0] != counts[1]:
            found.append(f"Site: {counts[1]} of {counts[0]} possible stops are left")
    then = {judgement.candidate.id: int(judgement.verdict[0]) for judgement in before.of_row(0)}
    for judgement in after.of_row(0):
        old, new = then.get(judgement.candidate.id), int(judgement.verdict[0])
        if old is not None and old != new:
            found.append(f"{name_of(judgement)}: {_words(old)} → {_words(new)}")
    return found


def _open_stops(evaluated: Evaluated) -> int:
    return sum(
        bool(pick(truth.may, 0)) and not bool(pick(truth.must, 0)) for _, truth in evaluated.site.stops
    )


def _words(code: int) -> str:
    return VERDICT_WORDS[code].replace("_if", ", provided …").replace("_", " ")
