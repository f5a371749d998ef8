"""What people type as a reply: one question may ask for several facts, and any fact may be told at any time.

Every check here is derived: the same, written in a job file, reads to the same values.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from undercourse.advise.asking import Session
from undercourse.advise.reply_words import Said, read_reply
from undercourse.advise.together import (
    ALL,
    CRACKS,
    HEATING,
    JOISTS,
    LAYERS,
    LUMBER,
    PANEL_STAMP,
    SOUND,
    TILE_SIZE,
    WANTED,
    WHEELS,
    Together,
)
from undercourse.facts.jobs import Area, read_job

from .places import BOOK, DAY, job_of

WORDS = BOOK.vocabulary


def said(together: Together, text: str) -> Said:
    """A reply to a question for all of its facts."""
    return read_reply(WORDS, together.facts, together, text)


def of_file(**facts: object) -> dict[str, object]:
    """What a job file of these facts reads to."""
    job = read_job({"name": "file", "facts": facts}, WORDS, str)
    return {name: reading.spec for name, reading in job.areas[0].readings.items()}


def specs(reply: Said) -> dict[str, object]:
    """What a reply reads to."""
    assert not reply.problems, reply.problems
    return {name: reading.spec for name, reading in reply.readings.items()}


@pytest.mark.parametrize(("together", "text", "facts"), [
    (JOISTS, "2x10, 16 in, 14 ft", {"joist_size": "2x10", "joist_spacing": "16 in", "joist_span": "14 ft"}),
    (JOISTS, "about 14 ft; 2x10", {"joist_size": "2x10", "joist_span": "about 14 ft"}),
    (JOISTS, "up to 16 in", {"joist_spacing": "up to 16 in"}),
    (LUMBER, "SPF, No.2", {"joist_species": "SPF", "joist_grade": "No.2"}),
    (PANEL_STAMP, "OSB, 48/24", {"panel_kind": "OSB", "panel_rating": "48/24"}),
    (HEATING, "electric cable, in the membrane",
     {"heating": "electric cable", "heating_position": "in the membrane"}),
    (HEATING, "none", {"heating": "none"}),
    (WHEELS, "hard rubber, 300 lb", {"wheels": "hard rubber", "wheel_load": "300 lb"}),
    (WHEELS, "none", {"wheels": "none"}),
    (SOUND, "50 dB, field", {"iic_wanted": "50 dB", "iic_basis": "field"}),
    (CRACKS, "hairline, 1/16 in, 0 in",
     {"cracks": "hairline", "crack_width": "1/16 in", "crack_offset": "0 in"}),
    (CRACKS, "none", {"cracks": "none"}),
    (TILE_SIZE, "12 x 24 in", {"tile_long_edge": "24 in", "tile_short_edge": "12 in"}),
    (TILE_SIZE, "600 mm by 300 mm", {"tile_long_edge": "600 mm", "tile_short_edge": "300 mm"}),
    (TILE_SIZE, "about 12 x 11-3/4 in",
     {"tile_long_edge": "about 12 in", "tile_short_edge": "about 11-3/4 in"}),
    (TILE_SIZE, "12 in", {"tile_long_edge": "12 in", "tile_short_edge": "12 in"}),
    (JOISTS, "base = sawn joists; joist span = 14 ft", {"base": "sawn joists", "joist_span": "14 ft"}),
])  # fmt: skip
def test_a_list_reads_as_the_same_facts_in_a_file(
    together: Together, text: str, facts: dict[str, object]
) -> None:
    """Parts come in any order; each goes to the fact that it fits."""
    assert specs(said(together, text)) == of_file(**facts)


def test_layers_read_as_the_layers_of_a_file() -> None:
    """From the top down, kind and thickness either way round; without a question mark the list is whole."""
    rows = [{"kind": "cement board", "thickness": "1/4 in"}, {"kind": "plywood", "thickness": "3/4 in"}]
    rows += [{"kind": "OSB"}]
    for end, more in (("", []), (", ?", [{"kind": "?"}])):
        job = read_job({"name": "file", "layer": [*rows, *more]}, WORDS, str)
        reply = said(LAYERS, f"1/4 in cement board, plywood 3/4 in; OSB{end}")
        whole = {name: reading.spec for name, reading in job.areas[0].readings.items()}
        everything = WORDS.domains["layer_1_kind"].everything
        assert specs(reply) == {name: spec for name, spec in whole.items() if spec != everything}
        assert reply.left_open == (set(LAYERS.facts) if more else set())


def test_what_is_wanted_reads_as_the_functions_of_a_file() -> None:
    """What a list leaves out is not wanted; with a question mark at its end it stays open."""
    for text, functions in (
        ("uncoupling, crack isolation", ["uncoupling", "crack isolation"]),
        ("waterproof and heating", ["waterproofing", "heating"]),
        ("nothing", []),
    ):
        job = read_job({"name": "file", "functions": functions}, WORDS, str)
        wanted = {name: r.spec for name, r in job.areas[0].readings.items() if name in WANTED.facts}
        assert specs(said(WANTED, text)) == wanted
    reply = said(WANTED, "uncoupling, ?")
    assert set(reply.readings) == {"wants_uncoupling"}
    assert reply.left_open == set(WANTED.facts) - {"wants_uncoupling"}


@pytest.mark.parametrize(("together", "text"), [
    (JOISTS, "7 ft"), (JOISTS, "2x11"), (JOISTS, ","), (TILE_SIZE, "12 x 24"), (TILE_SIZE, "1 x 2 x 3 in"),
    (LAYERS, "3/4 in unobtainium"), (LAYERS, ""), (LAYERS, ", ".join(["OSB"] * 9)), (WANTED, "magic"),
    (WHEELS, "300"), (CRACKS, "sideways"), (HEATING, "steam pipes"), (JOISTS, "jost_span = 14 ft"),
])  # fmt: skip
def test_what_cannot_be_read_is_told_with_its_fix(together: Together, text: str) -> None:
    """7 ft may be a spacing or a span: which, is not guessed."""
    reply = said(together, text)
    assert reply.problems
    assert all(problem.what and problem.fix for problem in reply.problems)


@pytest.mark.parametrize("together", ALL)
@pytest.mark.parametrize("text", [
    "no idea", "I don't know.", "I don\u2019t know", "dunno", "not sure", "I'm not sure", "unknown",
    "can't say", "No clue!", "unsure", "do not know yet", "??", "Not known",
])  # fmt: skip
def test_not_to_know_is_a_reply_to_any_question(together: Together, text: str) -> None:
    """However it is said, it is no fault, and nothing is taken from it."""
    for reply in (said(together, text), read_reply(WORDS, together.facts[:1], None, text)):
        assert not reply.problems
        assert not reply.readings


@pytest.mark.parametrize("text", ["no", "none", "nothing"])
def test_none_is_not_the_same_as_not_to_know(text: str) -> None:
    """That nothing is wanted is a fact."""
    assert said(WANTED, text).readings


def test_every_fact_of_a_question_for_several_is_asked_for_once() -> None:
    """No fact belongs to two questions, and all are facts."""
    names = [name for one in ALL for name in one.facts]
    assert len(names) == len(set(names))
    assert set(names) <= set(WORDS.facts)
    assert all(one.question.endswith("?") and one.form and one.find for one in ALL)


def test_a_reply_for_several_facts_is_one_step() -> None:
    """It reaches what a file reaches; what it left out is asked again; back undoes it whole."""
    area = job_of("laundry").areas[0]
    taken = ("joist_size", "joist_spacing", "joist_span")
    session = Session(without(area, taken), BOOK, DAY)
    question = session.question()
    assert question is not None
    assert set(question.facts) == set(taken)
    assert "joists" in question.question
    before = session.headline()
    whole = {name: str(area.readings[name].said) for name in taken}
    outcome = session.reply(question.fact, f"{whole['joist_size']}, {whole['joist_span']}", question.facts)
    assert not outcome.problems
    again = session.question()
    assert again is not None
    assert again.facts == ("joist_spacing",)
    session.reply(again.fact, whole["joist_spacing"], again.facts)
    assert session.new_facts() == whole
    assert session.headline() == Session(area, BOOK, DAY).headline()
    assert session.back() == "joist_spacing"
    assert session.back() == question.fact
    assert session.headline() == before
    assert session.question() == question


def test_contradiction_in_a_list_is_told_and_nothing_is_kept() -> None:
    """A tile that is longer than the job says is refused whole."""
    area = job_of("laundry").areas[0]
    session = Session(without(area, ("tile_short_edge",)), BOOK, DAY)
    outcome = session.reply("tile_long_edge", "24 x 90 in", ("tile_long_edge", "tile_short_edge"))
    assert outcome.problems
    assert session.replies == []


def without(area: Area, names: tuple[str, ...]) -> Area:
    """An area of which some facts are not known."""
    return replace(area, readings={n: r for n, r in area.readings.items() if n not in names})
