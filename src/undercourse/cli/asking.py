"""The guided command: one question at a time until asking on would rarely change the answer."""

from __future__ import annotations

import io
import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from undercourse.cli.app import AsJson, Date, Job, Line, app, print_json
from undercourse.cli.replying import AreaName, chosen_rows

if TYPE_CHECKING:
    from undercourse.advise.asking import Outcome, Question, Session

WIDTH = 98
SKIP = ("skip", "?", "")
BACK = ("back", "undo")
STOP = ("stop", "quit", "end")
GO_ON = ("go on", "go", "more", "yes", "y")
MOST_NAMED = 8
HELP_WORDS = ("help", "?help", "h", "??")
HELP = "A value as in job files, or: don't know, help, back, stop."


class Talk:
    """What is written to the person and read back, line by line."""

    def __init__(self, aside: bool) -> None:
        self.out = sys.stderr if aside else sys.stdout
        for stream in (sys.stdin, sys.stdout, sys.stderr):
            # Bytes that are no text, or signs that the terminal cannot show, end no conversation.
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="replace")

    def say(self, text: str = "", indent: int = 0) -> None:
        """Print a text within the width of a terminal."""
        pad = " " * indent
        filled = textwrap.fill(
            text,
            WIDTH,
            initial_indent=pad,
            subsequent_indent=pad,
            break_long_words=False,
            break_on_hyphens=False,
        )
        print(filled, file=self.out, flush=True)

    def hear(self) -> str | None:
        """The next line typed; None at the end of the input."""
        print("> ", end="", file=self.out, flush=True)
        try:
            line = sys.stdin.readline()
        except KeyboardInterrupt:
            line = ""
        if not sys.stdin.isatty():
            print(line.rstrip("\n"), file=self.out)
        return line.strip() if line else None


@app.command("ask")
def ask_command(
    job: Job,
    area: AreaName = "",
    save: Annotated[
        Path | None,
        typer.Option("--save", help="Write the job with the new facts to this file.", show_default=False),
    ] = None,
    line: Line = None,
    as_json: AsJson = False,
    date: Date = "",
) -> None:
    """Ask for the missing facts one at a time, each with its reason, until asking on would hardly help."""
    from undercourse.advise.asking import Session
    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.days import day
    from undercourse.files.jobfiles import load_job
    from undercourse.files.shipped import rulebook

    if save is not None and save.is_dir():
        # Told before the questions, not after them.
        raise Problems([Problem(str(save), "this is a folder", "name a file to write")])
    book = rulebook(line)
    record = load_job(job, book.vocabulary)
    rows = chosen_rows(record, area, "ask")
    on = record.date or day(date)
    talk = Talk(aside=as_json)
    areas, told = list(record.areas), {}
    for row in rows:
        session = Session(record.areas[row], book, on)
        if session.evaluated.problems:
            raise Problems(session.evaluated.problems[0])
        talk.say(f"{record.name}: {session.area.name}. {HELP}")
        going = _converse(session, talk)
        areas[row], told[row] = session.now(), session.new_facts()
        if not going:
            break
    if save is not None:
        from undercourse.files.saving import save_with_facts

        save_with_facts(job, save, told, book.vocabulary)
        talk.say(f"Written to {save}.")
    _show(record, areas, book, on, as_json)


def _show(record: Any, areas: list[Any], book: Any, on: Any, as_json: bool) -> None:
    """The answer on everything that is known now."""
    from dataclasses import replace

    from undercourse.advise.answers import answer

    document = answer(replace(record, areas=tuple(areas)), book, on)
    if as_json:
        print_json(document)
        return
    from undercourse.cli.show import show_answer

    print()
    show_answer(document)


def _converse(session: Session, talk: Talk) -> bool:
    """Ask until nothing is left; False where the person ends it."""
    talk.say(session.headline())
    while True:
        question = session.question()
        if question is None:
            if _ended(session, talk):
                return True
            continue
        _put(question, len(session.replies) + 1, talk)
        while True:
            text = talk.hear()
            if text is None or text.lower() in STOP:
                talk.say("Stopped here.")
                return False
            if _taken(session, question, text, talk):
                break


