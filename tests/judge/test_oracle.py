"""The judge against a plain second reading of the data, and seeded faults that this must catch."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest

from undercourse.advise.evaluating import evaluate
from undercourse.base.columns import pick
from undercourse.base.domains import Span
from undercourse.facts.jobs import Area, Reading, settle_facts
from undercourse.judge.results import STATUS_WORDS
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import Condition, Limit

from .floors import BOOK, SAMPLES, WORDS, is_slot, pick_value
from .oracle import decidable, raw_products, raw_rules, status

DAY = dt.date(2026, 11, 25)
PRODUCTS = raw_products()
RULES = raw_rules()
MEMBRANES = [p.id for p in BOOK.line.of_role("membrane", DAY)]


def known_floors(seed: int, count: int) -> list[Area]:
    """Sample floors with every fact settled, a few of them shaken up; contradictory ones left out."""
    rng = random.Random(seed)
    floors = []
    for number in range(count):
        sample = rng.choice(SAMPLES)
        shaken = set(rng.sample(sorted(WORDS.facts), 8))
        kept = {name: r for name, r in sample.readings.items() if is_slot(name) or name not in shaken}
        floors.append(Area(f"floor {number}", kept))
    names = [n for n, f in WORDS.facts.items() if not is_slot(n) and f.domain.kind != "number"]
    names += [n for n, f in WORDS.facts.items() if not is_slot(n) and f.domain.kind == "number"]
    # A few facts at a time, so that each choice sees what the ones before it left possible.
    for start in range(0, len(names), 6):
        columns, problems = settle_facts(floors, WORDS, BOOK.consistency)
        grown = []
        for row, floor in enumerate(floors):
            if row in problems:
                continue
            readings = dict(floor.readings)
            for name in names[start : start + 6]:
                readings[name] = Reading(pick_value(rng, name, columns.spec(name, row)), "test")
            grown.append(Area(floor.name, readings))
        floors = grown
    return floors


FLOORS = known_floors(11, 500)


def without_rulings(book: Rulebook) -> Rulebook:
    """The rulebook without rulings, which settle what the plain reading takes as not stated."""
    products = {
        name: replace(product, limits=tuple(x for x in product.limits if x.ruling is None))
        for name, product in book.line.products.items()
    }
    return replace(book, line=replace(book.line, products=MappingProxyType(products)))


PLAIN = without_rulings(BOOK)


def disagreements(book: Rulebook, floors: list[Area] = FLOORS, product: str = "") -> Iterator[str]:
    """Every place where the judge and the plain reading differ, of one product or of all and the rules."""
    judged = evaluate(floors, book, DAY, {product} if product else None)
    rows = [row for row in range(len(floors)) if row not in judged.problems]
    points = {}
    for row in rows:
        point: dict[str, float | str] = {}
        for name, fact in WORDS.facts.items():
            spec = judged.facts.columns.spec(name, row)
            if isinstance(spec, Span):
                if spec.high - spec.low <= 1e-12:
                    point[name] = spec.low
            elif spec.bits.bit_count() == 1:
                point[name] = fact.domain.names(spec.bits)[0]
        points[row] = point
    for judgement in judged.judgements:
        raw = PRODUCTS[judgement.candidate.id]
        evidence = {e["id"]: e for e in raw.get("evidence", [])}
        said: dict[tuple[str, int], list[str]] = {}
        for finding in judgement.findings:
            if finding.limit is not None and finding.limit.ruling is None:
                codes = np.broadcast_to(finding.status, (len(floors),))
                owner = finding.product or finding.limit.id
                for row in rows:
                    said.setdefault((f"{owner}|{finding.demand}", row), []).append(
                        STATUS_WORDS[int(pick(codes, row))]
                    )
        mine = [(judgement.candidate.id, row_) for row_ in raw.get("limit", [])]
        if judgement is judged.judgements[0] and not product:
            mine += [
                (name, rule)
                for name, rule in RULES.items()
                if rule.get("yields_to", "nobody") == "nobody" and not rule.get("needs_membrane")
            ]
        by_key: dict[str, list[dict[str, object]]] = {}
        for owner, limit in mine:
            by_key.setdefault(f"{owner}|{limit.get('demand', '')}", []).append(limit)
        for key, limits in by_key.items():
            if not all(decidable(limit) for limit in limits):
                continue
            for row in rows:
                point = points[row]
                try:
                    expected = sorted(
                        s for limit in limits if (s := status(limit, point, evidence)) != "does not apply"
                    )
                except KeyError:
                    continue
                found = sorted(s for s in said.get((key, row), []) if s != "does not apply")
                if found != expected:
                    yield f"{judgement.candidate.id} {key} floor {row}: judged {found}, read {expected}"


def test_judge_agrees_with_a_plain_reading_of_every_limit() -> None:
    """On fully known floors each limit of each membrane and each trade rule says the same both ways."""
    assert len(FLOORS) > 200
    found = list(disagreements(PLAIN))
    assert not found, "\n".join(found[:10])


def with_limits(product_id: str, limits: tuple[Limit, ...]) -> Rulebook:
    """The rulebook with one product's limits replaced."""
    product = replace(PLAIN.line.products[product_id], limits=limits)
    products = {**PLAIN.line.products, product_id: product}
    return replace(PLAIN, line=replace(PLAIN.line, products=MappingProxyType(products)))


