"""What would make the recommended product lose: per fact the values with which another comes first."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import numpy as np

from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.findings import show_text
from undercourse.advise.sentences import label, spec_text
from undercourse.advise.sweeps import breakpoints, open_facts, trial_values
from undercourse.advise.why import LAYERS, fact_units
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.facts.jobs import Area, Reading
from undercourse.judge.ranking import rank
from undercourse.judge.results import NEEDS_FACTS, STOP
from undercourse.judge.rulebook import Rulebook

# Values tried between two neighbors of unlike outcome, and how often that is repeated.
FINER = 16
ROUNDS = 2
# Neighbors nearer than this share are the two sides of one written number.
_TOUCHING = 1e-4
_STOPPED = "the site is stopped first"
_NOTHING = "nothing in the line suits"
_OPEN = "more facts would be needed"


@dataclass
class _Line:
    """The outcome along the values of one fact: the recommended id, or why there is none."""

    fact: str
    outcomes: dict[Spec, str] = field(default_factory=dict)

    def ordered(self) -> list[Spec]:
        """The tried values that the other facts leave possible, in rising order."""
        return sorted(self.outcomes, key=lambda s: (s.low,) if isinstance(s, Span) else (s.bits,))


def what_would_lose(evaluated: Evaluated, book: Rulebook, row: int) -> list[dict[str, Any]]:
    """For every fact that can take the recommendation away, with which values it does.

    One fact is changed at a time over its whole domain, the others as they were stated; values that
    contradict them are left out. Facts still open are swept over what is left of them.
    """
    recommended = rank(evaluated.judgements, book.line.ranking, row).recommended
    if recommended is None or int(pick(evaluated.site.status, row)) == STOP:
        return []
    area = evaluated.areas[row]
    lines = []
    plan: list[tuple[_Line, Spec]] = []
    for name in _names(evaluated, book, row):
        domain = book.vocabulary.domains[name]
        stated = name in area.readings
        spec = domain.everything if stated else evaluated.facts.columns.spec(name, row)
        written = breakpoints(book, name) if domain.kind == "number" else []
        lines.append(_Line(name))
        plan += [(lines[-1], value) for value in trial_values(domain, spec, written)]
    _try(plan, area, evaluated, book)
    for _ in range(ROUNDS):
        plan = [(line, value) for line in lines for value in _between(line, recommended)]
        _try(plan, area, evaluated, book)
    found = [_document(line, recommended, area, book) for line in lines]
    return [document for document in found if document is not None]


def _names(evaluated: Evaluated, book: Rulebook, row: int) -> list[str]:
    """Stated facts, the listed layers apart, and the open ones that decide."""
    stated = [unit for unit in fact_units(evaluated.areas[row].readings) if unit != LAYERS]
    still = [name for name in open_facts(evaluated, book, row) if name not in book.made_so]
    return [name for name in dict.fromkeys([*stated, *still]) if not name.startswith("layer_")]


def _try(plan: Sequence[tuple[_Line, Spec]], area: Area, evaluated: Evaluated, book: Rulebook) -> None:
    """Judge the area with each value of the plan and note what is recommended then."""
    if not plan:
        return
    areas = [
        replace(area, readings={**area.readings, line.fact: _reading(area, line.fact, value)})
        for line, value in plan
    ]
    again = evaluate(areas, book, evaluated.judge.date)
    for place, (line, value) in enumerate(plan):
        if place in again.problems:
            continue
        if int(pick(again.site.status, place)) == STOP:
            line.outcomes[value] = _STOPPED
        else:
            first = rank(again.judgements, book.line.ranking, place).recommended
            waiting = any(int(j.verdict[place]) == NEEDS_FACTS for j in again.judgements)
            line.outcomes[value] = first or (_OPEN if waiting else _NOTHING)


def _reading(area: Area, fact: str, value: Spec) -> Reading:
    """A fact with another value, known in the way that it is known now."""
    now = area.readings.get(fact)
    return replace(now, spec=value) if now is not None else Reading(value, area.where)


def _between(line: _Line, recommended: str) -> list[Spec]:
    """Finer values between neighbors of which one loses and the other does not."""
    found: list[Spec] = []
    for first, last in pairwise(line.ordered()):
        if not isinstance(first, Span) or not isinstance(last, Span):
            break
        unlike = (line.outcomes[first] == recommended) != (line.outcomes[last] == recommended)
        gap = last.low - first.low
        if unlike and gap > _TOUCHING * max(abs(last.low), abs(first.low)):
            inner = np.linspace(first.low, last.low, FINER + 2)[1:-1]
            found += [Span(float(value), float(value)) for value in inner]
    return found


def _document(line: _Line, recommended: str, area: Area, book: Rulebook) -> dict[str, Any] | None:
    values = line.ordered()
    outcomes = [line.outcomes[value] for value in values]
    losing = [value for value in values if line.outcomes[value] != recommended]
    if not losing:
        return None
    fact = book.vocabulary[line.fact]
    now = area.readings.get(line.fact)
    products = book.line.products
    then = dict.fromkeys(outcome for outcome in outcomes if outcome != recommended)
    return {
        "fact": line.fact,
        "label": label(line.fact, book.vocabulary),
        "now": show_text(fact.domain, now.spec) if now is not None else "not known",
        "loses_when": describe(fact.domain, values, losing, breakpoints(book, line.fact)),
        "then": [products[name].name if name in products else name for name in then],
    }


def describe(
    domain: Domain, values: Sequence[Spec], chosen: Sequence[Spec], written: Collection[float] = ()
) -> str:
    """Some of the tried values in words; runs of numbers become ranges with their nearest kept end.

    Parameters
    ----------
    written : collection of float, optional
        The numbers that limits write for the fact: tried with a neighbor on either side, they tell on which
        side of the end a run lies.
    """
    if domain.kind != "number":
        bits = 0
        for spec in chosen:
            assert isinstance(spec, Choices)
            bits |= spec.bits
        return spec_text(domain, Choices(bits))
    numbers = [spec.low for spec in values if isinstance(spec, Span)]
    inside = {spec.low for spec in chosen if isinstance(spec, Span)}
    runs: list[tuple[int, int]] = []
    for place, number in enumerate(numbers):
        if number not in inside:
            continue
        if runs and runs[-1][1] == place - 1:
            runs[-1] = (runs[-1][0], place)
        else:
            runs.append((place, place))
    return " or ".join(_run(domain, numbers, first, last, written) for first, last in runs)


def _run(domain: Domain, numbers: Sequence[float], first: int, last: int, written: Collection[float]) -> str:
    """A run of tried numbers by its ends: over or at least the one, under or up to the other."""

    def shown(value: float) -> str:
        return show_text(domain, Span(value, value))

    top = len(numbers) - 1
    if first == 0 and last == top:
        return "any value"
    if first == last and 0 not in (first, top - last):
        return shown(numbers[first])
    parts = []
    if first > 0:
        # Where nothing is known of what is written, the number is taken for the middle one of three.
        middle = first < top and _nearly(numbers[first], numbers[first + 1])
        if not _nearly(numbers[first - 1], numbers[first]):
            parts.append(f"from about {shown(numbers[first])}")
        elif numbers[first] in written or (middle and numbers[first - 1] not in written):
            parts.append(f"at least {shown(numbers[first])}")
        else:
            parts.append(f"over {shown(numbers[first - 1])}")
    if last < top:
        middle = last > 0 and _nearly(numbers[last - 1], numbers[last])
        if not _nearly(numbers[last], numbers[last + 1]):
            parts.append(f"up to about {shown(numbers[last])}")
        elif numbers[last] in written or (middle and numbers[last + 1] not in written):
            parts.append(f"up to {shown(numbers[last])}")
        else:
            parts.append(f"under {shown(numbers[last + 1])}")
    return " and ".join(parts)


def _nearly(first: float, last: float) -> bool:
    return abs(first - last) <= _TOUCHING * max(abs(first), abs(last), 1e-3)
