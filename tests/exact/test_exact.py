"""Exact verdicts of one area: never against a completion, and the same as trying every case."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from tests.judge.floors import BOOK, SAMPLES, half_known, is_slot

from undercourse.advise.completions import draw_completions, one_row, settle_table
from undercourse.advise.evaluating import Evaluated, evaluate, evaluate_columns
from undercourse.advise.exact import Exact, exact_verdicts
from undercourse.advise.narrowing import deciding_facts, undecided
from undercourse.advise.proving import cut_spec, kind_of
from undercourse.advise.sweeps import is_open
from undercourse.advise.witnesses import Budget
from undercourse.base.columns import ChoiceColumn, Columns, spec_column
from undercourse.base.domains import Choices, Span, just_above
from undercourse.base.frame import Frame
from undercourse.judge.results import NEEDS_FACTS, NEEDS_RULING
from undercourse.line.comparing import compare

MOST_CASES = 1500
FACTS = Frame(Columns(BOOK.domains, 1))


def floors(seed: int, count: int) -> list[Evaluated]:
    """Half-known floors with an open verdict among their candidates."""
    rng = random.Random(seed)
    found: list[Evaluated] = []
    while len(found) < count:
        evaluated = evaluate([half_known(rng)], BOOK, None)
        if not evaluated.problems.get(0) and undecided(evaluated, 0):
            found.append(evaluated)
    return found


@pytest.mark.parametrize("seed", range(4))
def test_no_completion_contradicts_an_exact_verdict(seed: int) -> None:
    """What is proven closed is so in every adversarial completion of the facts that decide."""
    for evaluated in floors(seed, 8):
        waiting = undecided(evaluated, 0)
        names = deciding_facts(waiting.values(), evaluated, BOOK, 0)
        proven = exact_verdicts(evaluated, BOOK, 0)
        drawn = draw_completions(evaluated, BOOK, 0, names, 200, seed=900 + seed, adversarial=True)
        for judgement in drawn.judge(evaluated, BOOK, 0, list(waiting)).of_row(0):
            exact = proven[judgement.candidate.id]
            kinds = {kind_of(int(code)) for code in judgement.verdict[drawn.sound]} - {""}
            if exact.verdict != NEEDS_FACTS:
                assert kinds <= {kind_of(exact.verdict)}


@pytest.mark.parametrize("seed", range(2))
def test_no_fact_that_seems_idle_contradicts_an_exact_verdict(seed: int) -> None:
    """Of floors of which little is told: completions of all other facts, not only of those that decide."""
    rng = random.Random(seed)
    compared = 0
    for _ in range(3):
        sample = rng.choice(SAMPLES)
        told = rng.sample(sorted(sample.readings), min(len(sample.readings), 14))
        area = replace(sample, readings={name: sample.readings[name] for name in told})
        evaluated = evaluate([area], BOOK, None)
        if evaluated.problems:
            continue
        proven = exact_verdicts(evaluated, BOOK, 0)
        names = [
            name
            for name in BOOK.vocabulary.facts
            if name not in BOOK.made_so and not is_slot(name) and is_open(evaluated.facts[name], 0)
        ]
        drawn = draw_completions(evaluated, BOOK, 0, names, 150, seed=70 + seed, adversarial=True)
        for judgement in drawn.judge(evaluated, BOOK, 0, list(proven)).of_row(0):
            exact = proven[judgement.candidate.id]
            codes = np.broadcast_to(judgement.verdict, (150,))[drawn.sound]
            kinds = {kind_of(int(code)) for code in codes} - {""}
            if exact.verdict == NEEDS_FACTS:
                continue
            compared += 1
            # Where a statement is missing for sure, what is open may put the sheet out besides.
            besides = {"fails"} if exact.verdict == NEEDS_RULING else set()
            assert kinds <= {kind_of(exact.verdict)} | besides, (sample.name, judgement.candidate.id)
    assert compared


def small(evaluated: Evaluated, rng: random.Random) -> Evaluated:
    """The floor with every open deciding fact narrowed to a few values, so that all cases can be tried."""
    facts = evaluated.facts.columns.copy()
    cases = 1
    for name in deciding_facts(undecided(evaluated, 0).values(), evaluated, BOOK, 0):
        spec = facts.spec(name, 0)
        if isinstance(spec, Choices):
            places = [p for p in range(spec.bits.bit_length()) if spec.bits >> p & 1]
            kept = rng.sample(places, min(len(places), 3 if cases < MOST_CASES / 3 else 1))
            cases *= len(kept)
            facts[name] = spec_column(Choices(sum(1 << p for p in kept)))
        else:
            value = rng.choice([spec.low, spec.high, (spec.low + spec.high) / 2])
            facts[name] = spec_column(Span(value, value))
    return evaluate_columns(evaluated.areas, facts, {}, BOOK, None)


def every_case(evaluated: Evaluated) -> dict[str, Counter[str]]:
    """Every combination of the values left, judged one by one."""
    facts = evaluated.facts.columns
    names = [
        name
        for name in deciding_facts(undecided(evaluated, 0).values(), evaluated, BOOK, 0)
        if isinstance(facts[name], ChoiceColumn)
    ]
    values = []
    for name in names:
        spec = facts.spec(name, 0)
        assert isinstance(spec, Choices)
        values.append([1 << p for p in range(spec.bits.bit_length()) if spec.bits >> p & 1])
    cases = list(itertools.product(*values))
    table = one_row(facts, 0, len(cases))
    for place, name in enumerate(names):
        table[name] = ChoiceColumn(np.array([case[place] for case in cases], dtype=np.uint64))
    sound = settle_table(table, BOOK)
    again = evaluate_columns([evaluated.areas[0]] * len(cases), table, {}, BOOK, None)
    return {
        one.candidate.id: Counter(kind_of(int(code)) for code in one.verdict[sound])
        for one in again.of_row(0)
    }


@pytest.mark.parametrize("seed", range(6))
def test_exact_is_what_trying_every_case_gives(seed: int) -> None:
    """On small vocabularies the proof and the full enumeration agree on every candidate."""
    rng = random.Random(seed)
    compared = 0
    for evaluated in floors(40 + seed, 6):
        narrowed = small(evaluated, rng)
        if not undecided(narrowed, 0):
            continue
        whole = every_case(narrowed)
        proven = exact_verdicts(narrowed, BOOK, 0, Budget(400_000))
        for name, kinds in whole.items():
            if not sum(kinds.values()) or "" in kinds or not proven[name].exact:
                continue
            compared += 1
            if len(kinds) > 1:
                assert proven[name].verdict == NEEDS_FACTS
            else:
                assert kind_of(proven[name].verdict) == next(iter(kinds))
    assert compared


def test_exact_is_tighter_and_never_looser_than_the_limits(capsys: pytest.CaptureFixture[str]) -> None:
    """Counts where a proof closes what limit by limit leaves open, and where it gives up."""
    tally: Counter[str] = Counter()
    for evaluated in floors(7, 40):
        proven = exact_verdicts(evaluated, BOOK, 0)
        for judgement in evaluated.of_row(0):
            exact, before = proven[judgement.candidate.id], int(judgement.verdict[0])
            if before != NEEDS_FACTS:
                assert exact == Exact(before, True)
                continue
            tally["closed" if exact.verdict != NEEDS_FACTS else "open" if exact.exact else "given up"] += 1
    with capsys.disabled():
        print(f"\nOpen by limits: {dict(tally)}.")
    assert tally["closed"] > 0
    assert tally["open"] > tally["given up"]


def test_a_spent_budget_is_told() -> None:
    """Without anything to spend, what is open stays open and is not called exact."""
    evaluated = floors(3, 1)[0]
    proven = exact_verdicts(evaluated, BOOK, 0, Budget(0))
    for name in undecided(evaluated, 0):
        assert proven[name] == Exact(NEEDS_FACTS, False, 0) or proven[name].exact


def test_the_same_floor_gives_the_same_proof() -> None:
    """Nothing hangs on the clock or on what was asked before."""
    evaluated = floors(11, 1)[0]
    first = exact_verdicts(evaluated, BOOK, 0)
    assert first == exact_verdicts(evaluate(evaluated.areas, BOOK, None), BOOK, 0)


def test_a_range_is_cut_where_a_limit_is_written() -> None:
    """The written number ends one part and the other starts beyond it; without one the middle is taken."""
    at_most = (0.45, just_above(0.45))
    assert cut_spec(Span(0.2, 0.8), [(0.3, just_above(0.3)), at_most]) == [
        Span(0.2, 0.45),
        Span(just_above(0.45), 0.8),
    ]
    assert cut_spec(Span(0.0, 1.0), []) == [Span(0.0, 0.5), Span(0.5, 1.0)]
    assert cut_spec(Choices(0b101), []) == [Choices(1), Choices(4)]


@pytest.mark.parametrize("comparison", ["at_most", "at_least"])
def test_a_cut_closes_the_limit_on_either_side(comparison: str) -> None:
    """Of every number that a limit writes, the parts on its two sides are surely kept and surely passed."""
    limits = [*BOOK.practice.rules, *(x for p in BOOK.line.products.values() for x in p.limits)]
    tried = 0
    for limit in limits:
        spec, domain = limit.capacity.spec, BOOK.domains.get(limit.demand)
        if (
            limit.comparison != comparison
            or not isinstance(spec, Span)
            or limit.demand not in BOOK.vocabulary
        ):
            continue
        end = spec.high if comparison == "at_most" else spec.low
        if domain is None or not domain.low < end < domain.high:
            continue
        tried += 1
        cuts = [cut for cut in BOOK.cuts[limit.demand] if cut[0] <= end <= cut[1] or end in cut]
        kept = []
        for last, first in cuts:
            below, above = (spec_column(s) for s in (Span(domain.low, last), Span(first, domain.high)))
            truths = [compare(limit, column, FACTS) for column in (below, above)]
            kept.append([(bool(t.may[0]), bool(t.must[0])) for t in truths])
        closed = [(True, True), (False, False)] if comparison == "at_most" else [(False, False), (True, True)]
        assert closed in kept, (limit.id, end)
    assert tried > 5
