"""One demand from a few facts: the number of the hand calculation, its range, its faults."""

from __future__ import annotations

from typing import Any

import pytest

from undercourse.advise.demanding import demand_document, demand_list, set_demand
from undercourse.base.problems import Problems
from undercourse.demands import DEMANDS
from undercourse.files.shipped import rulebook
from undercourse.judge.rulebook import Rulebook

BOOK = rulebook(None)
LIVE = "joist_live_deflection"
FLOOR = [
    "base=sawn joists",
    "joist_species=SPF",
    "joist_grade=No.2",
    "joist_size=2x10",
    "joist_plies=1",
    "joist_wet_service=no",
    "joist_spacing=16 in",
    "joist_span=13 ft 2 in",
    "live_load=40 psf",
    "joist_spans=1",
]
# What only a sister or framing of another kind would make count.
UNSAID = {
    *("framing_live_l_over", "framing_stated_as", "joist_ei", "framing_rated_l_over", "framing_rated_load"),
    *("joist_sister_species", "joist_sister_grade"),
}


def worked_out(name: str, settings: list[str], book: Rulebook) -> dict[str, Any]:
    """A demand worked out from settings."""
    return demand_document(set_demand(name, settings, book), book)


def test_deflection_is_that_of_the_hand_calculation() -> None:
    """5 w L^4 / (384 E I) in pounds and inches.

    E = 1,400,000 psi for SPF No.2 (NDS Supplement, table 4A), I = 98.93 in4 for 2x10 (table 1B):
    published values; the formula is a derived identity.
    """
    load, span = 40 * 16 / 12 / 12, 158.0
    deflection = 5 * load * span**4 / (384 * 1.4e6 * 98.93)
    document = worked_out(LIVE, FLOOR, BOOK)
    assert document["value"] == pytest.approx(deflection / span, rel=1e-3)
    assert document["value_text"] == f"L/{span / deflection:.0f}"
    assert document["working"]["most"]["deflection_m"] == pytest.approx(deflection * 0.0254, rel=1e-3)
    assert "13 ft 2 in (4.01 m)" in document["working"]["sentence"]
    assert document["source"]
    assert {row["name"] for row in document["inputs"] if row["open"]} == UNSAID
    assert document["unused"] == []


def test_range_of_a_fact_gives_the_range_of_the_demand() -> None:
    """At its ends the range is the two single answers, and deflection over span grows as the cube."""
    spans = [f"joist_span={span}" for span in ("12 ft", "14 ft", "12..14 ft")]
    *ends, both = (worked_out(LIVE, [*FLOOR[:7], span, *FLOOR[8:]], BOOK) for span in spans)
    assert both["value"] == {"from": ends[0]["value"], "to": ends[1]["value"]}
    assert ends[1]["value"] / ends[0]["value"] == pytest.approx((14 / 12) ** 3, rel=1e-4)
    assert both["working"]["sentence"].startswith("At the unfavorable end")
    for name, end in (("least", ends[0]), ("most", ends[1])):
        assert both["working"][name]["deflection_m"] == pytest.approx(end["working"][name]["deflection_m"])
    assert "14 ft" in both["working"]["sentence"]


def test_column_of_an_assembly_may_be_set() -> None:
    """Porcelain is weighed by its finish; the layers as set, in either system (kind = derived)."""
    settings = ["finish=porcelain", "tile_thickness=3/8 in"]
    light = worked_out("added_dead_load", [*settings, "layers_weight=0 lb/ft2"], BOOK)["value"]
    heavy = worked_out("added_dead_load", [*settings, "layers_weight=2 lb/ft2"], BOOK)["value"]
    metric = worked_out("added_dead_load", [*settings, "layers_weight=9.764855 kg/m2"], BOOK)["value"]
    assert heavy["to"] - light["to"] == pytest.approx(2.0, rel=1e-4)
    assert metric["to"] == pytest.approx(heavy["to"], rel=1e-5)


def test_stated_framing_answers_with_what_its_designer_states() -> None:
    """L/480 for trusses is L/480, and no computation is shown for it."""
    document = worked_out(LIVE, ["base=open-web trusses", "framing_live_l_over=480"], BOOK)
    assert document["value_text"] == "L/480"
    assert "not from a computation" in document["working"]["sentence"]


def test_nothing_set_leaves_everything_open() -> None:
    """No default stands in for what was not said."""
    document = worked_out(LIVE, [], BOOK)
    assert document["value"]["from"] == 0
    assert document["value_text"].endswith("more than L/10")
    assert "anything" in document["working"]["sentence"]


def test_set_but_unread_facts_are_told() -> None:
    """A setting that changes nothing is not silently taken."""
    assert worked_out(LIVE, [*FLOOR, "curb_height=3 in"], BOOK)["unused"] == ["curb_height"]


def test_all_faults_of_settings_come_at_once() -> None:
    """Each faulty setting has its own line with a way to mend it."""
    settings = [
        "joist_span=13",
        "joist_spacing=16 lb",
        "jost_size=2x10",
        "live_load",
        "base=wood",
        "base=slab",
        "layers_weight=3 ft",
    ]
    with pytest.raises(Problems) as caught:
        worked_out("joist_live_deflecton", settings, BOOK)
    text = "\n".join(str(problem) for problem in caught.value.problems)
    for words in (
        'did you mean "joist_live_deflection"?',
        'joist_span = "13": no unit; write "13 in" or "330 mm"',
        "lb is a unit of mass, not of length",
        'did you mean "joist_size"?',
        '"live_load" is not FACT=VALUE',
        "base is set twice",
        "ft is a unit of length, not of mass per area",
    ):
        assert words in text
    assert len(caught.value.problems) == 7


def test_contradictory_settings_are_refused() -> None:
    """Both facts are named."""
    with pytest.raises(Problems, match="tile_short_edge") as caught:
        worked_out("assembly_height", ["tile_long_edge=6 in", "tile_short_edge=12 in"], BOOK)
    assert "tile_long_edge" in str(caught.value)


def test_fact_is_told_from_demand() -> None:
    """A fact cannot be worked out."""
    with pytest.raises(Problems, match="is a fact"):
        worked_out("joist_span", [], BOOK)


def test_list_names_every_demand_with_its_reads() -> None:
    """Directions are declared for each."""
    listed = demand_list()
    assert [row["name"] for row in listed] == list(DEMANDS)
    assert all({**row["reads"], **row["takes"]} and row["source"] for row in listed)
