"""Sets of works: each does what it says, and none cheaper is missed.

The checks are derived: works are applied to the job's own readings by ``by_hand`` and judged from the
start, and every set of one or two works is tried, whatever it may seem to be good for.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest

from undercourse.advise.evaluating import evaluate
from undercourse.advise.prep import prep, search
from undercourse.facts.jobs import Area
from undercourse.judge.results import VERDICT_WORDS

from .by_hand import (
    BOOK,
    SAMPLES,
    WORKS,
    After,
    all_sets,
    apply,
    demo_areas,
    hurt_floors,
    layered,
    said,
    size_of,
    suits,
    undominated,
)

# Sample floors for which the line recommends nothing, floors of the demo jobs, floors with two things
# wrong, and floors where layers lie on one another.
BATH = SAMPLES["Bath on particleboard"]
BURIED = layered(BATH, ("sheet vinyl", "1/8 in"), ("particleboard", "5/8 in"), ("plywood", "5/8 in"))
# Joists that are too weak and, as they are, not fit to be sistered; nothing else is wrong, nor room below.
SPLIT = said(
    SAMPLES["Kitchen over a basement, 16 in joists"],
    joist_span="15 ft 6 in",
    space_below="occupied room",
    framing_condition="split or repaired",
    joist_spacing="11.5 in",
    joist_species="HF",
    joist_grade="No.3",
    schedule_days="90 day",
)
# Joists within an inch of their longest span: what a second layer weighs is one thing too much.
NARROW = said(
    SAMPLES["Kitchen over a basement, 16 in joists"],
    joist_span="14 ft 3 in",
    panel_edges="unsupported",
    space_below="occupied room",
    height_available="4 in",
)


@dataclass(frozen=True)
class Case:
    """A floor for which nothing suits, and what the search says of it."""

    area: Area
    date: Any

    @cache  # noqa: B019
    def found(self, most: int = 4) -> dict[str, Any]:
        return prep(evaluate([self.area], BOOK, self.date), BOOK, 0, most=most)

    def __hash__(self) -> int:
        return id(self)


def _cases() -> list[Case]:
    areas: list[tuple[Area, Any]] = [(area, None) for area in SAMPLES.values()]
    areas += [*demo_areas(), *((area, None) for area in hurt_floors(4, seed=3))]
    areas += [(SPLIT, None), (NARROW, None)]
    areas.append((said(BURIED, asbestos_test="not tested", schedule_days="60 day"), None))
    areas.append((said(BURIED, asbestos_test="found", schedule_days="60 day"), None))
    return [Case(area, date) for area, date in areas if not suits(evaluate([area], BOOK, date), 0, 0.0)]


CASES = _cases()


def by_hand(case: Case, found: dict[str, Any]) -> After:
    """A set of the search applied to the job's readings."""
    after = apply(case.area, [WORKS[name] for name in found["works"]])
    assert after is not None, found["works"]
    return after


def test_there_is_something_to_check() -> None:
    """Enough floors, and among them some with sets of one work, of more, and without any."""
    sizes = {len(one["works"]) for case in CASES for one in case.found()["prep"]}
    assert len(CASES) > 14
    assert {1, 2} <= sizes
    assert any(not case.found()["prep"] for case in CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.area.name)
def test_each_set_applied_and_judged_again_gives_what_it_says(case: Case) -> None:
    """Verdict, candidate, cost, days, height, weight and gates, from the floor written anew."""
    for found in case.found()["prep"]:
        after = by_hand(case, found)
        evaluated = evaluate([after.area], BOOK, case.date)
        assert not evaluated.problems
        good = suits(evaluated, 0, after.weight_kg_m2)
        assert good[found["candidate"]] == found["verdict"]
        assert found["verdict"] in VERDICT_WORDS[:2]
        assert found["cost"] == pytest.approx(after.cost, abs=0.01)
        assert found["days"] == pytest.approx(after.days, abs=0.01)
        assert found["height_m"] == pytest.approx(after.height_m, rel=1e-4)
        assert found["weight_kg_m2"] == pytest.approx(after.weight_kg_m2, rel=1e-4)
        gates = {gate.id: gate for gate in BOOK.works.gates}
        assert [gate["who"] for gate in found["gates"]] == [gates[name].who for name in after.gates]
        in_gates = sum(gate["cost"] for gate in found["gates"])
        in_works = sum(w.cost.fixed + w.cost.per_m2 * size_of(case.area) for w in after.works)
        assert found["cost"] == pytest.approx(in_works + in_gates, abs=0.01)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.area.name)
