"""No completion of a half-known floor may contradict what was said of it."""

from __future__ import annotations

import datetime as dt
import random

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.base.columns import pick
from undercourse.judge.results import (
    NEEDS_RULING,
    NOT_SUITABLE,
    OPEN,
    STOP,
    SUITABLE,
    SUITABLE_IF,
    VERDICT_WORDS,
    Judgement,
)

from .floors import BOOK, completions, half_known

DAY = dt.date(2026, 11, 25)


def keeps_provided(judgement: Judgement, completed: Evaluated, row: int) -> bool:
    """Whether a completion keeps everything that ``provided`` asks for."""
    for finding in judgement.findings:
        if int(pick(finding.status, 0)) != OPEN:
            continue
        for need in finding.requirements:
            if need.spec is None or need.fact.startswith("role:"):
                continue
            if not bool(pick(completed.facts.says(need.fact, need.spec).must, row)):
                return False
    return True


def contradicts(said: int, judgement: Judgement, completed: Evaluated, other: Judgement, row: int) -> bool:
    """Whether a completion's verdict contradicts the half-known floor's."""
    then = int(other.verdict[row])
    if said == SUITABLE:
        return then != SUITABLE
    if said == NOT_SUITABLE:
        return then != NOT_SUITABLE
    if said == NEEDS_RULING:
        return then in (SUITABLE, SUITABLE_IF)
    if said == SUITABLE_IF:
        return then not in (SUITABLE, SUITABLE_IF) and keeps_provided(judgement, completed, row)
    return False


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(st.integers(0, 2**32 - 1))
def test_completions_of_any_floor_never_contradict_its_verdicts(seed: int) -> None:
    """Suitable stays suitable, not suitable stays so, provided is enough, a missing ruling stays missing."""
    rng = random.Random(seed)
    area = half_known(rng)
    judged = evaluate([area], BOOK, DAY)
    if judged.problems:
        return
    completed = completions(rng, area, judged, 30)
    possible = [row for row in range(30) if row not in completed.problems]
    for judgement in judged.of_row(0):
        said = int(judgement.verdict[0])
        for row in possible:
            other = next(j for j in completed.of_row(row) if j.candidate.id == judgement.candidate.id)
            assert not contradicts(said, judgement, completed, other, row), (
                f"{area.name}: {judgement.candidate.id} was {VERDICT_WORDS[said]}, "
                f"a completion is {VERDICT_WORDS[int(other.verdict[row])]}"
            )


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(st.integers(0, 2**32 - 1))
def test_completions_of_a_ready_site_are_never_stopped(seed: int) -> None:
    """A site said to be ready has no completion with a stop, a stopped one none without."""
    rng = random.Random(seed)
    area = half_known(rng)
    judged = evaluate([area], BOOK, DAY)
    if judged.problems:
        return
    completed = completions(rng, area, judged, 30)
    status = np.broadcast_to(completed.site.status, (30,))
    said = int(pick(judged.site.status, 0))
    for row in range(30):
        if row in completed.problems:
            continue
        if said == 0:
            assert int(status[row]) == 0
        if said == STOP:
            assert int(status[row]) == STOP


def test_one_area_and_many_areas_get_the_same_verdicts() -> None:
    """Bulk and single are one path: a row's verdict does not depend on its neighbors."""
    rng = random.Random(7)
    areas = [half_known(rng) for _ in range(24)]
    together = evaluate(areas, BOOK, DAY)
    for row, area in enumerate(areas):
        alone = evaluate([area], BOOK, DAY)
        if alone.problems or row in together.problems:
            continue
        for one in alone.of_row(0):
            other = next(j for j in together.of_row(row) if j.candidate.id == one.candidate.id)
            assert int(one.verdict[0]) == int(other.verdict[row]), (area.name, one.candidate.id)
            assert one.utilisation[0] == other.utilisation[row] or np.isnan(one.utilisation[0])
