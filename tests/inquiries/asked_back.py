"""What is asked first, set against what was asked back by those who answered real questions.

``python -m tests.inquiries.asked_back`` prints the figures of this tree as they stand in ``asked_back.toml``,
beside those of an earlier one that were made by the same steps.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from undercourse.advise.asking import Session
from undercourse.advise.sweeps import is_open
from undercourse.files import shipped
from undercourse.files.jobfiles import load_job

from .scoring import scores

HERE = Path(__file__).parent
DAY = dt.date(2026, 11, 25)
MOST = 80
FEW = 5


@dataclass(frozen=True)
class Asked:
    """One floor: what is asked of somebody who knows nothing more, what was asked back there."""

    id: str
    questions: tuple[tuple[str, ...], ...]
    there: tuple[str, ...]

    def among(self, first: int = MOST) -> bool:
        """Whether one of the first questions asks for something that was asked back."""
        return any(set(one) & set(self.there) for one in self.questions[:first])


def asked(only: Collection[str] = ()) -> list[Asked]:
    """The floors that are not stopped and leave something open that was asked back.

    Parameters
    ----------
    only : collection of str, optional
        Ids of the questions to look at; all when left out.
    """
    book = shipped.rulebook(None)
    found = []
    for row in tomllib.loads((HERE / "index.toml").read_text("utf-8"))["question"]:
        path = HERE / "jobs" / f"{row['id']}.toml"
        if row["kind"] != "floor" or not row["representable"] or not path.exists():
            continue
        if only and row["id"] not in only:
            continue
        session = Session(load_job(path, book.vocabulary).areas[0], book, DAY)
        facts = session.evaluated.facts
        there = tuple(
            name for name in row["ask_fact"] if name not in book.made_so and is_open(facts[name], 0)
        )
        if session.stopped or not there:
            continue
        found.append(Asked(row["id"], _questions(session), there))
    return found


def _questions(session: Session) -> tuple[tuple[str, ...], ...]:
    """The questions put to somebody who knows none of it, until asking ends."""
    put: list[tuple[str, ...]] = []
    while len(put) < MOST and (following := session.following()) is not None:
        put.append(following.facts)
        session.skip(following.fact, following.facts)
    return tuple(put)


def figures() -> dict[str, Any]:
    """The figures of this tree."""
    found = asked()
    floors = [one for one in scores() if one.kind == "floor" and one.representable]
    listed = [one.provided for one in floors if one.provided]
    return {
        "floors": len(floors),
        "left_open": sum(one.open for one in floors),
        "compared": len(found),
        "first": sum(one.among(1) for one in found),
        "first_five": sum(one.among(FEW) for one in found),
        "ever": sum(one.among() for one in found),
        "mean_questions": round(sum(len(one.questions) for one in found) / len(found), 1),
        "with_list": len(listed),
        "mean_provided": round(sum(listed) / max(len(listed), 1), 1),
        "questions": {one.id: len(one.questions) for one in found},
    }


def kept() -> dict[str, dict[str, Any]]:
    """The figures as they were printed, by state of the program."""
    found: dict[str, dict[str, Any]] = tomllib.loads((HERE / "asked_back.toml").read_text("utf-8"))
    return found


if __name__ == "__main__":
    for name, value in figures().items():
        said = ", ".join(f"{key} = {one}" for key, one in value.items()) if isinstance(value, dict) else value
        print(f"{name} = {{ {said} }}" if isinstance(value, dict) else f"{name} = {said}")
