"""The reply says what the answer says, in one to one and a half pages, and nothing is sold in it."""

from __future__ import annotations

import re
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from undercourse.cli.schemas import SCHEMAS
from undercourse.files.replying import letter_of, letters
from undercourse.files.reporting import answered
from undercourse.papers.letters import WIDTH, answered_candidate

from .places import BOOK, DAY, job_of

NAMES = ("laundry", "terrace", "cafe", "Q08", "Q13", "Q14", "Q22")
# A page of plain text has about 60 lines.
MOST_LINES = 90
SOLD = (
    "best|premium|superior|innovative|ultimate|perfect|leading|unique|excellent|amazing|outstanding|"
    "world-class|state-of-the-art|high-performance|high-quality|solution|proud|pleased|delighted|exciting"
)


@pytest.fixture(scope="module")
def written() -> dict[str, list[tuple[dict[str, Any], dict[str, Any], dict[str, Any]]]]:
    """By job: answer, area and letter of each area."""
    found = {}
    for name in NAMES:
        job = job_of(name)
        document, evaluated = answered(job, BOOK, DAY, advise=True)
        letter = [letter_of(document, evaluated, job, BOOK, row) for row in range(len(job.areas))]
        found[name] = [(document, area, one) for area, one in zip(document["areas"], letter, strict=True)]
    return found


def plain(text: str) -> str:
    """Text without its line breaks."""
    return " ".join(text.replace("\n- ", " ").split())


@pytest.mark.parametrize("name", NAMES)
def test_letter_holds_what_the_answer_holds(name: str, written: Any) -> None:
    """Verdict, layers, every condition with who and when, what was assumed, revision and date."""
    for document, area, one in written[name]:
        text = plain(one["text"])
        assert document["basis"]["line"]["revision"] in text
        assert document["basis"]["date"] in text
        assert area["area"] in text
        chosen = answered_candidate(area)
        if area["site"]["status"] == "open":
            first = area["site"]["stops"][0]
            block = next(b for b in one["text"].split("\n\n") if b.startswith("Before any product"))
            assert first["why"].partition("? If ")[0] in plain(block)
            assert f"decides: {first['who_decides'].partition(':')[0]}" in plain(block)
            assert plain(block).count("?") == block.count("\n- ") - block.count("\n- And ")
            assert "Please send in" in text
        if area["site"]["status"] == "stop":
            first = next(stop for stop in area["site"]["stops"] if stop["certain"])
            assert plain(first["why"]) in text
            assert first["who_decides"].lower() in text.lower()
            assert "Assembly" not in text
            continue
        if chosen is None:
            assert plain(area["headline"].removeprefix("Once the site is looked at: ")) in text
            continue
        called = "The stack that you propose" if chosen["id"] == "proposed" else chosen["name"]
        assert f"{called} is suitable".lower() in text.lower()
        for layer in chosen["layers"]:
            assert layer["name"] in text
        for item in chosen["provided"]:
            assert f"{item['label']}: {item['must_be']}" in text
            assert f"{item['by_whom']}, {item['when_checked']}:" in text
        for sentence in area["assumed"]:
            assert sentence[1:] in text


@pytest.mark.parametrize("name", NAMES)
def test_letter_is_short_plain_and_sells_nothing(name: str, written: Any) -> None:
    """At most a page and a half, lines that fit, no word of an advertisement."""
    for _, _, one in written[name]:
        lines = one["text"].splitlines()
        assert len(lines) <= MOST_LINES
        assert max(map(len, lines)) <= WIDTH
        assert "\u00a0" not in one["text"]
        assert not re.search(rf"\b(?:{SOLD})\b", one["text"], re.I)
        assert not re.search(r"\b[a-z]+_[a-z_]+\b", one["text"]), "a key in place of words"


@pytest.mark.parametrize("name", NAMES)
def test_lengths_of_layers_and_conditions_stand_in_both_systems(name: str, written: Any) -> None:
    """Inches are followed by millimeters, Fahrenheit by Celsius."""
    for _, _, one in written[name]:
        for block in one["text"].split("\n\n"):
            if block.startswith("Assembly"):
                for line in block.splitlines()[1:]:
                    if measure := re.search(r", ([\d/.-]+) in\b(.*)$", line):
                        assert re.match(r" \([\d.]+ mm\)$", measure.group(2)) or "Band" in line, line
            if block.startswith("Provided"):
                text = plain(block)
                assert len(re.findall(r"[\d/] in\b", text)) == len(re.findall(r"\d in \([\d.]+ mm\)", text))
                assert text.count("°F") == text.count("°C")


def test_letter_is_the_same_each_time_and_keeps_its_schema(written: Any) -> None:
    """Nothing in it depends on the clock or the order of sets."""
    job = job_of("laundry")
    again = letters(job, BOOK, DAY, [0, 1])
    assert again == [one for _, _, one in written["laundry"]]
    for some in written.values():
        for _, _, one in some:
            Draft202012Validator(SCHEMAS["reply"], format_checker=FormatChecker()).validate(one)


def test_own_stack_that_fails_gets_its_reason_and_the_sheet_that_does(written: Any) -> None:
    """Plain mortar on plywood: ANSI A108/A118 mortar classes for exterior-glue plywood (published)."""
    _, area, one = written["laundry"][0]
    text = plain(one["text"])
    assert "The stack that you propose is not suitable here." in text
    own = next(c for c in area["candidates"] if c["id"] == "proposed")
    assert plain(own["why_not"][0]) in text
    assert "A118.11" in text


def test_override_names_the_rule_what_it_gives_way_to_and_who_carries_it(written: Any) -> None:
    """A rule set aside by a test of the maker's is carried by the maker."""
    document, area, one = written["cafe"][0]
    chosen = answered_candidate(area)
    assert chosen is not None
    given = [f for f in chosen["findings"] if f["overrides"]]
    assert given
    text = plain(one["text"])
    assert plain(given[0]["reason"]).rstrip(".") in text
    assert f"Carried by: {document['basis']['line']['maker']}." in text


def test_open_facts_are_asked_as_questions(written: Any) -> None:
    """What still has to be sent in stands as questions with how to find out."""
    _, _, one = written["Q14"][0]
    block = next(b for b in one["text"].split("\n\n") if b.startswith("Please send in"))
    assert block.count("?") >= 5
