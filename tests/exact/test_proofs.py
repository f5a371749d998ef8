"""Verdicts that only cases prove: their proofs, reasons, conditions and prep. Derived checks throughout.

The floors are samples in which one or a few facts are less known than they were, so that no single limit
decides and every case still does.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from tests.exact.test_provided import completed, made_so
from tests.judge.floors import BOOK, SAMPLES

from undercourse.advise.answers import area_document
from undercourse.advise.cases import lay_cases
from undercourse.advise.completions import draw_completions, settle_table
from undercourse.advise.evaluating import Evaluated, evaluate, evaluate_columns
from undercourse.advise.exact import exact_verdicts, tighten
from undercourse.advise.narrowing import deciding_facts
from undercourse.advise.prep import prep, prep_of_answer
from undercourse.advise.proof_cases import cases_of, is_by_cases
from undercourse.advise.proof_trials import fact_units
from undercourse.advise.provided import provided
from undercourse.advise.proving import kind_of
from undercourse.advise.why import shortest_proof
from undercourse.base.domains import read_spec
from undercourse.facts.jobs import Area, Reading
from undercourse.judge.results import NEEDS_FACTS, NOT_SUITABLE, SUITABLE, SUITABLE_IF, Judgement


def known_less(name: str, *forgotten: str, **facts: str) -> Area:
    """A sample floor with facts forgotten, or said with more values than before."""
    area = next(one for one in SAMPLES if one.name == name)
    said = {fact: Reading(read_spec(BOOK.domains[fact], raw), "test") for fact, raw in facts.items()}
    kept = {fact: reading for fact, reading in area.readings.items() if fact not in forgotten}
    return replace(area, readings={**kept, **said})


MAT = known_less(
    "Hall with a heating mat leveled over the sheet", heating="none | electric cable | electric mat"
)
TILE = known_less("Laundry over a crawl space", tile_long_edge="12..24 in")
CARTS = known_less(
    "Kitchen of a canteen with steel carts", "wheels", "live_load", "chemicals", coating="none | other"
)
SHOWER = known_less("Hospital shower floor", "live_load", "chemicals", "surface_sound")
FLOORS = [
    (MAT, "inglenook-heat", NOT_SUITABLE),
    (TILE, "low-meadow-3", SUITABLE),
    (CARTS, "dewpond-liquid", SUITABLE_IF),
    (SHOWER, "dewpond-liquid", SUITABLE_IF),
]
NAMES = [area.name for area, _, _ in FLOORS]


@cache
def judged(place: int) -> tuple[Evaluated, Judgement]:
    """A floor judged exactly, with the judgement of the candidate that it is about."""
    area, name, _ = FLOORS[place]
    evaluated = evaluate([area], BOOK, None)
    tighten(evaluated, BOOK, 0)
    return evaluated, next(one for one in evaluated.of_row(0) if one.candidate.id == name)


def kinds_of_completions(evaluated: Evaluated, name: str, count: int, seed: int) -> set[str]:
    """The kinds of verdict that adversarial completions of a floor reach."""
    table = lay_cases(evaluated.facts.columns, 0, [{}])
    settle_table(table, BOOK)
    inside = evaluate_columns(evaluated.areas, table, {}, BOOK, None, [name])
    names = deciding_facts(inside.of_row(0), inside, BOOK, 0)
    drawn = draw_completions(inside, BOOK, 0, names, count, seed, adversarial=True)
    codes = drawn.judge(inside, BOOK, 0, [name]).of_row(0)[0].verdict
    return {kind_of(int(code)) for code in np.broadcast_to(codes, (count,))[drawn.sound]}


@pytest.mark.parametrize("place", range(len(FLOORS)), ids=NAMES)
def test_limits_leave_it_open_and_cases_close_it(place: int) -> None:
    """Limit by limit facts are needed; the exact verdict is the one that completions have."""
    area, name, wanted = FLOORS[place]
    evaluated, judgement = judged(place)
    plain = evaluate([area], BOOK, None)
    assert next(int(j.verdict[0]) for j in plain.of_row(0) if j.candidate.id == name) == NEEDS_FACTS
    assert int(judgement.verdict[0]) == wanted
    assert is_by_cases(judgement, 0)
    assert kinds_of_completions(evaluated, name, 200, place) == {kind_of(wanted)}


def with_units(area: Area, chosen: list[str]) -> Area:
    """The area with some of its stated facts and nothing else known."""
    units = fact_units(area.readings)
    names = [name for unit in chosen for name in units[unit]]
    return replace(area, readings={name: area.readings[name] for name in names})


def test_a_proof_by_cases_proves_and_no_fact_can_go() -> None:
    """On its facts alone no completion escapes; without any one of them some does."""
    evaluated, judgement = judged(0)
    proof = shortest_proof(evaluated, BOOK, 0, judgement.candidate.id)
    chosen = [fact["fact"] for fact in proof["facts"]]
    assert proof["proved"]
    assert proof["verdict"] == "not_suitable"
    assert 0 < len(chosen) <= 4
    alone = evaluate([with_units(MAT, chosen)], BOOK, None)
    assert kinds_of_completions(alone, judgement.candidate.id, 400, 1) == {"fails"}
    for gone in chosen:
        # What suits on a floor of which more is known suits with fewer facts too.
        fewer = evaluate(
            [with_units(MAT, [one for one in fact_units(MAT.readings) if one != gone])], BOOK, None
        )
        found = exact_verdicts(fewer, BOOK, 0)[judgement.candidate.id]
        assert (found.verdict, found.witness is not None) == (NEEDS_FACTS, True), gone


@pytest.mark.parametrize("place", [1, 3])
def test_a_suiting_verdict_by_cases_keeps_what_it_rests_on(place: int) -> None:
    """Every completion of the proof's facts alone suits as the floor does."""
    area, name, _ = FLOORS[place]
    evaluated, _ = judged(place)
    proof = shortest_proof(evaluated, BOOK, 0, name)
    chosen = [fact["fact"] for fact in proof["facts"]]
    assert len(chosen) < len(fact_units(area.readings))
    assert "every limit is kept" in proof["sentence"]
    alone = evaluate([with_units(area, chosen)], BOOK, None)
    assert kinds_of_completions(alone, name, 300, 2) == {"suits"}


