"""Real questions put to the trade, answered: what holds is asserted, the rest is printed for the docs."""

from __future__ import annotations

import pytest

from .scoring import Score, scores, summary


@pytest.fixture(scope="module")
def found() -> list[Score]:
    """All questions answered once."""
    return scores()


def test_at_least_34_questions_are_representable(found: list[Score]) -> None:
    """Questions are kept as jobs without a lie."""
    assert summary(found)["representable"] >= 34


def test_every_question_for_a_rule_finds_one(found: list[Score]) -> None:
    """Questions of the kind "where is it written" are answered without a site."""
    assert [s.id for s in found if s.kind == "rule" and not s.agrees] == []


def test_every_unexplained_symptom_stops(found: list[Score]) -> None:
    """New work is never offered on an unexplained failure."""
    assert [s.id for s in found if s.kind == "symptom" and s.representable and not s.agrees] == []


def test_no_settled_verdict_contradicts_a_stated_one(found: list[Score]) -> None:
    """Where an expert's verdict was stated and ours is settled, they agree; open answers may stay open."""
    wrong = [s for s in found if s.kind == "floor" and s.basis == "stated" and not s.open and not s.agrees]
    assert not wrong, [(s.id, s.expected, s.ours, s.note) for s in wrong if s.representable]


def test_open_answers_ask_for_something(found: list[Score]) -> None:
    """An answer that depends says on what."""
    assert [s.id for s in found if s.ours == "open" and not s.first_question] == []
