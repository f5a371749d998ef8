"""Options of the layout command: rolls, rules, held strips reach the layout; faults are told at once."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

import undercourse
from undercourse.base.problems import Problems
from undercourse.cli.app import app
from undercourse.cli.schemas import SCHEMAS

JOBS = Path(undercourse.__file__).parent / "data" / "demo" / "jobs"


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    """A plan of one room of 6 x 5 m."""
    path = tmp_path / "room.geojson"
    ring = [[0, 0], [6, 0], [6, 5], [0, 5], [0, 0]]
    room = {
        "type": "Feature",
        "properties": {"name": "room"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [room]}), encoding="utf-8")
    return path


def lay(plan: Path, *options: str) -> Any:
    """What the command prints as JSON, held against its schema."""
    arguments = ["layout", str(plan), "--json", *options]
    result = CliRunner().invoke(app, arguments, catch_exceptions=False)
    assert result.exit_code == 0
    document = json.loads(result.stdout)
    assert list(Draft202012Validator(SCHEMAS["layout"]).iter_errors(document)) == []
    return document


def refused(plan: Path, *options: str) -> list[str]:
    """Where the problems are that the command tells."""
    with pytest.raises(Problems) as caught:
        CliRunner().invoke(app, ["layout", str(plan), *options], catch_exceptions=False)
    return [problem.where for problem in caught.value.problems]


def test_options_of_rolls_reach_the_cut_plan(plan: Path) -> None:
    """A paid part roll of 7 m is used; lengths and prices are told as given, whatever their order."""
    document = lay(plan, "--roll-length", "14 m", "--part-roll", "7 m", "--part-roll", "9 m@500")
    assert [roll["length_m"] for roll in document["roll_plan"] if roll["on_site"]] == [7.0]
    # Two rolls of 30 m at 5 a meter against 15 m at 9 a meter: only long ones are worth buying.
    document = lay(
        plan,
        *("--roll-length", "30 m", "--roll-length", "15 m"),
        *("--roll-price", "150", "--roll-price", "135"),
    )
    assert {(roll["length_m"], roll["price"]) for roll in document["roll_plan"]} == {(30.0, 150.0)}
    assert document["objective_terms"]["sheet"] == document["roll_plan"][0]["price"] * document["rolls"]


def test_options_of_laying_reach_the_strips(plan: Path) -> None:
    """Direction, start line, head joints and the way round are kept."""
    document = lay(plan, "--direction", "270", "--start", "0.4 m", "--one-way", "--no-head-joints")
    (area,) = document["areas"]
    assert area["direction_deg"] == 270.0
    # 270 degrees is down: left of it is to the right, so that strips start at x = 0.4 m.
    pitch = 1.0 + 0.002
    edges = {round((min(x for x, _ in strip["outline"]) - 0.4) % pitch, 4) for strip in area["strips"]}
    assert edges - {0.0, round(pitch, 4)} <= {round((0.006 - 0.4) % pitch, 4)}
    assert all(len(strip["pieces"]) == 1 and not strip["across"] for strip in area["strips"])


def test_comparison_lists_sheet_against_seams(plan: Path) -> None:
    """Other ways to lay the plan follow its layout; a time limit of nothing still lays it."""
    ways = lay(plan, "--compare", "--roll-length", "14 m")["alternatives"]
    sheet = [way["consumed_area_m2"] for way in ways]
    seams = [way["seam_length_m"] for way in ways]
    assert sheet == sorted(sheet)
    assert seams == sorted(seams, reverse=True)
    assert lay(plan, "--seconds", "0")["areas"][0]["strips"]


def test_faults_of_options_are_told_at_once(plan: Path) -> None:
    """Each option that cannot be read is named; options of plans are refused for a job."""
    found = refused(plan, "--part-roll", "much", "--part-roll", "3 m@dear", "--trim", "wide")
    assert sorted(found) == ["--part-roll", "--part-roll", "--trim"]
    assert refused(plan, "--roll-price", "3", "--roll-length", "9 m", "--roll-length", "4 m") == [
        "--roll-price"
    ]
    assert refused(plan, "--effort", "huge") == ["--effort"]
    assert refused(plan, "--seconds", "-1") == ["--seconds"]
    assert refused(plan, "--start", "1 m") == ['area "room", start']
    job = JOBS / "laundry.toml"
    assert refused(job, "--part-roll", "3 m") == [str(job)]
    for given in (
        ["--stagger", "300 mm"],
        ["--effort", "normal"],
        ["--seed", "0"],
        ["--list"],
        ["--one-way"],
    ):
        assert refused(job, *given) == [str(job)], given
    with pytest.raises(Problems, match="--no-head-joints lay a bare plan"):
        CliRunner().invoke(app, ["layout", str(job), "--no-head-joints"], catch_exceptions=False)


@pytest.mark.parametrize(("options", "named"), [
    (("--roll-length", "30 kg"), "--roll-length"),
    (("--start", "left"), "--start"),
    (("--roll-length", "20 cm"), "--smallest-piece"),
    (("--seam-gap", "2 m"), "--seam-gap"),
    (("--roll-width", "90 m"), "--roll-width"),
    (("--cut-cost", "-1"), "--cut-cost"),
])  # fmt: skip
def test_a_bad_size_is_told_by_its_option(plan: Path, options: tuple[str, ...], named: str) -> None:
    """What is no length, or out of reach, names what was written."""
    assert named in refused(plan, *options)


def test_a_plain_number_is_meters(plan: Path) -> None:
    """A bare plan is in meters, and so is what stands beside it without a unit."""
    plain = lay(plan, "--roll-width", "1", "--roll-length", "30", "--seam-gap", "0.004", "--edge-gap", "0")
    units = ("--roll-width", "1000 mm", "--roll-length", "30 m", "--seam-gap", "4 mm", "--edge-gap", "0 in")
    assert plain == lay(plan, *units)
