"""Verdicts, dependence and conditions against every case of small rulebooks; derived by full enumeration."""

from __future__ import annotations

from collections import Counter
from functools import cache
from typing import Any

import pytest
from tests.exact.dense import DAY, FLAG, MADE_SO, NUMBERS, PLACES, SHEET, Point, Small, small_rulebook
from tests.judge.floors import WORDS

from undercourse.advise.depends_on import depends_on
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.exact import Exact, exact_verdicts, tighten
from undercourse.advise.provided import provided_lists
from undercourse.base.domains import Choices, Span, read_spec
from undercourse.base.units import to_si
from undercourse.judge.results import NEEDS_FACTS, NEEDS_RULING, NOT_SUITABLE, SUITABLE_IF

SEEDS = range(45)


@cache
def judged(seed: int) -> tuple[Small, Evaluated, Exact]:
    """A small rulebook, its floor judged limit by limit, and the exact verdict."""
    small = small_rulebook(seed)
    evaluated = evaluate([small.area], small.book, DAY, {SHEET})
    assert not evaluated.problems
    return small, evaluated, exact_verdicts(evaluated, small.book, 0)[SHEET]


@cache
def cases(seed: int) -> tuple[tuple[Point, str], ...]:
    """Every floor with what comes of it, read plainly."""
    small, _, _ = judged(seed)
    return tuple((floor, small.kind(floor)) for floor in small.floors())


def test_exact_verdicts_are_those_of_every_case(capsys: pytest.CaptureFixture[str]) -> None:
    """Choices, numbers, conditions, what must be stated, rulings, rules that give way: all the same."""
    tally: Counter[str] = Counter()
    for seed in SEEDS:
        _, evaluated, exact = judged(seed)
        kinds = {kind for _, kind in cases(seed)}
        assert exact.exact, seed
        if exact.verdict == NEEDS_FACTS:
            assert len(kinds) > 1, seed
        elif exact.verdict == NEEDS_RULING:
            # A statement is missing for sure; what is still open may put the sheet out besides.
            assert "suits" not in kinds, seed
        else:
            assert kinds == {"suits" if exact.verdict <= SUITABLE_IF else "fails"}, (seed, exact)
        before = int(evaluated.judgements[0].verdict[0])
        tally[
            "by cases" if before != exact.verdict else "open" if before == NEEDS_FACTS else "by limits"
        ] += 1
        tally["+".join(sorted(kinds))] += 1
    with capsys.disabled():
        print(f"\nSmall rulebooks: {dict(tally)}.")
    assert tally["open"] > 10
    assert tally["fails+suits"] > 3
    assert tally["fails+ruling+suits"] > 3


def allowed(entry: dict[str, Any], key: str, name: str, value: float | int) -> bool:
    """Whether a value is among those that an entry lists."""
    domain = WORDS.domains[name]
    if name in PLACES:
        spec = read_spec(domain, entry[key]) if entry[key] else Choices(0)
        assert isinstance(spec, Choices)
        return bool(spec.bits >> int(value) & 1)
    assert domain.unit is not None
    ends = [(to_si(one["from"], domain.unit), to_si(one["to"], domain.unit)) for one in entry[key]]
    # Twelve digits are printed; a number is told from its neighbor by far more than that.
    near = 1e-11 * abs(value)
    return any(low - near <= value <= high + near for low, high in ends)


def test_every_value_is_on_the_side_that_enumeration_gives() -> None:
    """A value is out exactly where no case with it suits; a fact without an entry has no such value."""
    values, entries = 0, 0
    for seed in SEEDS:
        small, evaluated, exact = judged(seed)
        if exact.verdict != NEEDS_FACTS:
            continue
        told = depends_on(evaluated, small.book, 0, {SHEET: exact})[SHEET]
        found = {entry["fact"]: entry for entry in told if "curve" not in entry}
        suits = [floor for floor, kind in cases(seed) if kind == "suits"]
        if not suits:
            assert not any(entry["suitable_values"] for entry in found.values() if entry["exact"]), seed
            continue
        for name in (*PLACES, *NUMBERS):
            good = {floor[name] for floor in suits}
            for value in small.grid(name):
                values += 1
                if name not in found:
                    assert value in good, (seed, name, value)
                    continue
                entry = found[name]
                assert entry["exact"], (seed, name)
                inside = allowed(entry, "suitable_values", name, value)
                outside = allowed(entry, "not_suitable_values", name, value)
                entries += 1
                assert inside == (value in good), (seed, name, value, entry)
                assert outside == (value not in good), (seed, name, value, entry)
    assert values > 500
    assert entries > 60


def test_what_must_be_made_so_is_enough_and_nothing_of_it_idle() -> None:
    """With the list kept every case suits; with any line broken some case does not."""
    lists = lines = 0
    for seed in SEEDS:
        small, evaluated, exact = judged(seed)
        if exact.verdict != SUITABLE_IF:
            continue
        lists += 1
        tighten(evaluated, small.book, 0)
        listed = provided_lists(evaluated.judgements, evaluated, small.book, 0)[SHEET]
        sets = {row["fact"]: read_spec(WORDS.domains[row["fact"]], row["value"]) for row in listed}
        assert sets.keys() <= {*MADE_SO, FLAG}
        for gone in (None, *sets):
            kept = {name: spec for name, spec in sets.items() if name != gone}
            outcomes = {
                small.outcome({**floor, **way})
                for floor in small.floors()
                for way in small.ways()
                if all(_lies(way[name], spec) for name, spec in kept.items())
            }
            if gone is None:
                assert outcomes == {"suits"}, seed
            else:
                lines += 1
                assert outcomes != {"suits"}, (seed, gone)
    assert lists > 3
    assert lines > 3


def _lies(value: float | int, spec: Any) -> bool:
    if isinstance(spec, Span):
        return spec.low - 1e-9 <= value <= spec.high + 1e-9
    return bool(spec.bits >> int(value) & 1)


def test_the_enumeration_can_tell() -> None:
    """Among the rulebooks there are all three kinds of cases, and closed verdicts of each."""
    kinds = {kind for seed in SEEDS for _, kind in cases(seed)}
    assert kinds == {"suits", "ruling", "fails"}
    assert NOT_SUITABLE in {judged(seed)[2].verdict for seed in SEEDS}
