"""Old layers, tensioned slabs, framing and electricity: nothing that touches them goes without its gate."""

from __future__ import annotations

import copy
import itertools
import re
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from undercourse.advise.evaluating import evaluate
from undercourse.advise.prep import prep
from undercourse.base.problems import Problems
from undercourse.facts.works import read_works

from .by_hand import BOOK, SAMPLES, WORDS, WORKS, apply, layered, said

FOLDER = files("undercourse").joinpath("data", "prep")
FILES = [(entry.name, tomllib.loads(entry.read_text("utf-8"))) for entry in FOLDER.iterdir()]
ROWS = {row["id"]: row for _, data in FILES for row in data.get("work", [])}
GATES = {row["id"]: row for _, data in FILES for row in data.get("gate", [])}

# What a row says that it does, read as a person would; not what the reader of the rows looks at.
TOUCHES = {
    "old resilient layers": r"\b(take up|break out|screw|refasten|cut out|grind|blast|"
    r"off by machine|open the floor|take out what is loose|removed by)\b",
    "framing": r"\b(sister|beam|add a joist|stiffen|repair or replace them)\b",
    "tensioned slab": r"\b(crack closed|clean out the resting cracks|drain changed)\b",
    "electricity": r"\b(cable|circuit|heating out)\b",
}


def touched(row: dict[str, Any]) -> set[str]:
    """What a row touches, by its sentence."""
    said_of_it = row["do"].lower()
    return {what for what, words in TOUCHES.items() if re.search(words, said_of_it)}


def gated(row: dict[str, Any]) -> set[str]:
    """What the gates of a row guard."""
    return {GATES[name]["touches"] for name in row.get("gates", [])} - {""}


def test_rows_are_plenty_and_known() -> None:
    """Every row is read; every fact, product-free, is one of the vocabulary."""
    assert len(ROWS) == len(WORKS) > 30
    for row in ROWS.values():
        for key in ("changes", "add", "times", "when", "unless", "needs"):
            assert set(row.get(key, {})) <= set(WORDS.facts), row["id"]
        assert set(row.get("forgets", [])) <= set(WORDS.facts)
        assert row["do"].endswith(".")
        assert row["by_whom"]
        assert row["cost"]["basis"] in ("demo figure", "common practice, no source")
        assert re.fullmatch(r"\d{4}-\d\d-\d\d", row["cost"]["date"])


@pytest.mark.parametrize("name", sorted(ROWS))
def test_what_a_row_touches_has_its_gate(name: str) -> None:
    """By the sentence that people read."""
    assert touched(ROWS[name]) <= gated(ROWS[name])


def test_each_thing_is_touched_by_some_row() -> None:
    """The sentences above find rows of every kind, so that the check can fail."""
    found = [touched(row) for row in ROWS.values()]
    assert all(sum(what in one for one in found) >= 2 for what in TOUCHES)


def _file(**change: Any) -> list[tuple[str, dict[str, Any]]]:
    """The shipped files with one row changed; None takes a key away."""
    found = copy.deepcopy(FILES)
    name = change.pop("id")
    for _, data in found:
        for row in data.get("work", []):
            if row["id"] == name:
                for key, value in change.items():
                    row.pop(key, None)
                    if value is not None:
                        row[key] = value
    return found


@pytest.mark.parametrize(
    "change",
    [
        {"id": "sister the joists", "gates": []},
        {"id": "take up resilient covering", "gates": []},
        {"id": "take up old tile", "changes": {}},
        {"id": "fill the cracks", "gates": []},
        {"id": "ground-fault circuit", "gates": None},
        {
            "id": "prime",
            "cost": {"per_m2": 4, "currency": "USD", "date": "2026-11-25", "basis": "somebody said"},
        },
        {
            "id": "prime",
            "cost": {"per_m2": 4, "currency": "EUR", "date": "2026-11-25", "basis": "demo figure"},
        },
        {"id": "prime", "changes": {"surface_prime": True}},
        {"id": "prime", "gates": ["nobody"]},
        {"id": "prime", "stage": "at last"},
        {"id": "prime", "tools": "brush"},
        {"id": "prime", "do": None},
    ],
    ids=lambda change: f"{change['id']}: {next(k for k in change if k != 'id')}",
)
def test_faulty_rows_are_told(change: dict[str, Any]) -> None:
    """A row without its gate, or with what nobody can read, is refused with its place."""
    read_works(_file(id="prime"), WORDS)
    with pytest.raises(Problems) as caught:
        read_works(_file(**change), WORDS)
    assert all(problem.what and problem.fix for problem in caught.value.problems)


VINYL = layered(
    said(SAMPLES["Old cushioned vinyl over a slab"], schedule_days="90 day"),
    ("cushioned vinyl", "1/8 in"),
    ("concrete", "4 in"),
)


