"""From a posted form to what the page shows: read, act, answer, draw. No request is remembered."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.datastructures import FormData

from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Job, read_job
from undercourse.files.demo import demo_jobs
from undercourse.files.reading import Locator, parse_json, parse_toml
from undercourse.judge.rulebook import Rulebook
from undercourse.web.actions import act
from undercourse.web.answering import Digest, answer_view, read_digest
from undercourse.web.calculations import area_row, calculation_view, calculations_view, read_asked
from undercourse.web.entries import Change, Entered, lay_over, read_changes, text_of
from undercourse.web.guide import Guide, carried_guide, guide_view, take
from undercourse.web.letters import letter_view
from undercourse.web.messages import Message, messages_for
from undercourse.web.pictures import Pictures, draw_area
from undercourse.web.sheet import find_fact, sheet_view
from undercourse.web.state import (
    MOST_STATE_CHARACTERS,
    State,
    View,
    empty_state,
    read_state,
    ready_state,
    token,
    write_state,
)
from undercourse.web.works import asked_works, works_view


@dataclass
class Page:
    """What one answer of the server shows."""

    state: State
    view: View
    answer: dict[str, Any] | None = None
    digest: Digest = field(default_factory=dict)
    compared: Digest = field(default_factory=dict)
    changes: list[Change] = field(default_factory=list)
    messages: list[Message] = field(default_factory=list)
    pictures: Pictures | None = None
    calculation: dict[str, Any] | None = None
    calculations: dict[str, Any] | None = None
    guide: Guide = field(default_factory=Guide)
    questions: dict[str, Any] | None = None
    works: dict[str, Any] | None = None
    letter: dict[str, Any] | None = None
    typed: FormData | None = None
    focus: str = ""

    @property
    def stale(self) -> bool:
        """Whether the answer shown is the last good one, from before the entries with messages."""
        return bool(self.messages) and self.answer is not None


def read(state: State, book: Rulebook) -> Job:
    """The job of a state; problems name the place in the state."""
    return read_job(state, book.vocabulary, token)


def view_of(form: FormData, state: State) -> View:
    """Which area, and which sheet, a form shows."""
    text = text_of(form, "area")
    number = int(text) if text.isdecimal() and len(text) < 4 else 0
    whole_site = text_of(form, "scope") == "site" and len(state["areas"]) > 1
    return View(min(number, len(state["areas"]) - 1), whole_site)


@dataclass
class Posted:
    """A form, read: the last good job, the job as entered, and what is wrong with it."""

    before: State
    entered: Entered
    view: View
    messages: list[Message]

    @property
    def state(self) -> State:
        """The job to answer: as entered if nothing is wrong with it."""
        return self.before if self.messages else self.entered.state


def read_posted(form: FormData, book: Rulebook) -> Posted:
    """Lay the sheet over the job that the form carries.

    Raises
    ------
    Problems
        If the form carries no job that can be read.
    """
    carried = form.get("state")
    before = read_state(carried if isinstance(carried, str) else "", book.vocabulary)
    view = view_of(form, before)
    entered = lay_over(before, form, view, book.vocabulary, book.line)
    problems = list(entered.problems)
    if len(write_state(entered.state)) > MOST_STATE_CHARACTERS:
        problems.append(Problem("job", "the job is too large for the page", "split the job"))
    try:
        job = read(entered.state, book)
        for area, raw in zip(job.areas, entered.state["areas"], strict=True):
            raw["name"] = area.name
    except Problems as error:
        problems += error.problems
    return Posted(before, entered, view, messages_for(problems, entered.state, view, book.vocabulary))


def respond(form: FormData, book: Rulebook, today: dt.date, *, full: bool) -> Page:
    """The page after a form was posted.

    Parameters
    ----------
    full : bool
        With all that is slow (advice and drawings), for a browser without script.
    """
    posted = read_posted(form, book)
    last = read_digest(text_of(form, "last", MOST_STATE_CHARACTERS))
    page = Page(posted.state, posted.view, compared=last, messages=posted.messages)
    page.guide = carried_guide(form, book.vocabulary)
    if not posted.messages:
        _act(page, posted, form, book, today)
    if page.messages:
        page.state, page.typed, page.digest = posted.before, form, last
    _answer(page, book, today, full)
    return page


def _act(page: Page, posted: Posted, form: FormData, book: Rulebook, today: dt.date) -> None:
    """What the pressed button does: to the questions, or to areas and layers."""
    state, go = posted.entered.state, text_of(form, "go")
    taken = take(state, read(state, book), posted.view, page.guide, form, book, today)
    page.guide, page.messages = taken.guide, taken.messages
    if taken.acted and not taken.messages:
        page.state = taken.state
        _compare(page, [*posted.entered.changes, *taken.changes], form)
    if taken.acted:
        return
    page.state, page.view = act(state, posted.view, go, book.line)
    if go == "area-drop" and page.state is not state:
        page.guide = page.guide.without(posted.view.area)
    if page.state is state and page.view == posted.view:
        _compare(page, posted.entered.changes, form)
    page.focus = find_fact(text_of(form, "find"), book.vocabulary)


def _compare(page: Page, changes: list[Change], form: FormData) -> None:
    """What the margin marks: this entry's changes; the earlier ones where no value changed this time."""
    page.changes = changes
    if not page.changes:
        page.changes = read_changes(text_of(form, "changes", MOST_STATE_CHARACTERS))
        page.compared = read_digest(text_of(form, "compared", MOST_STATE_CHARACTERS))


