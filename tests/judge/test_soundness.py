"""No completion of a half-known floor may contradict what was said of it."""

from __future__ import annotations

import datetime as dt
import random

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, read_spec
from undercourse.facts.jobs import Area, Reading
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

from .floors import BOOK, SAMPLES, completions, half_known

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


def test_a_rule_that_may_yet_yield_does_not_refuse() -> None:
    """Panels "up to 23/32 in" may be those 23/32 in at which the product's evidence overrides the rule."""
    sample = next(area for area in SAMPLES if area.name.startswith("Great room on open-web trusses at 24 in"))
    domain = BOOK.vocabulary.domains["layer_1_thickness"]
    verdicts = []
    for text in ("up to 23/32 in", "23/32 in"):
        readings = {**sample.readings, "layer_1_thickness": Reading(read_spec(domain, text), "test")}
        judged = evaluate([Area("great room", readings)], BOOK, DAY, {"high-meadow-8"})
        verdicts.append(int(judged.judgements[0].verdict[0]))
    assert verdicts[1] == SUITABLE
    assert verdicts[0] not in (NOT_SUITABLE, NEEDS_RULING)


def test_a_reading_of_today_does_not_settle_the_day_of_tiling() -> None:
    """A clean surface today stays to be made so; said of the day of tiling it is settled."""
    kept = dict(SAMPLES[0].readings)
    for holds, asked in (("today", True), ("day of tiling", False)):
        clean = Reading(Choices(2), "test", holds_for=holds)
        judged = evaluate([Area("a", {**kept, "surface_clean": clean})], BOOK, DAY)
        wanted = {
            r.fact for j in judged.judgements for f in j.findings for r in f.requirements if r.rows.any()
        }
        assert ("surface_clean" in wanted) is asked


def test_what_gives_way_is_told_only_where_it_does() -> None:
    """Findings of one area do not carry overrides of its neighbors."""
    together = evaluate(SAMPLES, BOOK, DAY)
    for row in range(0, len(SAMPLES), 7):
        alone = evaluate([SAMPLES[row]], BOOK, DAY)
        for one, other in zip(alone.judgements, together.judgements, strict=True):
            first = {f.label for f in one.findings if bool(pick(f.overridden, 0))}
            second = {f.label for f in other.findings if bool(pick(f.overridden, row))}
            assert first == second
