"""Areas that the tests of reasons, letters and questions share."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

import undercourse
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.sweeps import trial_values
from undercourse.facts.jobs import Area, Job, Reading
from undercourse.files.jobfiles import load_job
from undercourse.files.shipped import rulebook

DAY = dt.date(2026, 11, 25)
BOOK = rulebook(None)
DEMO = Path(undercourse.__file__).parent / "data" / "demo" / "jobs"
ASKED = Path(__file__).parents[1] / "inquiries" / "jobs"
WORDS = ("suitable", "suitable_if", "needs_facts", "needs_ruling", "not_suitable")


def job_of(name: str) -> Job:
    """A demo job, or a question put to the trade, by its name."""
    path = DEMO / f"{name}.toml"
    return load_job(path if path.exists() else ASKED / f"{name}.toml", BOOK.vocabulary)


def judged(areas: Iterable[Area], only: set[str] | None = None) -> Evaluated:
    """Areas judged on the day of the tests."""
    return evaluate(list(areas), BOOK, DAY, only)


def with_facts(area: Area, names: Iterable[str]) -> Area:
    """The area with these of its facts and nothing else known; listed layers go by one name."""
    kept = set(names)
    return replace(
        area,
        readings={
            name: reading
            for name, reading in area.readings.items()
            if name in kept or ("layers" in kept and name.startswith("layer_"))
        },
    )


def verdict(evaluated: Evaluated, candidate: str, row: int = 0) -> str:
    """A candidate's verdict in a row."""
    found = next(j for j in evaluated.of_row(row) if j.candidate.id == candidate)
    return WORDS[int(found.verdict[row])]


def completions(area: Area, count: int, seed: int, leave: Iterable[str] = ()) -> list[Area]:
    """Floors that the area leaves possible: values drawn for eight open facts, none of those to ``leave``.

    Contradictory draws are taken out.
    """
    random = np.random.default_rng(seed)
    start = judged([area], only=set()).facts.columns
    apart = {*area.readings, *leave}
    still = [name for name in BOOK.vocabulary.facts if name not in apart and not name.startswith("layer_")]
    found = []
    for _ in range(count):
        readings: dict[str, Reading] = dict(area.readings)
        for name in random.choice(still, min(8, len(still)), replace=False).tolist():
            values = trial_values(BOOK.vocabulary.domains[name], start.spec(name, 0), ())
            readings[name] = Reading(values[random.integers(len(values))], "drawn")
        found.append(replace(area, readings=readings))
    table = judged(found, only=set())
    return [one for row, one in enumerate(found) if row not in table.problems]


def texts_of(area: Area) -> Mapping[str, str]:
    """What the area's file says of each fact, as typed."""
    return {
        name: "yes" if r.said is True else "no" if r.said is False else str(r.said)
        for name, r in area.readings.items()
    }
