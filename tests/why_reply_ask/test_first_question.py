"""The first question beside what was asked back by those who answered real questions (tests/inquiries)."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass

import pytest

from undercourse.advise.asking import Session
from undercourse.advise.question_order import ordered_facts
from undercourse.advise.sweeps import is_open

from .places import ASKED, BOOK, DAY, job_of

# What the order of asking reached when it was last looked at.
LEAST_AMONG_FIVE = 2
LEAST_EVER = 8


@dataclass(frozen=True)
class Asked:
    """One question: what is asked here in order, what was asked back there and is still open."""

    id: str
    order: tuple[tuple[str, ...], ...]
    products: tuple[tuple[str, ...], ...]
    there: tuple[str, ...]


@pytest.fixture(scope="module")
def found() -> list[Asked]:
    """Questions whose site is not stopped and where something asked back is open and decides."""
    index = tomllib.loads((ASKED.parent / "index.toml").read_text("utf-8"))["question"]
    rows = []
    for row in index:
        path = ASKED / f"{row['id']}.toml"
        if row["kind"] != "floor" or not row["representable"] or not path.exists():
            continue
        session = Session(job_of(row["id"]).areas[0], BOOK, DAY)
        facts = session.evaluated.facts
        there = [n for n in row["ask_fact"] if n not in BOOK.made_so and is_open(facts[n], 0)]
        if session.stopped or not there:
            continue
        order = ordered_facts(session.evaluated, BOOK, 0)
        products = tuple(one.facts for one in order if not one.about_site)
        rows.append(Asked(row["id"], tuple(one.facts for one in order), products, tuple(there)))
    return rows


def _asks(questions: tuple[tuple[str, ...], ...], one: Asked) -> bool:
    """Whether one of the questions asks for what was asked back; one question may ask for several facts."""
    return any(fact in one.there for question in questions for fact in question)


def test_first_question_is_scored_against_what_was_asked_back(
    found: list[Asked], capsys: pytest.CaptureFixture[str]
) -> None:
    """Practice, not a standard: printed for the docs; it may rise, and must not fall below what it was."""
    first = sum(_asks(one.order[:1], one) for one in found)
    five = sum(_asks(one.order[:5], one) for one in found)
    past = sum(_asks(one.products[:1], one) for one in found)
    ever = sum(_asks(one.order, one) for one in found)
    with capsys.disabled():
        print(
            f"\nFirst question among those asked back: {first} of {len(found)}; among the first five: {five};"
            f" first after the site: {past}; asked at all: {ever}."
        )
    assert five >= LEAST_AMONG_FIVE
    assert ever >= LEAST_EVER


def test_every_open_floor_gets_a_question(found: list[Asked]) -> None:
    """Where facts are missing, one is asked for."""
    assert found
    assert [one.id for one in found if not one.order] == []
