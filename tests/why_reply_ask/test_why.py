"""Proofs prove and are minimal; what would make a product lose does, and nothing else does.

No source outside gives proofs; every check here is derived: a proof is judged again by itself, by leaving
facts out, by brute force over smaller sets, and by possible floors that agree with it.
"""

from __future__ import annotations

import random
from itertools import combinations
from typing import Any

import pytest
from tests.judge.floors import SAMPLES

from undercourse.advise.apart import telling_apart
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.exact import exact_verdicts
from undercourse.advise.losing import describe, what_would_lose
from undercourse.advise.reasons import why_document
from undercourse.advise.why import fact_units, shortest_proof
from undercourse.base.columns import pick
from undercourse.base.domains import Span
from undercourse.base.problems import Problems
from undercourse.facts.jobs import Area
from undercourse.judge.ranking import rank

from .places import BOOK, DAY, WORDS, completions, job_of, judged, verdict, with_facts

FLOORS = ("laundry", "Q13", "Q16")
SMALL = ("Q15", "Q16")


def proofs_of(area: Area) -> list[dict[str, Any]]:
    """The proof of every candidate's verdict."""
    evaluated = judged([area])
    return [shortest_proof(evaluated, BOOK, 0, j.candidate.id) for j in evaluated.of_row(0)]


@pytest.fixture(scope="module")
def proofs() -> dict[str, list[dict[str, Any]]]:
    """Proofs of the first area of each floor."""
    return {name: proofs_of(job_of(name).areas[0]) for name in FLOORS}


def proven(evaluated: Evaluated, candidate: str, row: int = 0) -> str:
    """A candidate's verdict in a row, by cases where no limit tells by itself."""
    found = verdict(evaluated, candidate, row)
    return WORDS[exact_verdicts(evaluated, BOOK, row)[candidate].verdict] if found == "needs_facts" else found


@pytest.mark.parametrize("name", FLOORS)
def test_proof_alone_gives_the_verdict_and_no_fact_can_go(
    name: str, proofs: dict[str, list[dict[str, Any]]]
) -> None:
    """With everything else unknown the verdict stands; with any one fact less it does not, even by cases."""
    area = job_of(name).areas[0]
    rng = random.Random(name)
    shown = 0
    for proof in proofs[name]:
        if not proof["proved"]:
            assert proof["facts"] == []
            assert proof["verdict"] == "needs_facts"
            continue
        chosen = [fact["fact"] for fact in proof["facts"]]
        fewer = [[one for one in chosen if one != gone] for gone in chosen]
        again = judged([with_facts(area, some) for some in [chosen, *fewer]], only={proof["candidate"]})
        assert proven(again, proof["candidate"], 0) == proof["verdict"]
        rows = range(1, len(fewer) + 1)
        assert proof["verdict"] not in {verdict(again, proof["candidate"], row) for row in rows}
        for row in rng.sample(rows, min(2, len(rows))):
            assert proven(again, proof["candidate"], row) != proof["verdict"], (
                proof["candidate"],
                fewer[row - 1],
            )
        shown += 1
    assert shown


@pytest.mark.parametrize("name", SMALL)
def test_no_smaller_set_proves_where_the_proof_is_called_smallest(name: str) -> None:
    """Brute force over all smaller sets of facts on floors of which little is known."""
    area = job_of(name).areas[0]
    units = list(fact_units(area.readings))
    for proof in proofs_of(area):
        if not (proof["proved"] and proof["smallest"]) or not proof["facts"]:
            continue
        fewer = [chosen for size in range(len(proof["facts"])) for chosen in combinations(units, size)]
        again = judged([with_facts(area, chosen) for chosen in fewer], only={proof["candidate"]})
        found = {verdict(again, proof["candidate"], row) for row in range(len(fewer))}
        assert proof["verdict"] not in found


@pytest.mark.parametrize("name", ["laundry", "Q13"])
def test_no_floor_that_agrees_with_a_proof_escapes_it(
    name: str, proofs: dict[str, list[dict[str, Any]]]
) -> None:
    """Where a proof says not suitable, no possible floor with its facts is anything else."""
    area = job_of(name).areas[0]
    tried = 0
    for seed, proof in enumerate(p for p in proofs[name] if p["verdict"] == "not_suitable"):
        alone = with_facts(area, [fact["fact"] for fact in proof["facts"]])
        floors = completions(alone, 60, seed)
        tried += len(floors)
        again = judged(floors, only={proof["candidate"]})
        found = [verdict(again, proof["candidate"], row) for row in range(len(floors))]
        assert set(found) <= {"not_suitable", "needs_facts"}, proof["sentence"]
        # Where no limit tells by itself, cases do.
        for row in [row for row, one in enumerate(found) if one == "needs_facts"][:2]:
            assert proven(again, proof["candidate"], row) == "not_suitable", proof["sentence"]
    assert tried > 20


