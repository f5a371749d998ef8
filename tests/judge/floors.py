"""Half-known floors and their completions for the soundness tests.

Floors start from the sample areas of the demo line, so that suitable ones are among them; some facts
are forgotten or widened. A completion picks one value for every fact: with a liking for the ends of
domains, for the numbers that limits write, and for one step beyond them.
"""

from __future__ import annotations

import random

from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.sweeps import breakpoints
from undercourse.base.domains import Choices, Span, Spec
from undercourse.facts.jobs import Area, Reading
from undercourse.files.samples import sample_areas
from undercourse.files.shipped import rulebook

BOOK = rulebook(None)
WORDS = BOOK.vocabulary
SAMPLES = sample_areas(WORDS)
DERIVED = ("top_surface", "panel_total_thickness", "panel_layers")
WRITTEN = {
    name: breakpoints(BOOK, name) for name, fact in WORDS.facts.items() if fact.domain.kind == "number"
}


def is_slot(name: str) -> bool:
    """Whether a fact is one of the layer slots."""
    return name.startswith("layer_")


def widen(rng: random.Random, name: str, spec: Spec) -> Spec:
    """More values than before, the old ones among them."""
    domain = WORDS.domains[name]
    if isinstance(spec, Choices):
        count = len(domain.choices)
        return Choices(spec.bits | 1 << rng.randrange(count) | 1 << rng.randrange(count))
    ends = [p for p in WRITTEN[name] if domain.low <= p <= domain.high]
    ends += [domain.low, domain.high, spec.low, spec.high]
    first, last = sorted((rng.choice(ends), rng.choice(ends)))
    return Span(min(first, spec.low), max(last, spec.high)) if rng.random() < 0.7 else domain.everything


def pick_value(rng: random.Random, name: str, spec: Spec) -> Spec:
    """One value of a set, adversarial more often than not."""
    domain = WORDS.domains[name]
    if isinstance(spec, Choices):
        return Choices(
            1 << rng.choice([place for place in range(len(domain.choices)) if spec.bits >> place & 1])
        )
    points = [spec.low, spec.high]
    for value in WRITTEN[name]:
        for near in (value, value * (1 + 1e-4) + 1e-6, value * (1 - 1e-4) - 1e-6):
            if spec.low <= near <= spec.high:
                points.append(near)
    value = rng.choice(points) if rng.random() < 0.85 else rng.uniform(spec.low, spec.high)
    return Span(value, value)


def half_known(rng: random.Random) -> Area:
    """A sample floor with a few facts forgotten or widened."""
    sample = rng.choice(SAMPLES)
    readings = dict(sample.readings)
    for name in rng.sample(sorted(readings), k=min(len(readings), rng.randrange(0, 6))):
        if rng.random() < 0.4:
            readings.pop(name)
        else:
            readings[name] = Reading(widen(rng, name, readings[name].spec), "test")
    return Area(sample.name, readings, proposed=sample.proposed)


def completions(rng: random.Random, area: Area, judged: Evaluated, count: int) -> Evaluated:
    """Completions of a half-known floor, judged; contradictory ones are in its ``problems``."""
    columns = judged.facts.columns
    areas = []
    for number in range(count):
        readings = {}
        for name in WORDS.facts:
            if is_slot(name) or name in DERIVED:
                # Slots and what derives from them only as far as they were stated.
                if name in area.readings:
                    readings[name] = Reading(pick_value(rng, name, area.readings[name].spec), "test")
            elif name in area.readings or rng.random() < 0.7:
                readings[name] = Reading(pick_value(rng, name, columns.spec(name, 0)), "test")
        areas.append(Area(f"completion {number}", readings, proposed=area.proposed))
    return evaluate(areas, BOOK, judged.judge.date)