def _answer(page: Page, book: Rulebook, today: dt.date, full: bool) -> None:
    """Answer the page's job; a contradiction goes beside its fields and leaves no answer of this job."""
    try:
        job = read(page.state, book)
        page.answer, digest = answer_view(
            job, book, today, page.view.area, page.compared, full, "all" if full else ""
        )
    except Problems as error:
        page.messages += messages_for(error.problems, page.state, page.view, book.vocabulary)
        return
    if not page.messages:
        page.digest = digest
    if full and page.answer is not None:
        _advise(page, job, book, today)
        page.letter = letter_view(job, book, today, page.view.area)
        page.pictures = draw_area(job, book, today, page.view.area, page.answer["drawn"])
        drawn = page.answer["drawn"]
        page.calculations = calculations_view(job, book, today, page.view.area, drawn)


def respond_carefully(form: FormData, book: Rulebook, today: dt.date, *, full: bool) -> Page:
    """As ``respond``; where the entries contradict each other, the last good answer stays in sight."""
    page = respond(form, book, today, full=full)
    if page.answer is not None or not page.messages:
        return page
    carried = form.get("state")
    before = read_state(carried if isinstance(carried, str) else "", book.vocabulary)
    last = read_digest(text_of(form, "last", MOST_STATE_CHARACTERS))
    good = Page(before, view_of(form, before), digest=last, compared=last, messages=page.messages, typed=form)
    good.guide = carried_guide(form, book.vocabulary)
    _answer(good, book, today, full)
    return good


def opened(state: State, book: Rulebook, today: dt.date) -> Page:
    """The page of a job that was just opened, in full."""
    page = Page(state, View())
    _answer(page, book, today, True)
    return page


def advised(form: FormData, book: Rulebook, today: dt.date) -> Page:
    """The second stage: what to ask next and what work would help, of the job that the form carries."""
    page = _later(form, book, today)
    if page.answer is not None:
        _works(page, read(page.state, book), book, today)
    return page


def questioned(form: FormData, book: Rulebook, today: dt.date) -> Page:
    """The stage before it, where questions are asked one at a time: the next one."""
    page = _carried_page(form, book)
    if page.guide.on:
        page.questions = guide_view(read(page.state, book), book, today, page.view.area, page.guide)
    return page


def written(form: FormData, book: Rulebook, today: dt.date) -> Page:
    """The last stage: the letter of the area that the form shows."""
    page = _carried_page(form, book)
    page.letter = letter_view(read(page.state, book), book, today, page.view.area)
    return page


def _advise(page: Page, job: Job, book: Rulebook, today: dt.date) -> None:
    """The question that is open, and the works, of a page in full."""
    if page.guide.on:
        typed = page.typed
        page.questions = guide_view(job, book, today, page.view.area, page.guide, typed)
    _works(page, job, book, today)