def test_each_fact_of_a_proof_is_one_sentence(proofs: dict[str, list[dict[str, Any]]]) -> None:
    """A sentence begins with a capital, ends in a stop and names the value."""
    for some in proofs.values():
        for proof in some:
            for fact in proof["facts"]:
                text = fact["sentence"]
                assert text[0].isupper()
                assert text.endswith(".")
                assert "\n" not in text
            if proof["verdict"] == "not_suitable":
                assert all(item["reason"] and item["source"] for item in proof["because"])
                assert proof["because"]


@pytest.mark.parametrize(("name", "first", "second"), [
    ("laundry", "low-meadow-3", "dewpond-liquid"),
    ("laundry", "proposed", "low-meadow-3"),
    ("terrace", "high-meadow-8", "low-meadow-3"),
])  # fmt: skip
def test_facts_that_tell_apart_put_one_out_and_not_the_other(name: str, first: str, second: str) -> None:
    """On these facts alone the worse verdict stands and the other product does not get it."""
    area = job_of(name).areas[0]
    evaluated = judged([area])
    found = telling_apart(evaluated, BOOK, 0, first, second)
    assert {found["first_verdict"], found["second_verdict"]} == {"suitable_if", "not_suitable"}
    worse, other = (first, second) if found["first_verdict"] == "not_suitable" else (second, first)
    alone = with_facts(area, [fact["fact"] for fact in found["facts"]])
    assert proven(judged([alone], only={worse}), worse) == "not_suitable"
    assert proven(judged([alone], only={other}), other) != "not_suitable"
    side = "against_first" if worse == first else "against_second"
    assert found[side]
    assert not found["against_first" if side == "against_second" else "against_second"]


def test_a_fact_that_goes_unmissed_is_left_out_and_named() -> None:
    """Whatever bears the floor, the plate is too high for the laundry: its base is not part of the proof."""
    evaluated = judged([job_of("laundry").areas[0]])
    proof = shortest_proof(evaluated, BOOK, 0, "high-meadow-8")
    assert [fact["fact"] for fact in proof["facts"]] == ["layers", "height_available", "tile_thickness"]
    assert "Base need not be known for that: in each case some limit fails." in proof["sentence"]
    assert not proof["smallest"]
    assert len(proof["because"]) == 1
    assert proof["because"][0]["source"]


def test_what_is_said_of_things_to_be_made_so_keeps_no_idle_fact() -> None:
    """A patio's jurisdiction matters beside what is said of its joints, not for a proof without that."""
    area = next(area for area in SAMPLES if area.name == "Patio on the ground, hard frost")
    proof = shortest_proof(judged([area]), BOOK, 0, "high-meadow-8")
    chosen = [fact["fact"] for fact in proof["facts"]]
    assert proof["verdict"] == "suitable_if"
    sets = [chosen, *([one for one in chosen if one != gone] for gone in chosen)]
    again = judged([with_facts(area, some) for some in sets], only={"high-meadow-8"})
    found = [verdict(again, "high-meadow-8", row) for row in range(len(sets))]
    assert found[0] in ("suitable_if", "needs_facts")
    assert proven(again, "high-meadow-8", 0) == "suitable_if"
    assert "suitable_if" not in found[1:]


def test_equal_verdicts_say_so_and_name_no_fact() -> None:
    """Two products that are both out get no proof between them, only what is said of each alone."""
    evaluated = judged([job_of("laundry").areas[0]])
    found = telling_apart(evaluated, BOOK, 0, "dewpond-liquid", "limekiln-vapor")
    assert found["first_verdict"] == found["second_verdict"] == "not_suitable"
    assert "the same verdict" in found["sentence"]
    assert found["facts"] == []
    assert found["against_first"]
    assert found["against_second"]


def recommended(area: Area) -> str | None:
    """What is recommended for an area; None where the site is stopped."""
    evaluated = judged([area])
    assert not evaluated.problems
    stopped = int(pick(evaluated.site.status, 0)) == 2
    return None if stopped else rank(evaluated.judgements, BOOK.line.ranking, 0).recommended


def changed(area: Area, fact: str, text: str) -> Area:
    """The area with one fact said otherwise."""
    from dataclasses import replace

    from undercourse.base.domains import read_spec

    spec = read_spec(BOOK.vocabulary.domains[fact], text)
    return replace(area, readings={**area.readings, fact: replace(area.readings[fact], spec=spec)})


