"""The questions asked one at a time: the panel, what its buttons do, and the steps that the page carries."""

from __future__ import annotations

import copy
import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from starlette.datastructures import FormData

from undercourse.advise.asking import Ending, Question, Reply, Session
from undercourse.advise.together import WANTED, together_of
from undercourse.base.problems import Problem
from undercourse.facts.jobs import Job
from undercourse.facts.vocabulary import SLOTS, Vocabulary
from undercourse.judge.rulebook import Rulebook
from undercourse.web.entries import LONGEST_TEXT, NOT_KNOWN, Change, text_of
from undercourse.web.messages import Message, messages_for
from undercourse.web.state import (
    MOST_STATE_CHARACTERS,
    State,
    View,
    home_of,
    list_home,
    list_said,
    said_of,
    shown_text,
)

FIELD = "guide-reply"
# With so many choices each has a button of its own; with more they are typed.
MOST_BUTTONS = 12
MOST_STEPS = 300
_EFFORTS = {"know": "ask somebody", "look": "look", "measure": "measure", "test": "a test"}


@dataclass(frozen=True)
class Step:
    """One question that was answered, or put off where ``text`` is empty.

    ``was`` holds what the job said before of every fact that the reply wrote, None for nothing, and under
    ``layer`` the layers.
    """

    area: int
    fact: str
    facts: tuple[str, ...]
    text: str
    was: Mapping[str, Any]


@dataclass(frozen=True)
class Guide:
    """What the page carries of the questions, and what work it was asked for (``any`` or a candidate).

    ``more`` is set where somebody wants to be asked on though it would rarely change the answer.
    """

    on: bool = False
    steps: tuple[Step, ...] = ()
    text: str = ""
    work: str = ""
    more: bool = False

    def of(self, area: int) -> list[Step]:
        """The steps of one area."""
        return [step for step in self.steps if step.area == area]

    def without(self, area: int) -> Guide:
        """The guide after an area was dropped."""
        kept = [step for step in self.steps if step.area != area]
        moved = tuple(replace(step, area=step.area - (step.area > area)) for step in kept)
        return Guide(False, moved)


@dataclass
class Taken:
    """What a button of the panel did: the job and the guide after it, or messages and nothing else."""

    state: State
    guide: Guide
    changes: list[Change] = field(default_factory=list)
    messages: list[Message] = field(default_factory=list)
    acted: bool = True


def read_guide(text: str, vocabulary: Vocabulary) -> Guide:
    """The guide that a page carries; a new one where it cannot be read."""
    try:
        data = json.loads(text or "{}")
        steps = tuple(_read_step(row, vocabulary) for row in data.get("steps", ())[:MOST_STEPS])
        words = [data.get(key, "") for key in ("text", "work")]
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return Guide()
    if not all(isinstance(word, str) for word in words):
        return Guide()
    short = [word[:LONGEST_TEXT] for word in words]
    return Guide(bool(data.get("on")), steps, short[0], short[1], bool(data.get("more")))


def _read_step(row: Any, vocabulary: Vocabulary) -> Step:
    area, fact, facts, text, was = row
    layers = was.get("layer")
    good = (
        isinstance(area, int)
        and isinstance(text, str)
        and isinstance(facts, list)
        and all(name in vocabulary for name in (fact, *facts, *was) if name != "layer")
        and (layers is None or (isinstance(layers, list) and all(isinstance(one, dict) for one in layers)))
    )
    if not good:
        raise ValueError(row)
    return Step(area, fact, tuple(facts), text, was)


def write_guide(guide: Guide) -> str:
    """The guide as the page carries it."""
    steps = [[step.area, step.fact, list(step.facts), step.text, dict(step.was)] for step in guide.steps]
    data = {"on": guide.on, "steps": steps, "text": guide.text, "work": guide.work, "more": guide.more}
    return json.dumps(data, separators=(",", ":"))


def carried_guide(form: FormData, vocabulary: Vocabulary) -> Guide:
    """The guide of a posted form."""
    text = form.get("guide")
    short = isinstance(text, str) and len(text) <= MOST_STATE_CHARACTERS
    return read_guide(str(text) if short else "", vocabulary)


def session_of(job: Job, row: int, guide: Guide, book: Rulebook, today: dt.date) -> Session:
    """One area as a session knows it: the replies are in the job already, none is asked for again."""
    asked = [
        Reply(step.fact, {}, frozenset((step.fact, *step.facts)), bool(step.text)) for step in guide.of(row)
    ]
    return Session(job.areas[row], book, job.date or today, asked, guide.more)


