"""The smallest change of one number that alone would make a candidate suit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from undercourse.advise.findings import show_text
from undercourse.advise.prep_floor import Floor, State
from undercourse.advise.prep_reach import Reads
from undercourse.advise.prep_verdict import Look
from undercourse.advise.sweeps import breakpoints
from undercourse.base.domains import Span, Spec
from undercourse.facts.layers import DERIVED
from undercourse.facts.vocabulary import SLOTS
from undercourse.judge.ranking import rank
from undercourse.judge.results import STOP
from undercourse.judge.rulebook import Rulebook

# Steps between now and the end of the domain, and in each of the two rounds after the first.
_STEPS = 24
_ROUNDS = 2


def one_number(floor: Floor, book: Rulebook, only: Sequence[str] | None) -> list[dict[str, Any]]:
    """For each number that alone would do: the value nearest to the present one.

    The value is sought on a grid with every written limit in it, then between the last value
    that fails and the first that does; it is rounded away from the present one and judged once more.
    """
    ways = _ways(floor, book, only)
    points = {way: _grid(floor, book, *way) for way in ways}
    brackets = _first_good(floor, book, points, only)
    for _ in range(_ROUNDS):
        finer = {
            way: np.linspace(last, good, _STEPS + 1)[1:].tolist() for way, (last, good, _) in brackets.items()
        }
        brackets = _first_good(floor, book, finer, only, brackets)
    rounded = {way: [_rounded(floor, way[0], good, way[1])] for way, (_, good, _) in brackets.items()}
    sure = _first_good(floor, book, rounded, only)
    found = [
        _document(floor, book, name, sign, good, who)
        for (name, sign), (_, good, who) in sure.items()
        # The ends of a domain are no sizes that anybody orders.
        if book.domains[name].low < good < book.domains[name].high
    ]
    return sorted(found, key=lambda item: (abs(item["share"]), item["fact"]))


def _changes(floor: Floor, name: str, value: float) -> dict[str, Spec]:
    """One fact set to a value; for what follows from the layers the layers themselves are left open."""
    if name not in DERIVED:
        return {name: Span(value, value)}
    changed = {fact: floor.spec(fact) for fact in DERIVED}
    for place in range(1, SLOTS + 1):
        for part in ("kind", "thickness"):
            fact = f"layer_{place}_{part}"
            changed[fact] = floor.book.domains[fact].everything
    return {**changed, name: Span(value, value)}


def _ways(floor: Floor, book: Rulebook, only: Sequence[str] | None) -> list[tuple[str, int]]:
    """The numbers that every block of some candidate reads, each down and up."""
    evaluated, _ = floor.judge([{}], only)
    reads = Reads(book)
    common: set[str] = set()
    stops = [
        {name for name, _ in (*rule.when.terms, *(rule.unless.terms if rule.unless else ()))}
        for rule, truth in evaluated.site.stops
        if bool(truth.must.flat[0])
    ]
    for judgement in evaluated.of_row(0):
        outcome = Look(judgement, evaluated, book).at(0, 0.0)
        membrane = judgement.candidate.membrane
        own = membrane.id if membrane is not None and not judgement.candidate.proposed else ""
        shared: set[str] | None = None
        for names in (
            *stops,
            *(
                outcome.facts_of(place) if place < 0 else reads.of(judgement.findings[place], own)
                for place in outcome.blocking
            ),
        ):
            shared = set(names) if shared is None else shared & set(names)
        common |= shared or set()
    numbers = [
        name
        for name in book.vocabulary.facts
        if name in common
        and book.domains[name].kind == "number"
        and not name.startswith("layer_")
        and floor.spec(name) != book.domains[name].everything
    ]
    return [(name, sign) for name in numbers for sign in (-1, 1)]


def _now(floor: Floor, name: str, sign: int) -> float:
    spec = floor.spec(name)
    assert isinstance(spec, Span)
    return spec.low if sign < 0 else spec.high


def _grid(floor: Floor, book: Rulebook, name: str, sign: int) -> list[float]:
    """Values from now to the end of the domain, nearest first."""
    domain = book.domains[name]
    now = _now(floor, name, sign)
    end = domain.low if sign < 0 else domain.high
    reach = end - now
    shares = np.linspace(0.0, 1.0, _STEPS + 1)[1:] ** 2
    values = {now + reach * share for share in shares.tolist()}
    for written in breakpoints(book, name):
        for near in (written, written * (1 + 1e-5) + 1e-7, written * (1 - 1e-5) - 1e-7):
            if min(now, end) <= near <= max(now, end):
                values.add(near)
    return sorted((v for v in values if v != now), key=lambda value: abs(value - now))


Brackets = dict[tuple[str, int], tuple[float, float, str]]


def _first_good(
    floor: Floor,
    book: Rulebook,
    points: dict[tuple[str, int], list[float]],
    only: Sequence[str] | None,
    before: Brackets | None = None,
) -> Brackets:
    """For each way the nearest value that does, the one tried before it, and the candidate."""
    plan = [(way, value) for way, values in points.items() for value in values]
    if not plan:
        return {}
    evaluated, impossible = floor.judge([_changes(floor, way[0], value) for way, value in plan], only)
    looks = [Look(judgement, evaluated, book) for judgement in evaluated.of_row(0)]
    stopped = np.broadcast_to(evaluated.site.status, (len(plan),)) == STOP
    found: Brackets = {}
    last: dict[tuple[str, int], float] = {}
    for row, (way, value) in enumerate(plan):
        if way in found:
            continue
        good = (
            []
            if impossible[row] or stopped[row]
            else [look.judgement for look in looks if not look.at(row, 0.0).blocking]
        )
        if good:
            chosen = rank(good, book.line.ranking, row).recommended or good[0].candidate.id
            start = before[way][0] if before else _now(floor, *way)
            found[way] = (last.get(way, start), value, chosen)
        last[way] = value
    return found


def _rounded(floor: Floor, name: str, value: float, sign: int) -> float:
    """A value that a person would write, on the far side of the exact one."""
    domain = floor.book.domains[name]
    unit = domain.unit
    assert unit is not None
    written = (value - unit.offset) / unit.factor
    if unit.symbol == "in":
        step = 1 / 32 if abs(written) < 4 else 0.125
    elif unit.dimension == "count":
        step = 1.0
    else:
        step = float(10.0 ** np.floor(np.log10(max(abs(written), 1e-9)) - 1.5))
    nearest = round(written / step) * step
    # The exact value may itself be one that people write.
    if abs(nearest - written) > 1e-4 * step:
        nearest = (np.floor(written / step) if sign < 0 else np.ceil(written / step)) * step
    found = float(nearest * unit.factor + unit.offset)
    return min(max(found, domain.low), domain.high)


def _document(floor: Floor, book: Rulebook, name: str, sign: int, value: float, who: str) -> dict[str, Any]:
    fact = book.vocabulary[name]
    now = floor.spec(name, State())
    product = book.line.products.get(who)
    title = product.name if product is not None else "the asker's own stack"
    to = show_text(fact.domain, Span(value, value))
    way = "down to" if sign < 0 else "up to"
    present = _now(floor, name, sign)
    return {
        "fact": name,
        "label": fact.label,
        "now": show_text(fact.domain, now),
        "to": to,
        "value_si": value,
        "share": round((value - present) / max(abs(present), 1e-9), 4),
        "candidate": who,
        "text": f"{fact.label}, now {show_text(fact.domain, now)}: {way} {to} would do for {title}.",
    }