@pytest.fixture(scope="module")
def losing() -> dict[str, dict[str, Any]]:
    """What would make the laundry's recommendation lose, by fact."""
    evaluated = judged([job_of("laundry").areas[0]])
    return {item["fact"]: item for item in what_would_lose(evaluated, BOOK, 0)}


@pytest.mark.parametrize(("fact", "keeps", "loses"), [
    # The product's own row ends at 19.2 in.
    ("joist_spacing", "19.2 in", "19.21 in"),
    # IRC R301.5 as the shipped rule has it: a dwelling is designed for at least 40 psf (published).
    ("live_load", "40 psf", "39.9 psf"),
    ("wood_panel_moisture", "14 %", "14.1 %"),
])  # fmt: skip
def test_written_limit_is_told_as_it_is_written(
    fact: str, keeps: str, loses: str, losing: dict[str, dict[str, Any]]
) -> None:
    """On the near side of the number the product stays first, beyond it it does not."""
    area = job_of("laundry").areas[0]
    now = recommended(area)
    assert keeps in losing[fact]["loses_when"]
    assert recommended(changed(area, fact, keeps)) == now
    assert recommended(changed(area, fact, loses)) != now


@pytest.mark.parametrize(("chosen", "text"), [
    ((0, 1), "under 19.2 in (488 mm)"),
    ((0, 1, 2), "up to 19.2 in (488 mm)"),
    ((3, 4), "over 19.2 in (488 mm)"),
    ((2, 3, 4), "at least 19.2 in (488 mm)"),
    ((2,), "19.2 in (488 mm)"),
    ((0, 1, 3, 4), "under 19.2 in (488 mm) or over 19.2 in (488 mm)"),
])  # fmt: skip
def test_the_end_of_a_run_is_told_on_its_own_side(chosen: tuple[int, ...], text: str) -> None:
    """A written number is tried with a neighbor on either side, and sometimes others stand close by."""
    domain, end = BOOK.vocabulary.domains["joist_spacing"], 19.2 * 0.0254
    numbers = [0.2, end * (1 - 1e-5) - 1e-7, end, end * (1 + 1e-5) + 1e-7, 0.6]
    values = [Span(number, number) for number in numbers]
    kept = [values[place] for place in chosen]
    assert describe(domain, values, kept, [end]) == text
    # Another tried value right before the lower neighbor: still under the number, not up to it.
    close = Span(numbers[1] - 1e-6, numbers[1] - 1e-6)
    crowded = [values[0], close, *values[1:]]
    more = [close, *kept] if 1 in chosen else kept
    assert describe(domain, crowded, more, [end]) == text


@pytest.mark.parametrize("fact", ["exposure", "joist_size", "wants_heating", "cracks"])
def test_every_choice_is_on_the_side_that_is_told(fact: str, losing: dict[str, dict[str, Any]]) -> None:
    """Each value of a choice, judged alone, loses if it is named as losing and stays first if not."""
    area = job_of("laundry").areas[0]
    now = recommended(area)
    told = losing[fact]["loses_when"]
    domain = BOOK.vocabulary.domains[fact]
    for value in domain.choices:
        other = changed(area, fact, value)
        if judged([other], only=set()).problems:
            continue
        if told.startswith("anything but "):
            said = value not in told.removeprefix("anything but ").replace(" or ", ", ").split(", ")
        else:
            said = value in told.replace(" or ", ", ").split(", ")
        assert said == (recommended(other) != now), value


def test_computed_limit_is_bracketed_closely(losing: dict[str, dict[str, Any]]) -> None:
    """A span that bends too far: the told length loses, 2 percent less does not."""
    from undercourse.base.domains import Span, read_spec

    area = job_of("laundry").areas[0]
    now = recommended(area)
    told = losing["joist_span"]["loses_when"]
    assert told.startswith("from about ")
    length = told.removeprefix("from about ").split(" (")[0]
    spec = read_spec(BOOK.vocabulary.domains["joist_span"], length)
    assert isinstance(spec, Span)
    assert recommended(changed(area, "joist_span", f"{spec.low * 1.01:.4f} m")) != now
    assert recommended(changed(area, "joist_span", f"{spec.low * 0.98:.4f} m")) == now


def test_unknown_product_is_refused_with_the_ids_that_there_are() -> None:
    """A slip names what could have been meant."""
    with pytest.raises(Problems, match="low-meadow-3"):
        why_document(job_of("laundry"), BOOK, DAY, [0], "no-such-sheet")