def test_the_reasons_are_the_cases_with_the_limit_that_fails_in_each() -> None:
    """A few sentences; what is said of a group of cases holds in each of its completions."""
    evaluated, judgement = judged(0)
    proof = cases_of(judgement, evaluated, BOOK, 0)
    assert proof is not None
    assert {kind_of(leaf.verdict) for leaf in proof.leaves} == {"fails"}
    document = area_document(evaluate([MAT], BOOK, None), BOOK, 0)
    candidate = next(c for c in document["candidates"] if c["id"] == judgement.candidate.id)
    assert candidate["verdict"] == "not_suitable"
    assert candidate["exact"]
    assert not candidate["depends_on"]
    assert 2 <= len(candidate["why_not"]) <= 4
    told = " ".join(candidate["why_not"])
    for value in ("electric mat", "electric cable"):
        assert f"Where heating is {value}: " in told
        only = replace(MAT, readings={
            **MAT.readings, "heating": Reading(read_spec(BOOK.domains["heating"], value), "test"),
        })  # fmt: skip
        single = evaluate([only], BOOK, None, {judgement.candidate.id}).judgements[0]
        assert int(single.verdict[0]) == NOT_SUITABLE
    for item in shortest_proof(evaluated, BOOK, 0, judgement.candidate.id)["because"]:
        assert item["reason"].startswith("Where heating is electric ")
        assert item["source"]


@pytest.mark.parametrize("place", [2, 3])
def test_what_only_some_case_asks_for_is_listed(place: int) -> None:
    """Conditions that limits do not settle by themselves: with the list made so every completion suits."""
    evaluated, judgement = judged(place)
    lines = [line for line in provided(judgement, evaluated, BOOK, 0) if "value" in line]
    assert lines
    name = judgement.candidate.id
    assert all(completed(evaluated, made_so(evaluated, lines), name, 150, place))
    for gone in lines:
        rest = [line for line in lines if line is not gone]
        assert not all(completed(evaluated, made_so(evaluated, rest), name, 150, place))


def only_candidate(evaluated: Evaluated, name: str) -> Evaluated:
    """The same with one candidate of the line."""
    kept = [one for one in evaluated.judgements if one.candidate.id == name]
    return replace(evaluated, judgements=kept)


def test_prep_is_offered_for_what_only_cases_close(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where exact verdicts leave nothing in play the answer offers work, and the floor after it suits."""
    evaluated, judgement = judged(0)
    alone = only_candidate(evaluated, judgement.candidate.id)
    found = prep_of_answer(alone, BOOK, 0)
    assert found["prep"] == prep(alone, BOOK, 0)["prep"]
    closed = {int(one.verdict[0]) for one in alone.judgements}
    assert closed == {NOT_SUITABLE}
    monkeypatch.setattr("undercourse.advise.answers.prep_of_answer", lambda *_: {"prep": ["asked for"]})
    fresh = evaluate([MAT], BOOK, None, {judgement.candidate.id})
    assert int(fresh.judgements[0].verdict[0]) == NEEDS_FACTS
    document: dict[str, Any] = area_document(fresh, BOOK, 0)
    assert document["prep"] == ["asked for"]
    assert document["recommended"] is None
