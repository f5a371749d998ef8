"""Rules of the trade are found by what people ask, and said as the source says them."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from undercourse.advise.rules import find_rules, near_topics, stem, words_of
from undercourse.files.shipped import practice, vocabulary
from undercourse.line.practice import read_practice

INQUIRIES = Path(__file__).parent.parent / "inquiries" / "index.toml"
ASKED = sorted({t for row in tomllib.loads(INQUIRIES.read_text("utf-8"))["question"] for t in row["topic"]})


def rules(text: str) -> list[dict[str, Any]]:
    """The rows found for a question."""
    found: list[dict[str, Any]] = find_rules(text, practice()[0], vocabulary())["rules"]
    return found


@pytest.mark.parametrize("topic", ASKED)
def test_topics_of_real_questions_lead_to_rows_filed_under_them(topic: str) -> None:
    """What was asked at trade desks comes first, before rows that only use the words."""
    found = rules(topic)
    filed = [words_of(topic) in [words_of(own) for own in row["topics"]] for row in found]
    assert filed[0]
    assert all(row["text"] and row["basis"] and row["source"] for row in found)


# ANSI A108.02, flatness of substrates: all edges under 15 in, 1/4 in in 10 ft; any edge of 15 in or more,
# 1/8 in in 10 ft (kind = published, as quoted in trade magazines).
FLATNESS = [
    ("flatness", "at most 1/4 in (6.4 mm)", "edge is under 15 in (381 mm)"),
    ("large format", "at most 1/8 in (3.2 mm)", "edge is at least 15 in (381 mm)"),
]


@pytest.mark.parametrize(("asked", "allowed", "part"), FLATNESS)
def test_limit_is_said_with_number_and_condition_in_both_systems(asked: str, allowed: str, part: str) -> None:
    """The sentence holds what is limited, how much, and on which floors."""
    texts = [row["text"] for row in rules(asked) if row["kind"] == "limit"]
    start = f"Flatness under a 10 ft straightedge: {allowed}"
    assert any(text.startswith(start) and part in text for text in texts)


@pytest.mark.parametrize(
    ("asked", "id_of_first"),
    [
        ("curb height", "curb-height-least"),
        ("how flat must the subfloor be under large format tile", "flat-large-tile-10ft"),
        ("straightedge", "flat-small-tile-10ft"),
        ("mortar coverage in a wet area", "coverage-wet"),
        ("L/720", "stone-total-l720"),
        ("two membranes", "sheet-too-many"),
    ],
)
def test_question_finds_its_rule_first(asked: str, id_of_first: str) -> None:
    """Topic words in a sentence count, small words do not."""
    assert rules(asked)[0]["id"] == id_of_first


def test_word_of_a_fact_finds_the_limits_on_it() -> None:
    """People say o.c. for the spacing of joists (a word of the vocabulary)."""
    assert any(row["text"].startswith("Joist spacing:") for row in rules("o.c."))


def test_whole_topics_come_before_words_in_the_text() -> None:
    """A row that only mentions a primer stands below the rows on primers."""
    found = rules("primer")
    filed = ["primer" in row["topics"] for row in found]
    assert filed == sorted(filed, reverse=True)


def test_words_that_only_look_alike_find_nothing() -> None:
    """No row by likeness of letters; near topics are offered apart."""
    document = find_rules("flattness", practice()[0], vocabulary())
    assert document["rules"] == []
    assert "flatness" in near_topics("flattness", document["topics"])
    assert rules("zebra") == []
    assert rules("") == []
    assert rules("what is the") == []


@pytest.mark.parametrize(
    ("one", "other"),
    [("joists", "joist"), ("trusses", "truss"), ("bodies", "body"), ("patches", "patch"), ("boxes", "box")],
)
def test_plurals_are_the_same_word(one: str, other: str) -> None:
    """Simple endings only."""
    assert stem(one) == stem(other)


@pytest.mark.parametrize("word", ["gypsum", "glass", "thickness", "gas", "radius", "analysis"])
def test_words_that_end_in_s_keep_it(word: str) -> None:
    """Not every s is a plural."""
    assert stem(word) == word


def test_every_row_of_practice_is_found_by_its_own_topics() -> None:
    """No row is filed where nobody can find it."""
    book = practice()[0]
    known: dict[str, list[dict[str, Any]]] = {}

    def found(topic: str) -> list[dict[str, Any]]:
        if topic not in known:
            known[topic] = rules(topic)
        return known[topic]

    for group in (book.rules, book.stops, book.needs):
        for one in group:
            assert any(one.id in {row["id"] for row in found(topic)} for topic in one.topics), one.id
    for note in (*book.notes, *book.cautions):
        assert any(note.text in {row["text"] for row in found(topic)} for topic in note.topics), note.text


NOTES = [
    {"topic": ["primer"], "text": "Ask the maker.", "basis": "common practice, no source", "source": "filed"},
    {"topic": ["dust"], "text": "Primer on floors is wiped.", "basis": "from memory", "source": "mentions"},
    {"topic": ["paint"], "text": "Wiped.", "basis": "from memory", "source": "neither"},
]


def small_practice(asked: str) -> list[str]:
    """Which of three notes a question finds, in order."""
    book = read_practice([("small", {"note": NOTES})], vocabulary().domains)
    return [row["source"] for row in find_rules(asked, book, vocabulary())["rules"]]


@pytest.mark.parametrize(
    ("asked", "sources"),
    [
        ("primer", ["filed"]),
        ("which primer for the floors", ["filed", "mentions"]),
        ("primers", ["filed"]),
        ("wiped floor", ["mentions"]),
        ("wiped", ["mentions", "neither"]),
        ("wiped zebra", []),
        ("prime", []),
    ],
)
def test_filed_rows_come_before_rows_that_only_use_the_words(asked: str, sources: list[str]) -> None:
    """A question that is a topic gets its rows alone; one word of several is no find."""
    assert small_practice(asked) == sources