def test_an_old_covering_waits_for_the_laboratory_and_pays_for_it() -> None:
    """Untested: the gate is named and its cost is in the sum. Tested clean: neither."""
    untested = prep(evaluate([said(VINYL, asbestos_test="not tested")], BOOK, None), BOOK, 0)["prep"]
    tested = prep(evaluate([said(VINYL, asbestos_test="none found")], BOOK, None), BOOK, 0)["prep"]
    assert untested
    for found in untested:
        (gate,) = [g for g in found["gates"] if g["touches"] == "old resilient layers"]
        assert gate["must_be"] == "none found"
        assert gate["cost"] > 0
    assert tested[0]["works"] == untested[0]["works"]
    assert not tested[0]["gates"]
    paid = sum(gate["cost"] for gate in untested[0]["gates"])
    assert untested[0]["cost"] - tested[0]["cost"] == pytest.approx(paid)


def test_asbestos_found_leaves_abatement_alone() -> None:
    """No set touches the covering but by a licensed contractor."""
    found = prep(evaluate([said(VINYL, asbestos_test="found")], BOOK, None), BOOK, 0)["prep"]
    assert found
    for one in found:
        assert "abate resilient covering" in one["works"]
        assert any("abatement" in gate["who"] for gate in one["gates"])
        assert not {"take up resilient covering", "grind", "shot-blast"} & set(one["works"])


def test_nobody_cuts_a_tensioned_slab() -> None:
    """Filling and closing cracks, and changing a drain, are never done there; unknown, they wait."""
    crack = said(SAMPLES["Moving crack with an offset"], schedule_days="90 day")
    cutting = {name for name, row in ROWS.items() if "tensioned slab" in gated(row)}
    assert len(cutting) >= 3
    tensioned = said(crack, post_tensioned=True)
    for found in prep(evaluate([tensioned], BOOK, None), BOOK, 0)["prep"]:
        assert not cutting & set(found["works"])
    for name in cutting:
        assert apply(tensioned, [WORKS[name]]) is None
    unknown = prep(evaluate([said(crack, post_tensioned="?")], BOOK, None), BOOK, 0)["prep"]
    assert any(cutting & set(found["works"]) for found in unknown)
    for found in unknown:
        if cutting & set(found["works"]):
            assert any(g["touches"] == "tensioned slab" and g["cost"] > 0 for g in found["gates"])


def test_framing_changes_with_approval_alone() -> None:
    """Also where a letter on the present framing is there: what is altered is approved anew."""
    area = said(SAMPLES["Kitchen over a basement, 16 in joists"], joist_span="16 ft", schedule_days="90 day")
    found = prep(evaluate([area], BOOK, None), BOOK, 0)["prep"]
    altering = {name for name, row in ROWS.items() if "framing" in gated(row)}
    assert found
    for one in found:
        if altering & set(one["works"]):
            assert any(g["touches"] == "framing" and g["who"] == "design professional" for g in one["gates"])
            assert any(g["cost"] > 0 for g in one["gates"])
    assert any(altering & set(one["works"]) for one in found)


def test_electricity_by_an_electrician() -> None:
    """A missing ground-fault circuit is put in by one, and one is named."""
    area = next(
        a for n, a in SAMPLES.items() if a.readings["heating"].said in ("electric cable", "electric mat")
    )
    missing = said(area, gfci_circuit=False, schedule_days="90 day")
    found = prep(evaluate([missing], BOOK, None), BOOK, 0)["prep"]
    assert found
    for one in found:
        assert any(g["who"] == "licensed electrician" for g in one["gates"])


def test_heavy_work_on_joists_waits_for_the_letter() -> None:
    """A mortar bed of 15 psf under tile is over the 10 psf that the trade row leaves without a letter."""
    bed = WORKS["sloped bed"]
    floor = SAMPLES["Kitchen over a basement, 16 in joists"]
    area = said(
        floor, room="shower", wet_exposure="wet", drain="bonding flange", membrane_fall="0 %",
        framing_plan_seen=False, wants_waterproofing=True, height_available="4 in", joist_span="9 ft",
        upturn_height="6 in", seams_treated=True, flood_tested=True, curb_height="4 in",
        schedule_days="90 day", tile_long_edge="4 in", tile_short_edge="4 in", wants_uncoupling=False,
        surface_primed=True,
    )  # fmt: skip
    found = prep(evaluate([area], BOOK, None), BOOK, 0)["prep"]
    with_bed = [one for one in found if bed.id in one["works"]]
    assert with_bed
    for one in with_bed:
        assert any(g["fact"] == "framing_plan_seen" for g in one["gates"])
        assert "letter on the framing" in one["works"] or any(g["touches"] == "framing" for g in one["gates"])


def test_gates_are_paid_once() -> None:
    """Two works behind one gate pay for it once."""
    area = said(VINYL, asbestos_test="not tested")
    alone = apply(area, [WORKS["take up resilient covering"]])
    both = apply(area, [WORKS["test for asbestos"], WORKS["take up resilient covering"]])
    assert alone is not None
    assert both is not None
    assert both.cost == alone.cost
    for first, second in itertools.pairwise(sorted(both.gates)):
        assert first != second
