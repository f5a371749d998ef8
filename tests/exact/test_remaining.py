"""The part of a rulebook that is still open in an area gives the same verdicts as all of it."""

from __future__ import annotations

import random

import numpy as np
import pytest
from tests.exact.test_exact import floors
from tests.judge.floors import BOOK, SAMPLES

from undercourse.advise.completions import draw_completions, settle_table
from undercourse.advise.evaluating import Evaluated, evaluate, evaluate_columns
from undercourse.advise.narrowing import deciding_facts, undecided
from undercourse.facts.jobs import Area
from undercourse.judge.remaining import remaining_rules


def forgotten(rng: random.Random) -> Evaluated:
    """A sample floor with most of its facts forgotten and a verdict open."""
    while True:
        sample = rng.choice(SAMPLES)
        kept = {name: r for name, r in sample.readings.items() if rng.random() < 0.5}
        evaluated = evaluate([Area(sample.name, kept, proposed=sample.proposed)], BOOK, None)
        if not evaluated.problems and undecided(evaluated, 0):
            return evaluated


@pytest.mark.parametrize("seed", range(6))
def test_verdicts_are_those_of_the_whole_rulebook(seed: int) -> None:
    """Completions of half of the open facts, plausible and adversarial, judged both ways."""
    rng = random.Random(seed)
    for evaluated in [*floors(300 + seed, 2), forgotten(rng)]:
        waiting = undecided(evaluated, 0)
        rules = remaining_rules(BOOK, evaluated.facts, waiting.values(), 0)
        assert len(rules.practice.rules) <= len(BOOK.practice.rules)
        names = deciding_facts(waiting.values(), evaluated, BOOK, 0)
        for adversarial in (False, True):
            some = rng.sample(names, (len(names) + 1) // 2)
            drawn = draw_completions(evaluated, BOOK, 0, some, 64, seed, adversarial)
            areas = [evaluated.areas[0]] * 64
            whole = evaluate_columns(areas, drawn.columns, {}, BOOK, None, list(waiting))
            part = evaluate_columns(areas, drawn.columns, {}, BOOK, None, list(waiting), rules)
            for one, other in zip(whole.of_row(0), part.of_row(0), strict=True):
                codes = [np.broadcast_to(j.verdict, (64,))[drawn.sound] for j in (one, other)]
                assert np.array_equal(*codes), one.candidate.id


@pytest.mark.parametrize("seed", range(4))
def test_what_prunes_is_that_of_all_consistency_rows(seed: int) -> None:
    """Tables become the same, and the same rows contradict themselves."""
    evaluated = forgotten(random.Random(50 + seed))
    waiting = undecided(evaluated, 0)
    rules = remaining_rules(BOOK, evaluated.facts, waiting.values(), 0)
    names = deciding_facts(waiting.values(), evaluated, BOOK, 0)
    drawn = draw_completions(evaluated, BOOK, 0, names[::3], 64, seed, True)
    tables = [drawn.columns.copy() for _ in range(2)]
    sound = [settle_table(table, book) for table, book in zip(tables, (BOOK, rules), strict=True)]
    assert np.array_equal(*sound)
    for name in names:
        for row in np.flatnonzero(sound[0])[:20].tolist():
            assert tables[0].spec(name, row) == tables[1].spec(name, row)
