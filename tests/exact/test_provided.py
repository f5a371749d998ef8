"""What must be made so is enough, minimal and stable. All checks are derived, from floors judged again.

A floor with the list made so is completed at random, adversarially; a floor with one line broken is tried
at every choice left and just beyond each number.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from tests.judge.floors import BOOK, SAMPLES, pick_value

from undercourse.advise.cases import lay_cases
from undercourse.advise.completions import draw_completions, settle_table
from undercourse.advise.evaluating import Evaluated, evaluate, evaluate_columns
from undercourse.advise.provided import provided, provided_lists
from undercourse.advise.sweeps import concerned_facts, is_open
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Span, Spec, just_above, just_below, read_spec
from undercourse.facts.jobs import Area, Reading
from undercourse.judge.results import MEETS, NOT_APPLY, SUITABLE_IF, Judgement

MADE_SO = BOOK.made_so
Lines = Sequence[Mapping[str, Any]]
Listed = tuple[Evaluated, Judgement, Lines]


def forgetful(rng: random.Random, area: Area) -> Area:
    """An area with most of what can be made so forgotten, and a fact or two besides."""
    kept = {n: r for n, r in area.readings.items() if n not in MADE_SO or rng.random() < 0.25}
    for name in rng.sample(sorted(kept), min(len(kept), rng.randrange(3))):
        if not name.startswith("layer_"):
            kept.pop(name)
    return replace(area, readings=kept)


@cache
def listed(seed: int, count: int) -> tuple[Listed, ...]:
    """Candidates that suit provided something is made so, each of another floor, with their lists."""
    rng = random.Random(seed)
    found: list[Listed] = []
    while len(found) < count:
        evaluated = evaluate([forgetful(rng, rng.choice(SAMPLES))], BOOK, None)
        ready = [j for j in evaluated.of_row(0) if int(j.verdict[0]) == SUITABLE_IF]
        if not evaluated.problems and ready:
            lists = provided_lists(evaluated.of_row(0), evaluated, BOOK, 0)
            chosen = rng.choice(ready)
            found.append((evaluated, chosen, tuple(lists[chosen.candidate.id])))
    return tuple(found)


def spec_of(line: Mapping[str, Any]) -> Spec:
    """What a line asks for, as a job file would have it."""
    return read_spec(BOOK.domains[line["fact"]], line["value"])


def made_so(evaluated: Evaluated, lines: Lines) -> dict[str, Spec]:
    """The facts of the lines, made so."""
    case: dict[str, Spec] = {}
    for line in lines:
        now, spec = evaluated.facts.columns.spec(line["fact"], 0), spec_of(line)
        if isinstance(now, Span):
            assert isinstance(spec, Span)
            case[line["fact"]] = Span(max(now.low, spec.low), min(now.high, spec.high))
        else:
            assert isinstance(spec, Choices)
            case[line["fact"]] = Choices(now.bits & spec.bits)
    return case


def completed(
    evaluated: Evaluated, case: Mapping[str, Spec], name: str, count: int, seed: int
) -> Iterator[bool]:
    """Whether adversarial completions of a case suit the candidate, missing layers apart."""
    table = lay_cases(evaluated.facts.columns, 0, [case])
    if not settle_table(table, BOOK).all():
        return
    inside = evaluate_columns(evaluated.areas, table, {}, BOOK, None, [name])
    judgement = inside.of_row(0)[0]
    reads = {fact for finding in judgement.findings for fact in concerned_facts(finding, BOOK)}
    names = sorted(fact for fact in reads if is_open(inside.facts[fact], 0))
    drawn = draw_completions(inside, BOOK, 0, names, count, seed, adversarial=True)
    again = drawn.judge(inside, BOOK, 0, [name]).of_row(0)[0]
    fine = np.ones(count, dtype=np.bool_)
    for finding in again.findings:
        if finding.need is None:
            fine &= np.isin(np.broadcast_to(finding.status, (count,)), (MEETS, NOT_APPLY))
    yield from fine[drawn.sound].tolist()


@pytest.mark.parametrize("seed", range(3))
def test_with_the_list_made_so_every_completion_suits(seed: int) -> None:
    """No way to complete the floor, adversarial ones first, keeps the list and fails."""
    tried = 0
    for evaluated, judgement, lines in listed(seed, 8):
        facts = [line for line in lines if "value" in line]
        outcomes = list(completed(evaluated, made_so(evaluated, facts), judgement.candidate.id, 80, seed))
        tried += len(outcomes)
        assert all(outcomes), (evaluated.areas[0].name, judgement.candidate.id)
    assert tried > 200


def beyond(now: Spec, spec: Spec) -> list[list[Spec]]:
    """Values that break a line: each choice outside; of a number those just past either end, and farther."""
    if isinstance(now, Choices):
        assert isinstance(spec, Choices)
        rest = now.bits & ~spec.bits
        return [[Choices(1 << p) for p in range(rest.bit_length()) if rest >> p & 1]]
    assert isinstance(spec, Span)
    found: list[list[Spec]] = []
    if now.high > just_above(spec.high):
        found.append([Span(v, v) for v in (just_above(spec.high), now.high)])
    if now.low < just_below(spec.low):
        found.append([Span(v, v) for v in (just_below(spec.low), now.low)])
    return found


@pytest.mark.parametrize("seed", range(3))
def test_without_any_one_line_some_completion_does_not_suit(seed: int) -> None:
    """Each line broken, on either side of a range, with all other lines kept."""
    broken = 0
    for evaluated, judgement, lines in listed(seed, 8):
        facts = [line for line in lines if "value" in line]
        for line in facts:
            now = evaluated.facts.columns.spec(line["fact"], 0)
            others = made_so(evaluated, [one for one in facts if one is not line])
            for values in beyond(now, spec_of(line)):
                outcomes = [
                    fine
                    for value in values
                    for fine in completed(
                        evaluated, {**others, line["fact"]: value}, judgement.candidate.id, 40, seed
                    )
                ]
                broken += 1
                assert outcomes, line
                assert not all(outcomes), (evaluated.areas[0].name, judgement.candidate.id, line)
    assert broken > 30


@pytest.mark.parametrize("seed", range(3))
def test_other_facts_do_not_move_the_list(seed: int) -> None:
    """Facts that nothing about the candidate reads may become anything: the same lines in the same order."""
    rng = random.Random(seed)
    compared = 0
    for evaluated, judgement, lines in listed(seed, 8):
        reads = {fact for finding in judgement.findings for fact in concerned_facts(finding, BOOK)}
        reads |= {name for row in BOOK.consistency.implies for name in (*row.when, *row.then)}
        columns = evaluated.facts.columns
        apart = [n for n in BOOK.vocabulary.facts if n not in reads and not n.startswith("layer_")]
        chosen = rng.sample(apart, min(len(apart), 8))
        area = evaluated.areas[0]
        said = {name: Reading(pick_value(rng, name, columns.spec(name, 0)), "test") for name in chosen}
        again = evaluate([replace(area, readings={**area.readings, **said})], BOOK, None)
        other = next(j for j in again.of_row(0) if j.candidate.id == judgement.candidate.id)
        if again.problems or int(other.verdict[0]) != SUITABLE_IF:
            continue
        compared += 1
        assert tuple(provided(other, again, BOOK, 0)) == lines
    assert compared > 4


@pytest.mark.parametrize("seed", range(3))
def test_each_line_says_who_when_and_by_which_rule(seed: int) -> None:
    """In the order in which one walks a site; layers that are missing come last."""
    order = list(BOOK.vocabulary.facts)
    for _, _, lines in listed(seed, 8):
        for line in lines:
            assert line["by_whom"]
            assert line["when_checked"]
            assert line["source"]
            assert line["must_be"] != "unknown"
        names = [line["fact"] for line in lines if "value" in line]
        assert names == sorted(set(names), key=order.index)
        assert [line["fact"] for line in lines][: len(names)] == names


def test_what_another_line_implies_is_not_listed() -> None:
    """A joint plan to the standard holds the joints' spacing and width: they are not asked for besides."""
    found = 0
    for seed in range(3):
        for _, _, lines in listed(seed, 8):
            names = {line["fact"] for line in lines}
            if "movement_joints_planned" in names:
                found += 1
                assert "movement_joint_spacing" not in names
    assert found


def test_the_strictest_of_several_rules_is_asked_for_once() -> None:
    """One line a fact; a looser rule on it adds nothing."""
    for seed in range(3):
        for evaluated, judgement, lines in listed(seed, 8):
            wanted: dict[str, list[Spec]] = {}
            for finding in judgement.findings:
                for need in finding.requirements:
                    if need.spec is not None and bool(pick(need.rows, 0)):
                        wanted.setdefault(need.fact, []).append(need.spec)
            case = made_so(evaluated, [line for line in lines if "value" in line])
            for fact, spec in case.items():
                if isinstance(spec, Span):
                    assert any(isinstance(s, Span) and s.high >= spec.high for s in wanted[fact])