def test_no_set_is_idle_in_part(case: Case) -> None:
    """Without any one of its works a set no longer does."""
    for found in case.found()["prep"]:
        for left_out in found["works"]:
            fewer = apply(case.area, [WORKS[name] for name in found["works"] if name != left_out])
            if fewer is not None:
                assert not suits(evaluate([fewer.area], BOOK, case.date), 0, fewer.weight_kg_m2)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.area.name)
def test_every_undominated_set_of_two_is_found_and_no_other(case: Case) -> None:
    """All sets of one or two works by brute force."""
    looking = search(evaluate([case.area], BOOK, case.date), BOOK, 0)
    said_so = {tuple(sorted(work.id for work in found.state.done)) for found in looking.run(2)}
    assert said_so == undominated(all_sets(case.area, 2, case.date))


def test_three_by_brute_force() -> None:
    """One floor that takes three works in a row, all sets of up to three tried."""
    area = said(
        SAMPLES["Kitchen over a basement, 16 in joists"],
        panel_edges="unsupported",
        panel_fastened=False,
        flatness_10ft="5/16 in",
        schedule_days="60 day",
    )
    found = prep(evaluate([area], BOOK, None), BOOK, 0, most=3)["prep"]
    assert any(len(one["works"]) == 3 for one in found)
    assert {tuple(sorted(one["works"])) for one in found} == undominated(all_sets(area, 3))


def test_a_given_membrane_must_suit() -> None:
    """With a membrane named, the sets are those after which it suits, and none is cheaper than any's."""
    area = SAMPLES["Kitchen on trusses at 24 in with 11/16 in to spare"]
    evaluated = evaluate([area], BOOK, None)
    cheapest = prep(evaluated, BOOK, 0)["prep"][0]["cost"]
    own = prep(evaluated, BOOK, 0, "millrace-sheet")["prep"]
    for found in own:
        after = apply(area, [WORKS[name] for name in found["works"]])
        assert after is not None
        assert "millrace-sheet" in suits(evaluate([after.area], BOOK, None), 0, after.weight_kg_m2)
        assert found["cost"] >= cheapest


def test_a_floor_that_suits_needs_nothing() -> None:
    """No work is named where something suits as it is."""
    found = prep(evaluate([SAMPLES["Hall bath on 3/4 in plywood"]], BOOK, None), BOOK, 0)
    assert found["already"]
    assert not found["prep"]
    assert not found["one_number"]


def test_a_floor_that_suits_by_cases_needs_nothing_either() -> None:
    """No limit tells by itself, yet in each case the sheet suits: with none of its works to do."""
    area = said(SAMPLES["Laundry over a crawl space"], tile_long_edge="12..24 in")
    evaluated = evaluate([area], BOOK, None, {"low-meadow-3"})
    assert not suits(evaluated, 0, 0.0)
    found = prep(evaluated, BOOK, 0, "low-meadow-3")
    assert found["already"].startswith("Low Meadow Uncoupling Sheet, 3 mm is suitable")
    assert not found["prep"]
    assert not found["one_number"]


def test_the_schedule_counts() -> None:
    """What takes longer than there is time is not offered; the same with time is."""
    area = said(SAMPLES["Moving crack with an offset"], schedule_days="60 day")
    took = prep(evaluate([area], BOOK, None), BOOK, 0)["prep"]
    days = min(found["days"] for found in took)
    short = said(area, schedule_days=f"{days - 1:g} day")
    assert not prep(evaluate([short], BOOK, None), BOOK, 0)["prep"]


def test_height_at_doors_counts() -> None:
    """A second layer that fixes the panels takes height; without it left the set must find it elsewhere."""
    area = said(
        SAMPLES["Kitchen over a basement, 16 in joists"],
        panel_edges="unsupported",
        space_below="occupied room",
    )
    roomy = prep(evaluate([area], BOOK, None), BOOK, 0)["prep"]
    assert any(any(name.startswith("second layer") for name in found["works"]) for found in roomy)
    low = said(area, height_available="13/16 in")
    for found in prep(evaluate([low], BOOK, None), BOOK, 0)["prep"]:
        assert found["height_m"] == 0 or "trim the doors" in found["works"]
