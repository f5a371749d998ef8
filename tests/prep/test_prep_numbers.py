"""The one number that alone would do, held to a printed span and to the floor judged again."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

import undercourse
from undercourse.advise.evaluating import evaluate
from undercourse.advise.prep import prep
from undercourse.base.domains import Span
from undercourse.base.problems import Problems
from undercourse.cli.app import app
from undercourse.cli.schemas import SCHEMAS
from undercourse.facts.jobs import Area

from .by_hand import BOOK, SAMPLES, hurt_floors, said, suits

INCH, PSF = 0.0254, 47.88025898
KITCHEN = SAMPLES["Kitchen over a basement, 16 in joists"]
JOBS = Path(undercourse.__file__).parent / "data" / "demo" / "jobs"


@cache
def of_floor(place: int) -> dict[str, dict[str, Any]]:
    """The numbers of one of the floors below."""
    return numbers(FLOORS[place])


def numbers(area: Area, membrane: str = "") -> dict[str, dict[str, Any]]:
    """What the search says, by fact."""
    found = prep(evaluate([area], BOOK, None), BOOK, 0, membrane, most=1)["one_number"]
    return {one["fact"]: one for one in found}


def test_a_printed_span_is_the_one_number() -> None:
    """kind = published. IRC 2018 Table R502.3.1(2): DF-L No.2 2x10 at 16 in, 40/10 psf: 15 ft 7 in.

    The table holds L/360 and strength. Its 10 psf of dead load are here what was there and
    the new floor together. It prints whole inches, rounded down.
    """
    area = said(KITCHEN, joist_species="DF-L", joist_grade="No.2", joist_span="17 ft", schedule_days="60 day")
    asked = evaluate([said(area, framing_plan_seen=False)], BOOK, None)
    low_meadow = next(j for j in asked.judgements if j.candidate.id == "low-meadow-3")
    added = next(f.value for f in low_meadow.findings if f.demand == "added_dead_load")
    area = said(area, existing_dead_load=f"{10 - float(added.high[0]) / PSF:.6f} psf")  # type: ignore[union-attr]
    found = numbers(area, "low-meadow-3")["joist_span"]
    feet, inches = divmod(found["value_si"] / INCH, 12)
    assert (feet, int(inches)) == (15, 7)
    assert "15 ft 7" in found["to"]


FLOORS = [
    said(KITCHEN, joist_span="15 ft 6 in"),
    SAMPLES["Kitchen on trusses at 24 in with 11/16 in to spare"],
    SAMPLES["Warehouse bay for loaded forklifts"],
    SAMPLES["Hotel corridor, quieter than the mat can make it"],
    *hurt_floors(3, seed=11),
]


@pytest.mark.parametrize("place", range(len(FLOORS)), ids=lambda place: FLOORS[place].name)
def test_the_number_does_and_a_nearer_one_does_not(place: int) -> None:
    """kind = derived. At the value said something suits; a seventh of the way back nothing does."""
    area = FLOORS[place]
    for name, found in of_floor(place).items():
        if name in ("panel_total_thickness", "panel_layers"):
            continue
        unit = BOOK.domains[name].unit
        assert unit is not None
        value = found["value_si"]
        spec = evaluate([area], BOOK, None).facts.columns.spec(name, 0)
        assert isinstance(spec, Span)
        now = spec.low if value < spec.low else spec.high
        tried = [
            said(area, **{name: (at - unit.offset) / unit.factor})
            for at in (value, value + 0.15 * (now - value))
        ]
        evaluated = evaluate(tried, BOOK, None)
        assert found["candidate"] in suits(evaluated, 0, 0.0)
        if unit.dimension != "count":
            assert not suits(evaluated, 1, 0.0), (name, found["text"])


def test_some_floor_has_a_number() -> None:
    """The check above has something to look at."""
    assert sum(bool(of_floor(place)) for place in range(len(FLOORS))) >= 4


def test_the_command_prints_what_its_schema_says() -> None:
    """Each demo job, and the part of it in the answer."""
    for job in (JOBS / "laundry.toml", JOBS / "terrace.toml"):
        shown = CliRunner().invoke(app, ["prep", str(job), "--json"], catch_exceptions=False)
        document = json.loads(shown.stdout)
        Draft202012Validator(SCHEMAS["prep"]).validate(document)
        text = CliRunner().invoke(app, ["prep", str(job)], catch_exceptions=False)
        assert text.exit_code == 0
        for area in document["areas"]:
            assert area["area"] in text.stdout
    landing = document["areas"][1]
    assert landing["prep"]
    answered = CliRunner().invoke(app, ["answer", str(job), "--json"], catch_exceptions=False)
    areas = json.loads(answered.stdout)["areas"]
    assert "prep" not in areas[0]
    assert areas[1]["prep"] == landing["prep"]


def test_a_membrane_that_is_none_is_told() -> None:
    """Where, what and how to mend it; no traceback."""
    with pytest.raises(Problems) as caught:
        CliRunner().invoke(
            app, ["prep", str(JOBS / "cafe.toml"), "--membrane", "tarpaper"], catch_exceptions=False
        )
    assert "low-meadow-3" in caught.value.problems[0].fix
