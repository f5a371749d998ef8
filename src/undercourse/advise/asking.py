"""Asking one fact after another: what to ask, why, what each reply leads to, and when to end."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from undercourse.advise.answers import area_document
from undercourse.advise.ending import Outlook, known_share, outlook, still_to_send
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.exact import kind_of
from undercourse.advise.findings import clip, show_text
from undercourse.advise.leads import leads_of
from undercourse.advise.question_order import Next, close_proven, may_suit, ordered_facts
from undercourse.advise.reply_words import Said, read_reply
from undercourse.advise.sweeps import is_open
from undercourse.advise.together import LAYERS, together_of, words_of_question
from undercourse.advise.why import name_of
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.base.problems import Problem
from undercourse.facts.jobs import Area, Reading
from undercourse.facts.vocabulary import EFFORTS, SLOTS
from undercourse.judge.results import SITE_OPEN, SITE_WORDS, STOP, VERDICT_WORDS
from undercourse.judge.rulebook import Rulebook

# Asking is not left off before so many questions were put off whole.
LEAST_PUT_OFF = 3
_STOPPED = "The site is stopped: whoever decides on that comes first, and no further fact changes it."
_NOTHING = "Nothing suits, whatever else is found."
_DONE = "Nothing more can change the answer."
_LEFT = "Nothing else is left to ask; what was put off can still change the answer."


@dataclass(frozen=True)
class Question:
    """One question: why it is asked, how to find out, what its replies lead to, how to write them.

    ``fact`` leads it; ``facts`` are all that it asks for, several where a person is asked once.
    """

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
    facts: tuple[str, ...]
    form: str


@dataclass(frozen=True)
class Outcome:
    """What a reply did: problems (and nothing else), or the new verdict sentence and what changed."""

    problems: tuple[Problem, ...]
    headline: str = ""
    changes: tuple[str, ...] = ()
    skipped: bool = False


@dataclass(frozen=True)
class Reply:
    """One step of a session: what was said, and which facts were put off.

    ``answered`` is false where the whole question was put off.
    """

    fact: str
    readings: dict[str, Reading]
    put_off: frozenset[str] = frozenset()
    answered: bool = True


@dataclass(frozen=True)
class Ending:
    """Why no question follows: the verdict, the reason, and what is still to be sent in.

    ``send_in`` is what was put off, most telling first; ``not_asked`` names the questions left where asking
    was left off: whoever wants to is asked on.
    """

    headline: str
    why: str
    send_in: tuple[str, ...]
    not_asked: tuple[str, ...] = ()


def make_question(
    evaluated: Evaluated, book: Rulebook, row: int, following: Next, leads: bool = True
) -> Question:
    """The question that comes next, with what its replies lead to unless that is left out."""
    name, why, site, facts = following[:4]
    fact = book.vocabulary[name]
    several = together_of(name) if len(facts) > 1 else None
    told = leads_of(evaluated, book, row, facts, site) if leads else ()
    text, find = words_of_question(book, name, facts)
    choices: tuple[str, ...] = ()
    unit = ""
    if several is None:
        now = evaluated.facts.columns.spec(name, row)
        choices = tuple(fact.domain.names(now.bits)) if isinstance(now, Choices) else ()
        unit = fact.domain.unit.symbol if fact.domain.unit is not None else ""
        form = f"Possible: {' | '.join(choices)}" if choices else ""
        if isinstance(now, Span):
            number = f"A number with its unit, such as {unit}, or a range, or about so much."
            form = _known(fact.domain, now) + number
        called, effort = fact.label, fact.effort
    else:
        form = several.form_for(facts)
        form = _known_layers(evaluated, book, row) + form if several is LAYERS else form
        called, effort = several.label, max((book.vocabulary[one].effort for one in facts), key=EFFORTS.index)
    return Question(name, called, text, why, find, effort, told, choices, unit, site, facts, form)


def _known(domain: Domain, now: Span) -> str:
    """What is known of a number already."""
    everything = domain.everything
    assert isinstance(everything, Span)
    if now.low <= everything.low and now.high >= everything.high:
        return ""
    return f"Known so far: {show_text(domain, clip(domain, now))}. "


def _known_layers(evaluated: Evaluated, book: Rulebook, row: int) -> str:
    """What is known of the layers, from the top, to be said again in the reply."""
    shown = []
    for place in range(1, SLOTS + 1):
        kind, thickness = f"layer_{place}_kind", f"layer_{place}_thickness"
        texts = [
            show_text(book.vocabulary.domains[name], evaluated.facts.columns.spec(name, row))
            for name in (thickness, kind)
        ]
        if texts[1] in ("unknown", "nothing"):
            break
        shown.append(texts[1] if texts[0] == "unknown" else " ".join(texts))
    return f"Known from the top: {', '.join(shown)}; write these too. " if shown else ""


@dataclass
class Session:
    """One area asked about, fact by fact; every step can be taken back.

    ``to_the_end`` asks on where asking would be left off.
    """

    area: Area
    book: Rulebook
    date: dt.date | None
    replies: list[Reply] = field(default_factory=list)
    to_the_end: bool = False
    _evaluated: Evaluated | None = None

    @property
    def evaluated(self) -> Evaluated:
        """The area judged on what is known now; verdicts that nothing can change any more are closed."""
        if self._evaluated is None:
            self._evaluated = evaluate([self.now()], self.book, self.date)
            if not self._evaluated.problems:
                close_proven(self._evaluated, self.book, 0)
        return self._evaluated

    def now(self) -> Area:
        """The area with what was replied."""
        said = {name: reading for reply in self.replies for name, reading in reply.readings.items()}
        return replace(self.area, readings={**self.area.readings, **said})

    @property
    def apart(self) -> set[str]:
        """Facts that are not asked for again: replied, or put off."""
        return {name for reply in self.replies for name in (*reply.readings, *reply.put_off)}

    def following(self) -> Next | None:
        """Which question comes next; None where none does, asking is left off, or nothing can suit."""
        if not may_suit(self.evaluated, 0):
            return None
        order = self._order()
        if not order or order[0].pressing or self.to_the_end:
            return order[0] if order else None
        prospects = self.outlook() if self.put_off() >= LEAST_PUT_OFF else None
        if prospects is None or not prospects.rare:
            return order[0]
        # Asking is left off; only where a sheet suits already the unlikely stops are asked about first.
        suits = any(kind_of(int(one.verdict[0])) == "suits" for one in self.evaluated.of_row(0))
        return next((one for one in self._order(False) if one.about_site), None) if suits else None

    def _order(self, first_only: bool = True) -> list[Next]:
        return ordered_facts(self.evaluated, self.book, 0, self.apart, first_only, self.to_the_end)

    def outlook(self) -> Outlook | None:
        """What further replies may change; None where nothing was put off."""
        answered = sum(reply.answered for reply in self.replies)
        known = known_share(answered, len(self.replies))
        return outlook(self.evaluated, self.book, 0, self.apart, known)

    def ending(self) -> Ending:
        """What is told where no question follows."""
        headline = self.headline()
        if self.stopped:
            return Ending(headline, _STOPPED, ())
        if not may_suit(self.evaluated, 0):
            return Ending(headline, _NOTHING, ())
        send_in = tuple(self._to_send(one) for one in self.waiting())
        left = ordered_facts(self.evaluated, self.book, 0, self.apart, to_the_end=True)
        if not left:
            return Ending(headline, _LEFT if send_in else _DONE, send_in)
        names = (self._called(one) for one in left)
        return Ending(headline, _rarely(self.outlook()), send_in, tuple(dict.fromkeys(names)))

    def waiting(self) -> list[Next]:
        """The questions that nobody could answer and on which the answer hangs, most telling first."""
        return still_to_send(self.evaluated, self.book, 0, self.apart - self.lacking, self.lacking)

    @property
    def lacking(self) -> set[str]:
        """Facts that were asked for and that nobody could tell."""
        told = self.now().readings
        return {
            name
            for reply in self.replies
            for name in reply.put_off
            if is_open(self.evaluated.facts[name], 0) and not (reply.answered and name in told)
        }

    def _called(self, one: Next) -> str:
        several = together_of(one.fact) if len(one.facts) > 1 else None
        return self.book.vocabulary[one.fact].label if several is None else several.label

    def _to_send(self, one: Next) -> str:
        """What is still to be found out, in the words of its question."""
        text, find = words_of_question(self.book, one.fact, one.facts)
        return f"{text} {find}".strip()

    def question(self) -> Question | None:
        """The next question; None once nothing more can change a verdict or nothing is left to ask."""
        following = self.following()
        return None if following is None else make_question(self.evaluated, self.book, 0, following)

    @property
    def stopped(self) -> bool:
        """Whether the site is surely stopped, whatever the product."""
        return int(pick(self.evaluated.site.status, 0)) == STOP

    def headline(self) -> str:
        """The verdict as a sentence."""
        return str(area_document(self.evaluated, self.book, 0, advise=False)["headline"])

    def skip(self, fact: str, facts: Collection[str] = ()) -> Outcome:
        """Put a question off: its facts are not known."""
        self.replies.append(Reply(fact, {}, frozenset((fact, *facts)), answered=False))
        return Outcome((), self.headline(), (), True)

    def reply(self, fact: str, text: str, facts: Sequence[str] = ()) -> Outcome:
        """Take a reply; a contradiction is told and the reply undone.

        Parameters
        ----------
        text : str
            A value as job files write it; for several facts in the form that their question tells; or
            ``fact = value``.
        facts : sequence of str, optional
            All the facts that the question asked for.
        """
        facts = tuple(facts) or (fact,)
        several = together_of(fact) if len(facts) > 1 else None
        said = read_reply(self.book.vocabulary, facts, several, text)
        problems = list(said.problems)
        for name, reading in said.readings.items():
            known = self.now().readings.get(name)
            if known is not None and _apart(known.spec, reading.spec):
                what = f'{name} = "{reading.said}" cannot be: the job says "{known.said}"'
                problems.append(Problem(str(known.where), what, "correct the job file, or reply otherwise"))
        if problems:
            return Outcome(tuple(problems))
        if not said.readings:
            return self.skip(fact, facts)
        return self._take(fact, said)

    def _take(self, fact: str, said: Said) -> Outcome:
        before, state = self.evaluated, list(self.replies)
        self.replies.append(Reply(fact, said.readings, frozenset(said.left_open)))
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

    def put_off(self) -> int:
        """How many questions were put off whole."""
        return sum(not reply.answered for reply in self.replies)

    def new_facts(self) -> dict[str, Any]:
        """What was replied, as written."""
        return {name: reading.said for reply in self.replies for name, reading in reply.readings.items()}


def _rarely(found: Outlook | None) -> str:
    share = found.changes if found is not None else 0.0
    many = "fewer than 1" if share < 0.01 else f"about {round(100 * share)}"
    return (
        "Asking on would rarely change this: at the rate at which questions could be answered so far, those "
        f"left would close a verdict on {many} of 100 plausible floors."
    )


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
