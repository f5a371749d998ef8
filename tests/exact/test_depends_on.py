"""What an answer depends on: right on both sides of every boundary, and the same as trying every case.

All checks are derived: values that are said to be out or not are judged again by themselves, with the exact
effort, with adversarial completions, and by full enumeration where few values are left.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tests.exact.test_exact import every_case, floors, small
from tests.judge.floors import BOOK, SAMPLES

from undercourse.advise.cases import lay_cases
from undercourse.advise.completions import draw_completions, settle_table
from undercourse.advise.depends_on import depends_on
from undercourse.advise.evaluating import Evaluated, evaluate, evaluate_columns
from undercourse.advise.exact import exact_verdicts
from undercourse.advise.narrowing import deciding_facts, undecided
from undercourse.advise.proving import kind_of
from undercourse.advise.witnesses import Budget
from undercourse.base.domains import Choices, Span, Spec, just_above, just_below, read_spec
from undercourse.base.units import to_si
from undercourse.facts.jobs import Area, Reading
from undercourse.judge.results import NEEDS_FACTS

KITCHEN = next(area for area in SAMPLES if area.name == "Kitchen over a basement, 16 in joists")
Entry = Mapping[str, Any]


def told(evaluated: Evaluated, budget: Budget | None = None) -> dict[str, list[dict[str, Any]]]:
    """What the first row depends on."""
    return depends_on(evaluated, BOOK, 0, exact_verdicts(evaluated, BOOK, 0), budget)


def without(area: Area, *names: str) -> Area:
    """An area with some facts forgotten."""
    return replace(area, readings={name: r for name, r in area.readings.items() if name not in names})


def thirty(seed: int, want: int = 30) -> Evaluated:
    """A sample floor of which so many deciding facts were forgotten that about thirty are open."""
    rng = random.Random(seed)
    while True:
        area = rng.choice(SAMPLES)
        order = sorted(name for name in area.readings if not name.startswith("layer_"))
        rng.shuffle(order)
        for size in range(4, len(order), 2):
            evaluated = evaluate([without(area, *order[:size])], BOOK, None)
            count = len(deciding_facts(undecided(evaluated, 0).values(), evaluated, BOOK, 0))
            if evaluated.problems or count > want + 3:
                break
            if count >= want - 3:
                return evaluated


def ranges(entry: Entry, key: str) -> list[tuple[float, float]]:
    """The ranges of an entry in SI."""
    unit = BOOK.vocabulary[entry["fact"]].domain.unit
    assert unit is not None
    return [(to_si(one["from"], unit), to_si(one["to"], unit)) for one in entry[key]]


def beside_boundaries(entry: Entry, key: str, whole: Spec) -> Iterator[Spec]:
    """Values of one side: every choice, and of numbers those at and just inside each boundary."""
    domain = BOOK.vocabulary[entry["fact"]].domain
    if isinstance(whole, Choices):
        for name in entry[key]:
            yield read_spec(domain, name)
        return
    for low, high in ranges(entry, key):
        ends = [(low, just_above(low))] if low > whole.low else []
        ends += [(high, just_below(high))] if high < whole.high else []
        for at, inside in ends:
            yield Span(at, at)
            if low < inside < high:
                yield Span(inside, inside)


def judged_at(evaluated: Evaluated, fact: str, values: Sequence[Spec]) -> Evaluated:
    """The first row once more for each value of one fact."""
    area = evaluated.areas[0]
    areas = [replace(area, readings={**area.readings, fact: Reading(value, "test")}) for value in values]
    return evaluate(areas, BOOK, None)


def agree(evaluated: Evaluated, rng: random.Random, most: int) -> int:
    """Hold entries against the exact effort on both sides of their boundaries; how many values were tried."""
    tried = 0
    entries = [(name, entry) for name, some in told(evaluated).items() for entry in some]
    for name, entry in rng.sample(entries, min(most, len(entries))):
        whole = evaluated.facts.columns.spec(entry["fact"], 0)
        for key, allows in (("suitable_values", True), ("not_suitable_values", False)):
            if "curve" in entry and not entry[key]:
                continue
            values = list(beside_boundaries(entry, key, whole))
            again = judged_at(evaluated, entry["fact"], values)
            for row in range(len(values)):
                if row in again.problems:
                    continue
                found = exact_verdicts(again, BOOK, row, Budget(4000))[name]
                tried += 1
                if allows:
                    assert kind_of(found.verdict) in ("suits", ""), (name, entry, values[row])
                else:
                    assert kind_of(found.verdict) != "suits", (name, entry, values[row])
                    assert found.witness is None, (name, entry, values[row])
    return tried


@pytest.mark.parametrize("seed", range(3))
def test_both_sides_of_every_boundary_agree_with_the_exact_effort(seed: int) -> None:
    """What is said to be out has no way to suit; what is said to be in is not proven out."""
    rng = random.Random(seed)
    assert sum(agree(evaluated, rng, 6) for evaluated in floors(70 + seed, 5)) > 20


def test_with_thirty_open_facts_too() -> None:
    """The same on floors of which little is known, for some of the entries."""
    assert agree(thirty(7), random.Random(1), 4) > 8


@pytest.mark.parametrize("seed", range(2))
def test_no_completion_suits_with_a_value_that_is_out(seed: int) -> None:
    """Adversarial completions inside what is said to be out, of every entry."""
    for evaluated in [*floors(90 + seed, 4), thirty(20 + seed)]:
        for name, entries in told(evaluated).items():
            for entry in entries:
                fact, facts = entry["fact"], evaluated.facts.columns
                whole = facts.spec(fact, 0)
                if isinstance(whole, Choices):
                    outs: list[Spec] = [read_spec(BOOK.domains[fact], entry["not_suitable_values"])]
                else:
                    outs = [Span(*ends) for ends in ranges(entry, "not_suitable_values")]
                for out in outs:
                    table = lay_cases(facts, 0, [{fact: out}])
                    if not settle_table(table, BOOK).all():
                        continue
                    inside = evaluate_columns(evaluated.areas, table, {}, BOOK, None)
                    names = deciding_facts(
                        [j for j in inside.of_row(0) if j.candidate.id == name], inside, BOOK, 0
                    )
                    drawn = draw_completions(inside, BOOK, 0, names, 40, seed=seed, adversarial=True)
                    again = drawn.judge(inside, BOOK, 0, [name])
                    judgement = next(j for j in again.of_row(0) if j.candidate.id == name)
                    codes = np.broadcast_to(judgement.verdict, (40,))[drawn.sound]
                    assert "suits" not in {kind_of(int(code)) for code in codes}, (name, entry)


@pytest.mark.parametrize("seed", range(3))
def test_the_same_as_trying_every_case(seed: int) -> None:
    """On small vocabularies each value is out exactly where no case with it suits."""
    rng = random.Random(seed)
    compared = 0
    for evaluated in floors(120 + seed, 6):
        narrowed = small(evaluated, rng)
        for name, entries in told(narrowed).items():
            for entry in entries:
                fact = entry["fact"]
                if not isinstance(narrowed.facts.columns.spec(fact, 0), Choices):
                    continue
                for key, allows in (("suitable_values", True), ("not_suitable_values", False)):
                    for value in entry[key]:
                        table = lay_cases(
                            narrowed.facts.columns, 0, [{fact: read_spec(BOOK.domains[fact], value)}]
                        )
                        assert settle_table(table, BOOK).all()
                        inside = evaluate_columns(narrowed.areas, table, {}, BOOK, None)
                        kinds = every_case(inside)[name]
                        if "" in kinds or not entry["exact"]:
                            continue
                        compared += 1
                        assert ("suits" in kinds) is allows, (name, entry, value, kinds)
    assert compared


def test_a_written_limit_is_told_as_it_is_written() -> None:
    """kind = practice. The sheet's own row ends at 19.2 in: that belongs to what may suit."""
    found = told(evaluate([without(KITCHEN, "joist_spacing")], BOOK, None))
    entry = next(one for one in found["low-meadow-3"] if one["fact"] == "joist_spacing")
    single = entry["suitable_when"].partition(";")[0]
    assert single in ("up to 19.2 in (488 mm)", "up to 16 in (406 mm)") or "19.2" not in single
    plain = told(evaluate([without(KITCHEN, "joist_spacing", "joist_span")], BOOK, None))
    entry = next(one for one in plain["low-meadow-3"] if one["fact"] == "joist_spacing")
    assert entry["suitable_when"].startswith("up to 19.2 in (488 mm)")
    assert entry["not_suitable_when"].startswith("over 19.2 in (488 mm)")