def _ended(session: Session, talk: Talk) -> bool:
    """Tell why no question follows and what is still to be sent in; False where the person goes on."""
    ending = session.ending()
    talk.say()
    left = ending.not_asked
    talk.say(ending.why if left else f"No question is left: {ending.why[:1].lower()}{ending.why[1:]}")
    if left:
        talk.say(f"As it stands: {ending.headline}")
    if ending.send_in:
        talk.say("Still to send in, most telling first:")
    for number, text in enumerate(ending.send_in, 1):
        talk.say(f"{number}. {text}", 3)
    if not left:
        return True
    more = f" and {len(left) - MOST_NAMED} more" if len(left) > MOST_NAMED else ""
    talk.say(f"Not asked yet, and needed once that is known: {'; '.join(left[:MOST_NAMED])}{more}.")
    talk.say("go on asks for these now; back undoes the last reply; Enter ends.")
    while True:
        text = talk.hear() or ""
        if not text or text.lower() in STOP:
            return True
        if text.lower() in GO_ON:
            session.to_the_end = True
            return False
        if text.lower() in BACK:
            undone = session.back()
            talk.say(f"Undone: {undone}. {session.headline()}" if undone else "Nothing is there to undo.")
            return False
        if "=" in text:
            outcome = session.reply(next(iter(session.apart)), text)
            for problem in outcome.problems:
                print(problem, file=talk.out)
            if not outcome.problems:
                _tell(outcome, talk)
                return False
        talk.say("Not taken: go on, back, a fact as joist_span = 14 ft, or Enter to end.")


def _put(question: Question, number: int, talk: Talk) -> None:
    """Show a question: why, how to find out, what the replies lead to."""
    talk.say()
    asked = question.fact if len(question.facts) == 1 else question.label
    talk.say(f"{number}. {question.question} [{asked}, {question.effort}]")
    talk.say(question.why, 3)
    if question.find:
        talk.say(f"To find out: {question.find}", 3)
    for text in question.leads_to:
        talk.say(text, 5)
    talk.say(question.form, 3)


def _help(question: Question, session: Session, talk: Talk) -> None:
    """Tell how to find out and how to write it, fact by fact where there are several."""
    for name in question.facts:
        fact = session.book.vocabulary[name]
        talk.say(f"{name}: {fact.question} {fact.find}", 3)
    talk.say(question.form, 3)
    talk.say(
        "Numbers may be exact (14 ft), about (about 14 ft), or a range (12 to 14 ft, up to 16 in); choices "
        "one or several (dry | splashed). Another fact may be told at any time: joist_span = 14 ft. don't "
        "know or ? puts the question off, back undoes the last reply, stop ends.",
        3,
    )


def _taken(session: Session, question: Question, text: str, talk: Talk) -> bool:
    """Take one line; False where it has to be asked again."""
    if text.lower() in BACK:
        undone = session.back()
        talk.say(f"Undone: {undone}. {session.headline()}" if undone else "Nothing is there to undo.")
        return undone is not None
    if text.lower() in HELP_WORDS:
        _help(question, session, talk)
        return False
    if text.lower() in SKIP:
        _tell(session.skip(question.fact, question.facts), talk)
        return True
    outcome = session.reply(question.fact, text, question.facts)
    for problem in outcome.problems:
        print(problem, file=talk.out)
    if outcome.problems:
        talk.say("Not taken; the same question again.")
        return False
    _tell(outcome, talk)
    return True


def _tell(outcome: Outcome, talk: Talk) -> None:
    talk.say("Put off." if outcome.skipped else outcome.headline, 3)
    if not outcome.skipped and not outcome.changes:
        talk.say("No verdict changed.", 3)
    for text in outcome.changes:
        talk.say(text, 5)