def _works(page: Page, job: Job, book: Rulebook, today: dt.date) -> None:
    """The works that were asked for, else those of an answer in which nothing suits."""
    if page.guide.work:
        page.works = asked_works(job, book, today, page.view.area, page.guide.work)
    if page.works is None and page.answer is not None and page.answer["prep"] is not None:
        page.works = works_view(page.answer["prep"])


def pictured(form: FormData, book: Rulebook, today: dt.date) -> Page:
    """The third stage: the drawings of the job that the form carries."""
    return _later(form, book, today, draw=True)


def listed(form: FormData, book: Rulebook, today: dt.date) -> Page:
    """The fourth stage: every calculation behind the answer of the job that the form carries."""
    page = _carried_page(form, book)
    job, candidate = read(page.state, book), text_of(form, "drawn")
    page.calculations = calculations_view(job, book, today, page.view.area, candidate)
    return page


def worked(form: FormData, book: Rulebook, today: dt.date) -> Page:
    """One calculation of the job as entered, asked for by a finding or out of the list.

    Raises
    ------
    Problems
        An unknown number, candidate or area, or facts that contradict each other.
    """
    posted = read_posted(form, book)
    page = Page(posted.state, posted.view, messages=posted.messages)
    page.guide = carried_guide(form, book.vocabulary)
    if posted.messages:
        return page
    asked = read_asked(text_of(form, "calculation"))
    job = read(page.state, book)
    row = area_row(text_of(form, "area"), [area.name for area in job.areas])
    page.calculation = calculation_view(job, book, today, row, asked)
    return page


def set_out(form: FormData, book: Rulebook, today: dt.date) -> Page:
    """All that was found on the one candidate that the form names, asked for when it is opened."""
    return _later(form, book, today, tables=text_of(form, "candidate"))


def _carried_page(form: FormData, book: Rulebook) -> Page:
    """The job that a form carries, without its sheet."""
    carried = form.get("state")
    state = read_state(carried if isinstance(carried, str) else "", book.vocabulary)
    return Page(state, view_of(form, state), guide=carried_guide(form, book.vocabulary))


def _later(form: FormData, book: Rulebook, today: dt.date, draw: bool = False, tables: str = "") -> Page:
    page = _carried_page(form, book)
    job = read(page.state, book)
    page.answer, page.digest = answer_view(job, book, today, page.view.area, {}, not draw, tables)
    if draw:
        page.pictures = draw_area(job, book, today, page.view.area, page.answer["drawn"])
    return page


def sheet_of(page: Page, book: Rulebook) -> dict[str, Any]:
    """The survey sheet of a page."""
    return sheet_view(
        page.state, page.view, book.vocabulary, book.line, page.changes, page.messages, page.typed
    )


def demo_states(book: Rulebook) -> list[tuple[str, str, str]]:
    """Name, title and note of every demo job."""
    return [(name, job.name, job.note) for name, job in demo_jobs(book.vocabulary)]


def demo_state(name: str, book: Rulebook) -> State | None:
    """A demo job as a state; the empty job for ``empty``; None for other names."""
    from undercourse.files.shipped import data_root

    if name == "empty":
        return empty_state()
    if name not in {known for known, _ in demo_jobs(book.vocabulary)}:
        return None
    text = data_root().joinpath("demo").joinpath("jobs").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return ready_state(parse_toml(text, name), book.vocabulary)


def uploaded_state(raw: bytes, file_name: str, book: Rulebook) -> State:
    """The state of an uploaded job file.

    Raises
    ------
    Problems
        Every fault of the file with its line.
    """
    where = Path(file_name or "job file").name[:80]
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Problems([Problem(where, "this is no UTF-8 text", "save the job as UTF-8")]) from None
    if not text.strip():
        raise Problems([Problem(where, "the file is empty", "name a job in TOML or JSON")])
    is_json = text.lstrip().startswith("{")
    data: Any = parse_json(text, where) if is_json else parse_toml(text, where)
    locate = Locator(where, toml=False) if is_json else Locator(where, text)
    read_job(data, book.vocabulary, locate)
    try:
        json.dumps(data, default=str)
    except RecursionError:
        raise Problems([Problem(where, "the values are nested too deep", "flatten the file")]) from None
    return ready_state(data, book.vocabulary)