def test_the_curve_of_two_numbers_parts_what_suits_from_what_does_not() -> None:
    """Span by spacing of the kitchen's joists: past the line nothing suits, well within it the floor does."""
    evaluated = evaluate([without(KITCHEN, "joist_spacing", "joist_span")], BOOK, None)
    entry = next(one for one in told(evaluated)["low-meadow-3"] if "curve" in one)
    assert (entry["fact"], entry["with"], entry["side"]) == ("joist_span", "joist_spacing", "up to")
    assert entry["curve_units"] == ["in", "in"]
    points = entry["curve"]
    assert 6 <= len(points) <= 12
    assert [y for _, y in points] == sorted((y for _, y in points), reverse=True)
    assert 19.2 in [x for x, _ in points]
    inch = 0.0254
    tries = [(x, y, share) for x, y in points for share in (0.95, 1.0, 1.005, 1.2)]
    area = evaluated.areas[0]
    areas = [
        replace(area, readings={
            **area.readings,
            "joist_spacing": Reading(Span(x * inch, x * inch), "test"),
            "joist_span": Reading(Span(y * share * inch, y * share * inch), "test"),
        })
        for x, y, share in tries
    ]  # fmt: skip
    again = evaluate(areas, BOOK, None)
    judgement = next(j for j in again.of_row(0) if j.candidate.id == "low-meadow-3")
    bounded = 0
    for row, (_, y, share) in enumerate(tries):
        verdict = int(judgement.verdict[row])
        if share > 1 and y < max(y for _, y in points):
            bounded += 1
            assert kind_of(verdict) == "fails"
        elif share == 1.0:
            assert verdict == NEEDS_FACTS or kind_of(verdict) == "suits"
        elif share < 1:
            assert kind_of(verdict) in ("suits", "")
    assert bounded > 10


def test_the_same_floor_gives_the_same_entries() -> None:
    """Nothing hangs on the clock or on what was asked before."""
    evaluated = thirty(5)
    assert told(evaluated) == told(evaluate(evaluated.areas, BOOK, None))


def test_a_spent_budget_says_less_and_nothing_wrong() -> None:
    """With little to spend values stay in, entries are not called exact, and no more is out."""
    evaluated = thirty(5)
    whole, short = told(evaluated), told(evaluated, Budget(1))
    assert any(not entry["exact"] for entries in short.values() for entry in entries)
    for name, entries in short.items():
        known = {entry["fact"]: entry for entry in whole[name]}
        for entry in entries:
            if isinstance(evaluated.facts.columns.spec(entry["fact"], 0), Choices):
                assert set(entry["not_suitable_values"]) <= set(known[entry["fact"]]["not_suitable_values"])


def test_closed_verdicts_depend_on_nothing() -> None:
    """Only candidates whose verdict is open have entries."""
    evaluated = thirty(5)
    assert set(told(evaluated)) == set(undecided(evaluated, 0))
    assert not told(evaluate([KITCHEN], BOOK, None))
