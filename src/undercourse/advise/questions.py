"""The question that a calculation sheet answers, in words of the floor."""

from __future__ import annotations

QUESTIONS: dict[str, str] = {}


def question_of(demand: str, title: str) -> str:
    """The question that a demand answers; from its title where none is worded for it."""
    return QUESTIONS.get(demand) or f"What is it here: {title[:1].lower()}{title[1:]}?"
