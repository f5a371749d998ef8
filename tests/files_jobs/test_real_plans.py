"""Answers and layouts on real floors: every open room polygon and the rooms of a real drawing.

Open data: Westport House (WRLD indoor map examples, CC BY 4.0) and the duplex apartment test files
(buildingSMART International, CC BY 4.0); see tests/data/open/LICENSE_AND_SOURCE.md.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon

from undercourse.base.problems import Problems
from undercourse.facts.jobs import read_job
from undercourse.files.areas import with_plans
from undercourse.files.reporting import prepare
from undercourse.files.shipped import rulebook

OPEN = Path(__file__).parent.parent / "data" / "open"
BOOK = rulebook(None)
DAY = dt.date(2026, 11, 25)
FACTS: dict[str, Any] = {
    "jurisdiction": "US",
    "exposure": "interior",
    "room": "office",
    "surface": "floor",
    "base": "suspended slab",
    "top_surface": "concrete",
    "occupancy": "office or reception",
    "wheels": "none",
    "finish": "porcelain",
    "wet_exposure": "dry",
    "heating": "none",
}
ROOMS = json.loads((OPEN / "rooms.geojson").read_text(encoding="utf-8"))["features"]


def job(areas: list[dict[str, Any]]) -> Any:
    """A job on these areas."""
    return read_job(
        {"name": "real rooms", "facts": FACTS, "areas": areas}, BOOK.vocabulary, lambda path: f"test {path}"
    )


@pytest.mark.parametrize("feature", ROOMS, ids=lambda f: f["id"])
def test_every_real_room_is_answered_laid_and_counted(feature: dict[str, Any]) -> None:
    """The whole chain runs on the room, and the layout covers its net area from rolls not below the bound."""
    rings = feature["geometry"]["coordinates"]
    area = {"name": feature["id"], "outline": rings[0][:-1], "obstacles": [ring[:-1] for ring in rings[1:]]}
    papers = prepare(job([area]), BOOK, DAY, advise=False, membrane="low-meadow-3")
    assert not papers.problems
    (laid,) = papers.layouts
    net = Polygon(rings[0], rings[1:]).area
    assert laid["net_area_m2"] == pytest.approx(net, rel=1e-6)
    assert net == pytest.approx(feature["properties"]["area_m2"], abs=0.01)
    assert laid["rolls"] >= laid["roll_bound"]
    assert laid["consumed_area_m2"] > 0.9 * net
    membrane = [line for line in papers.takeoffs[0]["lines"] if line["role"] == "membrane"]
    assert sum(line["packs"] for line in membrane) == laid["rolls"]


def test_rooms_of_a_real_drawing_become_areas() -> None:
    """An area whose plan is a real DXF is laid in; its areas agree with the outlines."""
    found = with_plans(job([{"name": "duplex", "plan": "duplex_level1.dxf"}]), OPEN)
    assert len(found.areas) > 5
    assert all(area.outline for area in found.areas)
    papers = prepare(found, BOOK, DAY, advise=False, membrane="low-meadow-3")
    assert not papers.problems
    assert {a["area"] for a in papers.answer["areas"]} == {a.name for a in found.areas}
    assert papers.layouts[0]["net_area_m2"] == pytest.approx(
        sum(Polygon(a.outline, a.obstacles).area for a in found.areas), rel=1e-6
    )


def test_one_named_room_of_a_drawing_fills_its_area() -> None:
    """room_name picks; a name that is not there lists those that are."""
    every = with_plans(job([{"name": "duplex", "plan": "duplex_level1.dxf"}]), OPEN)
    name = every.areas[0].name.removeprefix("duplex: ")
    one = with_plans(job([{"name": "mine", "plan": "duplex_level1.dxf", "room_name": name}]), OPEN)
    assert [area.name for area in one.areas] == ["mine"]
    with pytest.raises(Problems) as caught:
        with_plans(job([{"name": "mine", "plan": "duplex_level1.dxf", "room_name": "Ballroom"}]), OPEN)
    assert "Ballroom" in str(caught.value)


@pytest.mark.parametrize(
    ("outline", "obstacles", "word"),
    [
        ([[0, 0], [2, 2], [2, 0], [0, 2]], [], "cross"),
        ([[0, 0], [1, 0], [2, 0]], [], "area"),
        ([[0, 0], [4, 0], [4, 3], [0, 3]], [[[9, 9], [10, 9], [10, 10]]], "outside"),
        ([[0, 0], [0.003, 0], [0.003, 0.003], [0, 0.003]], [], ""),
        ([[0, 0], [3000, 0], [3000, 3000], [0, 3000]], [], ""),
    ],
    ids=["self-crossing", "no area", "obstacle outside", "3 mm", "3 km"],
)
def test_impossible_outlines_are_told_with_their_place(outline: Any, obstacles: Any, word: str) -> None:
    """Each fault is a problem that names the area; nothing is laid."""
    with pytest.raises(Problems) as caught:
        with_plans(job([{"name": "odd", "outline": outline, "obstacles": obstacles}]), OPEN)
    text = str(caught.value)
    assert "areas" in text
    assert word in text.lower()