def take(
    state: State, job: Job, view: View, guide: Guide, form: FormData, book: Rulebook, today: dt.date
) -> Taken:
    """What a button of the panel does to a job that was read already.

    Its buttons are ``guide:on``, ``guide:more``, ``guide:off``, ``guide:reply``, ``guide:skip``,
    ``guide:back``, ``say:dry`` for a choice, and ``work:any``, ``work:low-meadow-3``, ``work:off``. The
    Enter key in a form without script presses its first button; with a reply typed that is the reply.
    """
    word, _, rest = text_of(form, "go").partition(":")
    if word == "work":
        return Taken(state, replace(guide, work="" if rest == "off" else rest))
    view = View(view.area, False)
    typed = text_of(form, "reply") or ", ".join(_ticked(form))
    if word == "say":
        return _reply(state, job, view, guide, form, rest, book, today)
    if word == "answer" and typed and guide.on:
        word, rest = "guide", "reply"
    if word != "guide":
        return Taken(state, guide, acted=False)
    if rest in ("on", "off"):
        return Taken(state, replace(guide, on=rest == "on", text="", more=False))
    if rest == "more":
        return Taken(state, replace(guide, on=True, text="", more=True))
    if rest == "back":
        return _back(state, view, guide, book)
    if rest == "skip":
        fact, facts = _asked(form, book)
        if not fact:
            return Taken(state, guide)
        step = Step(view.area, fact, facts, "", {})
        return Taken(state, replace(guide, steps=(*guide.steps, step), text=""))
    return _reply(state, job, view, guide, form, typed, book, today)


def _ticked(form: FormData) -> list[str]:
    return [one for one in form.getlist("reply.part") if isinstance(one, str)]


def _asked(form: FormData, book: Rulebook) -> tuple[str, tuple[str, ...]]:
    """The question that the form's panel shows; empty where it shows none."""
    fact = text_of(form, "asked")
    facts = tuple(name for name in text_of(form, "asked.facts", 2000).split() if name in book.vocabulary)
    return (fact, facts or (fact,)) if fact in book.vocabulary else ("", ())


def _reply(
    state: State,
    job: Job,
    view: View,
    guide: Guide,
    form: FormData,
    text: str,
    book: Rulebook,
    today: dt.date,
) -> Taken:
    fact, facts = _asked(form, book)
    problems: tuple[Problem, ...] = ()
    if not fact:
        problems = (Problem("reply", "no question is open", "press “Ask me one at a time”"),)
    elif not text:
        problems = (Problem("reply", "nothing is said", "write a value, or press “Don’t know”"),)
    session = session_of(job, view.area, guide, book, today)
    if not problems:
        problems = session.reply(fact, text, facts).problems
    if problems:
        return Taken(state, guide, messages=_messages(problems, state, view, book))
    new = session.replies[-1].readings
    state = copy.deepcopy(state)
    told = {name: reading.said for name, reading in new.items()}
    was, changes = _write(state, view, told, book.vocabulary)
    step = _step(view.area, fact, facts, session.replies[-1], text if told else "", was)
    return Taken(state, replace(guide, on=True, steps=(*guide.steps, step), text=""), changes)


def _step(
    area: int, fact: str, facts: tuple[str, ...], reply: Reply, text: str, was: Mapping[str, Any]
) -> Step:
    """The step of a reply; what it leaves out of a question for several facts is asked again."""
    if not reply.answered:
        return Step(area, fact, facts, text, was)
    several = together_of(fact) if len(facts) > 1 else None
    told = tuple(dict.fromkeys((*reply.readings, *(name for name in facts if name in reply.put_off))))
    lead = fact if fact in told or (several is not None and several.whole) else told[0]
    return Step(area, lead, told, text, was)


def _messages(problems: tuple[Problem, ...], state: State, view: View, book: Rulebook) -> list[Message]:
    found = messages_for(problems, state, view, book.vocabulary)
    return [Message(FIELD, "Your reply", text) for text in dict.fromkeys(one.text for one in found)]


def _write(
    state: State, view: View, told: Mapping[str, Any], vocabulary: Vocabulary
) -> tuple[dict[str, Any], list[Change]]:
    """Facts into the sheet, as if typed; what was there before, and what reads otherwise now."""
    was: dict[str, Any] = {}
    changes = []
    layers = {name: value for name, value in told.items() if name.startswith("layer_")}
    for name, value in told.items():
        if name in layers:
            continue
        own, inherited = said_of(state, view, name)
        home = home_of(state, view, name)
        was[name] = copy.deepcopy(home.get(name))
        home[name] = value
        domain = vocabulary.domains[name]
        before, after = shown_text(domain, own if own is not None else inherited), shown_text(domain, value)
        if before != after:
            changes.append(Change(name, before, after))
    if layers:
        said, _ = list_said(state, view, "layer")
        home = list_home(state, view, "layer")
        was["layer"] = copy.deepcopy(home.get("layer"))
        home["layer"] = _layers(said, layers)
        changes.append(Change("layers", _kinds(said), _kinds(home["layer"])))
    return was, changes


