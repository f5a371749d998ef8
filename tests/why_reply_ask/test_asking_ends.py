"""Asking is left off where what may still be told would rarely change the answer; whoever wants to goes on.

Derived checks: the share that is told is counted again on floors drawn otherwise and judged as job files are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from typer.testing import CliRunner

from undercourse.advise.asking import LEAST_PUT_OFF, Session
from undercourse.advise.completions import draw_completions
from undercourse.advise.ending import HARDLY_ANY, RARELY, known_share
from undercourse.advise.narrowing import undecided
from undercourse.advise.question_order import ordered_facts
from undercourse.advise.sentences import series
from undercourse.advise.sweeps import is_open
from undercourse.advise.together import together_of
from undercourse.base.columns import pick
from undercourse.cli.app import app
from undercourse.facts.jobs import Area, Reading
from undercourse.judge.results import NEEDS_FACTS

from .places import ASKED, BOOK, DAY, job_of, judged, texts_of

OPEN_FLOORS = ("Q01", "Q07", "Q08", "Q16")


def put_off_all(name: str, most: int = 40) -> Session:
    """A session in which nothing that is asked for is known."""
    session = Session(job_of(name).areas[0], BOOK, DAY)
    while (following := session.following()) is not None:
        assert len(session.replies) < most
        session.skip(following.fact, following.facts)
    return session


@pytest.fixture(scope="module")
def ended() -> dict[str, Session]:
    """Four floors asked about in vain until asking was left off."""
    return {name: put_off_all(name) for name in OPEN_FLOORS}


def test_whoever_knows_nothing_is_not_asked_on_and_on(ended: dict[str, Session]) -> None:
    """Long before the forty and more that are open; told what hangs on what, and that more may be asked."""
    for session in ended.values():
        assert LEAST_PUT_OFF <= session.put_off() == len(session.replies) <= 14
        ending = session.ending()
        assert ending.headline == session.headline()
        assert "would rarely change" in ending.why
        assert len(ending.not_asked) >= 5
        asked = {reply.fact for reply in session.replies}
        assert 1 <= len(ending.send_in) <= len(asked)
        assert all("?" in text for text in ending.send_in)


def test_what_is_still_to_be_sent_in_starts_with_what_tells_most(ended: dict[str, Session]) -> None:
    """Once known, the first of the list closes more verdicts than the last, mean over the floors."""
    closed: list[tuple[float, float]] = []
    for session in ended.values():
        evaluated = session.evaluated
        order = [one for one in session.waiting() if not one.pressing]
        if len(order) > 2:
            ends = [_closing(session, one.facts) for one in (order[0], order[-1])]
            closed.append((ends[0], ends[1]))
        assert undecided(evaluated, 0)
    assert len(closed) >= 2
    first, last = np.mean(closed, axis=0)
    assert first > last


def _closing(session: Session, facts: Sequence[str]) -> float:
    """The share of verdicts that plausible replies to one question close, all else as it stands."""
    waiting = undecided(session.evaluated, 0)
    drawn = draw_completions(session.evaluated, BOOK, 0, facts, 200, seed=31)
    again = drawn.judge(session.evaluated, BOOK, 0, list(waiting)).of_row(0)
    codes = np.array([np.broadcast_to(one.verdict, (200,))[drawn.sound] for one in again])
    return float((codes != NEEDS_FACTS).mean())


@pytest.mark.parametrize("name", OPEN_FLOORS)
def test_the_questions_left_change_a_verdict_as_seldom_as_is_told(
    ended: dict[str, Session], name: str
) -> None:
    """Other plausible floors, each question left answered as often as until then, judged as files are."""
    session = ended[name]
    seen = session.outlook()
    assert seen is not None
    assert seen.changes < RARELY
    assert seen.suits <= HARDLY_ANY
    known = known_share(0, len(session.replies))
    floors = _answered_by_chance(session, known, 240)
    again = judged(floors)
    waiting = undecided(session.evaluated, 0)
    codes = np.array([one.verdict for one in again.judgements if one.candidate.id in waiting])
    rows = np.array([row not in again.problems for row in range(len(floors))])
    assert rows.mean() > 0.8
    share = float((codes[:, rows] != NEEDS_FACTS).any(axis=0).mean())
    deviation = np.sqrt(RARELY * (1 - RARELY) * (1 / rows.sum() + 1 / 256))
    assert abs(share - seen.changes) < 5 * deviation


def _answered_by_chance(session: Session, known: float, count: int) -> list[Area]:
    """The area with some of the questions left answered by drawn values."""
    rng = np.random.default_rng(9)
    area, evaluated = session.now(), session.evaluated
    left = ordered_facts(evaluated, BOOK, 0, session.apart)
    names = [name for one in left for name in one.facts if name not in BOOK.made_so]
    names += [one.name for one in BOOK.vocabulary.facts.values() if one.name in _concerned(session)]
    names = [n for n in dict.fromkeys(names) if n not in session.apart and not n.startswith("layer_")]
    drawn = draw_completions(evaluated, BOOK, 0, names, count + 60, seed=41)
    found = []
    for row in np.flatnonzero(drawn.sound)[:count]:
        told: dict[str, bool] = {}
        readings = dict(area.readings)
        for name in names:
            several = together_of(name)
            answered = told.setdefault(several.id if several else name, bool(rng.random() < known))
            hangs = [leader for leader, _ in BOOK.vocabulary[name].asked_where]
            means = all(leader in readings or leader not in names for leader in hangs)
            spec = drawn.columns.spec(name, int(row))
            if answered and means and not session.apart & set(hangs):
                readings[name] = Reading(spec, "drawn")
        found.append(replace(area, readings=readings))
    return found


def _concerned(session: Session) -> set[str]:
    """Every fact that decides and that an open finding may read."""
    facts = BOOK.vocabulary.facts.values()
    return {
        one.name for one in facts if one.role == "decides" and is_open(session.evaluated.facts[one.name], 0)
    }


@pytest.mark.parametrize("name", OPEN_FLOORS)
def test_what_means_something_only_with_what_was_put_off_is_not_asked(name: str) -> None:
    """By the vocabulary: how wide the cracks are is no question once nobody knows whether there are any."""
    session = Session(job_of(name).areas[0], BOOK, DAY)
    put_off: set[str] = set()
    while (following := session.following()) is not None:
        for fact in following.facts:
            for leader, spec in BOOK.vocabulary[fact].asked_where:
                sure = bool(pick(session.evaluated.facts.says(leader, spec).must, 0))
                assert sure or leader not in put_off
        put_off |= set(following.facts)
        session.skip(following.fact, following.facts)
    assert put_off


def test_nothing_is_left_off_where_every_question_is_answered() -> None:
    """The laundry with eight of its facts asked for: asked until every verdict is closed."""
    area = job_of("laundry").areas[0]
    taken = list(texts_of(area))[:40:3]
    taken = [name for name in taken if not name.startswith(("layer_", "base"))]
    less = replace(area, readings={n: r for n, r in area.readings.items() if n not in taken})
    session = Session(less, BOOK, DAY)
    while (question := session.question()) is not None:
        named = "; ".join(f"{one} = {texts_of(area)[one]}" for one in question.facts if one in taken)
        assert not session.reply(question.fact, named, question.facts).problems
    assert not undecided(session.evaluated, 0)
    ending = session.ending()
    assert ending.not_asked == ()
    assert ending.send_in == ()


def test_asking_on_goes_through_what_was_left_out(ended: dict[str, Session]) -> None:
    """Whoever goes on is asked for something else; at the end nothing is left but what was put off."""
    before = ended["Q07"]
    session = Session(before.area, BOOK, DAY, list(before.replies), to_the_end=True)
    seen: set[str] = set()
    while (following := session.following()) is not None:
        assert following.fact not in session.apart
        seen.add(following.fact)
        session.skip(following.fact, following.facts)
    assert len(seen) >= 5
    assert session.ending().not_asked == ()
    assert "what was put off can still change" in session.ending().why


def test_terminal_tells_what_is_to_be_sent_in_and_goes_on_when_told_to() -> None:
    """Don't know until the end, then one more question, then a fact told by name, then nothing."""
    count = len(put_off_all("Q07").replies)
    typed = ["?"] * count + ["nonsense", "go on", "?", "stop"]
    text = "".join(f"{line}\n" for line in typed)
    done = CliRunner().invoke(app, ["ask", str(ASKED / "Q07.toml")], input=text, catch_exceptions=False)
    out = " ".join(done.stdout.split())
    assert done.exit_code == 0
    for part in ("Still to send in, most telling first:", "Not asked yet", "Not taken: go on"):
        assert part in out
    assert f"{count + 1}. " in out
    assert "Stopped here." in out


def test_chance_of_an_answer_is_the_rule_of_succession() -> None:
    """Laplace, Essai philosophique sur les probabilités (1814): 1,826,214 to one; from memory."""
    days = 1_826_213
    share = known_share(days, days)
    assert share / (1 - share) == pytest.approx(days + 1)
    assert known_share(0, 0) == 0.5


@pytest.mark.parametrize(("names", "most", "text"), [
    (["A", "B", "C"], 0, "A, B and C"),
    (["A"], 0, "A"),
    (["A, 3 mm", "B"], 0, "A, 3 mm and B"),
    (["A, 3 mm", "B", "C, 8 mm"], 0, "A, 3 mm; B; and C, 8 mm"),
    (["A", "B, 3 mm", "C", "D"], 2, "A; B, 3 mm; and 2 more"),
    (["A", "B", "C"], 2, "A, B and 1 more"),
])  # fmt: skip
def test_names_with_commas_are_parted_by_semicolons(names: list[str], most: int, text: str) -> None:
    """By the common rule of punctuation for lists whose items hold commas."""
    assert series(names, most=most) == text
