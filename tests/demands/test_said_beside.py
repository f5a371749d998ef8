"""What is said beside a number: that it is no estimate, and what a rug, a wheel, wet panels do to it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from undercourse.advise.answers import answered
from undercourse.advise.demanding import demand_document, set_demand
from undercourse.cli.app import app
from undercourse.demands import DEMANDS
from undercourse.demands.record import PUBLISHED
from undercourse.files.jobfiles import load_job
from undercourse.files.shipped import rulebook, vocabulary

BOOK = rulebook()
FLOOR = """
name = "Floor"
date = 2026-11-16
[place]
jurisdiction = "US"
exposure = "interior"
surface = "floor"
{lines}
[[area]]
name = "Room"
"""
HEATED = (
    '[framing]\nbase = "slab on ground"\n[heat]\nheating = "electric cable"\nrug_resistance = "{} m2K/W"\n'
)
ROLLED = '[framing]\nbase = "slab on ground"\n[service]\nwheels = "{}"\nwheel_load = "{} lb"\n'
DECKED = '[framing]\nbase = "sawn joists"\njoist_wet_service = {}\n'


def cautions(lines: str, folder: Path) -> str:
    """All cautions of a floor, in one text."""
    path = folder / "job.toml"
    path.write_text(FLOOR.format(lines=lines), encoding="utf-8")
    document, _ = answered(load_job(path, vocabulary()), BOOK, date(2026, 11, 16), advise=False)
    return " ".join(item["text"] for item in document["areas"][0]["cautions"])


@pytest.mark.parametrize(
    ("lines", "words", "said"),
    [
        # EN 1264-2, annex A: no covering of more than 0.15 m2 K/W (published).
        (HEATED.format("0.2"), "heat down", True),
        (HEATED.format("0.05"), "heat down", False),
        # ASTM C627: no cycle loads a wheel with more than 300 lb (published).
        (ROLLED.format("steel", 700), "of one wheel", True),
        (ROLLED.format("steel", 250), "of one wheel", False),
        (ROLLED.format("soft rubber", 700), "of one wheel", False),
        # Panel design specification: 0.85 of the stiffness from 16 % of moisture on (memory, 85).
        (DECKED.format("true"), "counted dry", True),
        (DECKED.format("false"), "counted dry", False),
        # Of a floor that may have no old covering at all nothing is said as if it had.
        (HEATED.format("0"), "Where old adhesive or paint has to come off", True),
    ],
)
def test_a_caution_stands_where_its_cause_is_told(lines: str, words: str, said: bool, tmp_path: Path) -> None:
    """And only there."""
    assert (words in cautions(lines, tmp_path)) is said


def test_a_number_of_anything_at_all_is_called_so() -> None:
    """The ends of a whole domain are no estimate; once told, nothing is said of it."""
    known = ["finish=porcelain", "exposure=interior", "surface=floor", "mosaic=no", "grout_joint=1/8 in"]
    known += ["yearly_temperature_range=20 deltaF", "sealant_movement=25 %"]
    told = ["movement_joint_spacing=12 ft"]
    for sets, silent in ((known, False), (known + told, True)):
        arguments = [part for item in sets for part in ("--set", item)]
        shown = CliRunner().invoke(app, ["demand", "movement_joint_least_width", *arguments]).stdout
        assert ("Nothing is known of" not in shown) is silent


def test_what_is_not_in_print_is_not_called_published() -> None:
    """The 300 lb of a concentrated load is remembered, the width that shares it bounded (memory, 88)."""
    for name in ("joist_concentrated_deflection", "panel_concentrated_deflection"):
        assert DEMANDS[name].rests_on != PUBLISHED


def test_no_sentence_divides_by_a_sensor_that_feels_nothing() -> None:
    """Wide spacing, thin tile: half way between two cables the floor is hardly warmer than the room."""
    sets = ["heating=electric cable", "heating_spacing=12 in", "heating_power=12 W/ft2"]
    sets += [
        "room_temperature=70 F",
        "heating_sensor_limit=84 F",
        "finish=porcelain",
        "tile_thickness=1/4 in",
    ]
    document = demand_document(set_demand("heat_surface_peak_held", sets, BOOK), BOOK)
    most = {name: float(np.max(part)) for name, part in document["working"]["most"].items()}
    assert most["gain"] > 1000
    assert f"{most['gain']:,.0f}"[:3] not in document["working"]["sentence"]
    assert "full power" in document["working"]["sentence"]