def _layers(said: list[dict[str, Any]], told: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The list of layers after slots of it were told."""
    rows: list[dict[str, Any]] = [dict(row) for row in said]
    whole = bool(rows) and rows[-1] != {"kind": NOT_KNOWN}
    rows = rows if whole else rows[:-1]
    for place in range(SLOTS):
        kind, thickness = (told.get(f"layer_{place + 1}_{part}") for part in ("kind", "thickness"))
        if kind == "nothing":
            return rows[:place]
        if kind is None and thickness is None:
            continue
        while len(rows) <= place:
            rows.append({})
        if kind is not None and rows[place].get("kind") != kind:
            rows[place] = {"kind": kind}
        if thickness is not None:
            rows[place]["thickness"] = thickness
    return rows if whole else [*rows, {"kind": NOT_KNOWN}]


def _kinds(rows: list[dict[str, Any]]) -> str:
    named = [str(row.get("kind", "")) for row in rows if row.get("kind") not in (None, NOT_KNOWN)]
    return ", ".join(named) or "not known"


def _back(state: State, view: View, guide: Guide, book: Rulebook) -> Taken:
    """Undo the last step of this area; its reply stands in the field again."""
    mine = guide.of(view.area)
    if not mine:
        return Taken(state, guide)
    last = mine[-1]
    state = copy.deepcopy(state)
    changes = []
    for name, raw in last.was.items():
        if name == "layer":
            said, _ = list_said(state, view, "layer")
            _put_back(list_home(state, view, "layer"), "layer", raw)
            after = list_said(state, view, "layer")[0]
            changes.append(Change("layers", _kinds(said), _kinds(after)))
            continue
        own, inherited = said_of(state, view, name)
        _put_back(home_of(state, view, name), name, raw)
        now, from_site = said_of(state, view, name)
        domain = book.vocabulary.domains[name]
        before = shown_text(domain, own if own is not None else inherited)
        after_text = shown_text(domain, now if now is not None else from_site)
        if before != after_text:
            changes.append(Change(name, before, after_text))
    steps = list(guide.steps)
    steps.remove(last)
    return Taken(state, replace(guide, on=True, steps=tuple(steps), text=last.text), changes)


def _put_back(home: dict[str, Any], key: str, raw: Any) -> None:
    if raw is None:
        home.pop(key, None)
    else:
        home[key] = raw


def guide_view(
    job: Job, book: Rulebook, today: dt.date, row: int, guide: Guide, typed: FormData | None = None
) -> dict[str, Any]:
    """The panel of one area: the next question, or that it ends here and why.

    Parameters
    ----------
    typed : FormData, optional
        What was typed, where it could not be taken over.
    """
    session = session_of(job, row, guide, book, today)
    if session.evaluated.problems:
        ended = Ending("", "These facts cannot all be true; mend them first.", ())
        return {"question": None, "ended": ended, **_trail(guide, row, book.vocabulary)}
    question = session.question()
    text = text_of(typed, "reply") if typed is not None else guide.text
    ticked = _ticked(typed) if typed is not None else text.split(", ")
    found: dict[str, Any] = {"question": None, "ended": None, **_trail(guide, row, book.vocabulary)}
    if question is None:
        found["ended"] = session.ending()
        return found
    wanted = len(question.facts) > 1 and together_of(question.fact) is WANTED
    boxes = [name.removeprefix("wants_").replace("_", " ") for name in question.facts] if wanted else []
    return {
        **found,
        "question": question,
        "effort": _EFFORTS.get(question.effort, question.effort),
        "buttons": _buttons(question, wanted),
        "form": "" if wanted else _form_of(question),
        "boxes": [(name, name in ticked) for name in boxes],
        "text": "" if wanted and text and all(one in boxes for one in text.split(", ")) else text,
    }


def _trail(guide: Guide, row: int, vocabulary: Vocabulary) -> dict[str, Any]:
    mine = guide.of(row)
    return {
        "number": len(mine) + 1,
        "last": _called(mine[-1], vocabulary) if mine else "",
        "put_off": [_called(step, vocabulary) for step in mine if not step.text],
    }


def _called(step: Step, vocabulary: Vocabulary) -> str:
    """A question by its name."""
    several = together_of(step.fact) if len(step.facts) > 1 else None
    return vocabulary[step.fact].label if several is None else several.label


def _buttons(question: Question, wanted: bool) -> list[tuple[str, str]]:
    """Replies that can be pressed: what is sent, and what stands on the button."""
    if wanted:
        return [("nothing", "Nothing of these")]
    if 0 < len(question.choices) <= MOST_BUTTONS:
        order = ("yes", "no") if set(question.choices) == {"yes", "no"} else question.choices
        return [(choice, choice[:1].upper() + choice[1:]) for choice in order]
    return [("none", "None")] if "or none" in question.form else []


def _form_of(question: Question) -> str:
    """How a reply is written; choices that have buttons are not listed again."""
    if not question.choices:
        return question.form
    if len(question.choices) > MOST_BUTTONS:
        return f"One, or several that may be true: {' | '.join(question.choices)}."
    return (
        f"Where several may be true, as: {' | '.join(question.choices[:2])}."
        if len(question.choices) > 2
        else ""
    )