def near(limit: Limit, seed: int = 4) -> list[Area]:
    """Known floors moved to where a limit applies, its demand on either side of the capacity."""
    rng = random.Random(seed)
    floors = list(FLOORS)
    for number in range(40):
        floor = rng.choice(FLOORS)
        readings = dict(floor.readings)
        for name, spec in limit.when.terms:
            if not is_slot(name) and rng.random() < 0.9:
                readings[name] = Reading(pick_value(rng, name, spec), "test")
        if limit.demand in WORDS and limit.demand not in dict(limit.when.terms):
            everything = WORDS.domains[limit.demand].everything
            readings[limit.demand] = Reading(pick_value(rng, limit.demand, everything), "test")
        floors.append(Area(f"near {number}", readings))
    return floors


def targets(kind: str) -> list[tuple[str, int]]:
    """Limits whose fault must show: plain ones on facts, without evidence that masks them."""
    found = []
    for product_id in MEMBRANES:
        raw = PRODUCTS[product_id].get("limit", [])
        for place, limit in enumerate(PLAIN.line.products[product_id].limits):
            if limit.ruling is not None or not decidable(raw[place]):
                continue
            same = [r for r in raw if r.get("demand") == raw[place].get("demand")]
            if not all(decidable(r) for r in same):
                continue
            if kind == "condition" and limit.when.terms and limit.comparison != "not_stated":
                found.append((product_id, place))
            if (
                kind == "direction"
                and limit.comparison in ("at_most", "at_least")
                and WORDS.domains[limit.demand].kind == "number"
            ):
                found.append((product_id, place))
            if kind == "row" and limit.comparison not in ("not_stated",):
                found.append((product_id, place))
    return random.Random(3).sample(found, min(14, len(found)))


@pytest.mark.parametrize(("product_id", "place"), targets("condition"))
def test_a_dropped_condition_is_caught(product_id: str, place: int) -> None:
    """Seeded fault: a limit that lost its conditions."""
    limits = list(PLAIN.line.products[product_id].limits)
    floors = near(limits[place])
    limits[place] = replace(limits[place], when=Condition())
    assert any(True for _ in disagreements(with_limits(product_id, tuple(limits)), floors, product_id))


@pytest.mark.parametrize(("product_id", "place"), targets("direction"))
def test_a_flipped_direction_is_caught(product_id: str, place: int) -> None:
    """Seeded fault: at most read as at least."""
    limits = list(PLAIN.line.products[product_id].limits)
    floors = near(limits[place])
    turned = "at_least" if limits[place].comparison == "at_most" else "at_most"
    limits[place] = replace(limits[place], comparison=turned)
    assert any(True for _ in disagreements(with_limits(product_id, tuple(limits)), floors, product_id))


@pytest.mark.parametrize(("product_id", "place"), targets("row"))
def test_an_absent_row_is_caught(product_id: str, place: int) -> None:
    """Seeded fault: a limit row that went missing."""
    limits = list(PLAIN.line.products[product_id].limits)
    floors = near(limits[place])
    del limits[place]
    assert any(True for _ in disagreements(with_limits(product_id, tuple(limits)), floors, product_id))


def test_a_missing_statement_is_never_a_pass() -> None:
    """Without the limit that a condition asks for, the verdict is a missing statement, not suitable."""
    plain = evaluate(SAMPLES, BOOK, DAY)
    stripped = {}
    for product_id in MEMBRANES:
        limits = tuple(x for x in PLAIN.line.products[product_id].limits if x.demand != "top_surface")
        stripped[product_id] = replace(PLAIN.line.products[product_id], limits=limits)
    products = MappingProxyType({**BOOK.line.products, **stripped})
    bare = evaluate(SAMPLES, replace(BOOK, line=replace(BOOK.line, products=products)), DAY)
    suited = sum(int((j.verdict <= 1).sum()) for j in plain.judgements)
    assert suited > 20
    assert sum(int((j.verdict <= 1).sum()) for j in bare.judgements) == 0
