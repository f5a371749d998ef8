"""``depends_on`` of an answer: by open candidate and fact, with which values it may suit, with which not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isclose
from typing import Any

from undercourse.advise.depending import BUDGET, Dependence
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.exact import Exact
from undercourse.advise.findings import show_text
from undercourse.advise.lines import OUT, RULING, SUITS, UNSURE, Line
from undercourse.advise.pairing import Curve, Pairing
from undercourse.advise.parts import chosen_text, chosen_values
from undercourse.advise.sentences import label
from undercourse.advise.witnesses import Budget
from undercourse.base.domains import Span
from undercourse.base.units import from_si
from undercourse.judge.rulebook import Rulebook

# Points of a curve that are told in a sentence.
_TOLD = 4


def depends_on(
    evaluated: Evaluated, book: Rulebook, row: int, proven: Mapping[str, Exact], budget: Budget | None = None
) -> dict[str, list[dict[str, Any]]]:
    """What the open verdicts of an area depend on, by candidate.

    Parameters
    ----------
    proven : mapping
        The exact verdicts of the row, as ``exact_verdicts`` gives them.
    budget : Budget, optional
        How much may be judged, counted in judgements and not in seconds.

    Returns
    -------
    dict
        Candidate id to entries, one a fact, that of most findings first; none for candidates whose verdict
        is closed. A value stands under ``not_suitable_when`` only where it is proven that nothing with it
        suits; ``exact`` says that all others are shown to allow it.
    """
    found = Dependence(evaluated, book, row, proven, budget or Budget(BUDGET))
    pairs = [Pairing(found, names, left) for names, left in found.groups]
    if found.lines:
        for place, some in enumerate(pairs):
            steps = (some.steps(), found.show(some.names), found.prove(some.names))
            found.run(*steps, share=1 / (len(pairs) - place))
    return {name: _entries(found, some, name) for some in pairs for name in some.names}


def _entries(found: Dependence, pairs: Pairing, name: str) -> list[dict[str, Any]]:
    curves = {curve.pair.number.fact: curve for curve in pairs.curves.get(name, ())}
    moved = {curve.pair.number.fact: curve for curve in pairs.moved.get(name, ())}
    entries = []
    for line in found.of(name):
        curve = curves.get(line.fact)
        if not (line.matters or curve):
            continue
        entry = _entry(line, found.book)
        if curve is not None:
            _add_curve(entry, curve, moved.get(line.fact), found.book, line.matters)
        entries.append(entry)
    return entries


def _entry(line: Line, book: Rulebook) -> dict[str, Any]:
    """One fact by itself."""
    fact = book.vocabulary[line.fact]
    inside, outside = line.chosen(UNSURE, SUITS), line.chosen(OUT, RULING)
    entry = {
        "fact": line.fact,
        "label": fact.label,
        "question": fact.question,
        "suitable_when": chosen_text(fact.domain, line.parts, inside, line.whole),
        "not_suitable_when": chosen_text(fact.domain, line.parts, outside, line.whole),
        "suitable_values": chosen_values(fact.domain, line.parts, inside, line.whole),
        "not_suitable_values": chosen_values(fact.domain, line.parts, outside, line.whole),
        "exact": line.exact,
    }
    if any(line.chosen(RULING)):
        entry["not_stated_when"] = chosen_text(fact.domain, line.parts, line.chosen(RULING), line.whole)
    return entry


def _add_curve(entry: dict[str, Any], curve: Curve, moved: Curve | None, book: Rulebook, alone: bool) -> None:
    """The boundary against another number, in a sentence and as points in the units of both facts."""
    number, other = curve.pair.number, curve.pair.other
    units = [book.vocabulary[fact].domain.unit for fact in (other.fact, number.fact)]
    kept, out = _boundary_text(curve, book)
    entry["suitable_when"] = f"{entry['suitable_when']}; {kept}" if alone else kept
    entry["not_suitable_when"] = f"{entry['not_suitable_when']}; {out}" if alone else out
    entry |= {
        "with": other.fact,
        "with_label": label(other.fact, book.vocabulary),
        "curve": _points(curve, book),
        "curve_units": [unit.symbol for unit in units if unit is not None],
        "side": "up to" if number.upper else "at least",
    }
    if moved is not None and moved.pair.third is not None:
        third = moved.pair.third
        entry["third"] = {
            "fact": third.fact,
            "label": label(third.fact, book.vocabulary),
            "at": show_text(book.vocabulary[third.fact].domain, third.hard),
            "curve": _points(moved, book),
        }


def _points(curve: Curve, book: Rulebook) -> list[list[float]]:
    units = [book.vocabulary[one.fact].domain.unit for one in (curve.pair.other, curve.pair.number)]
    assert units[0] is not None
    assert units[1] is not None
    pairs = zip(curve.at, curve.kept, strict=True)
    return [[_tidy(from_si(at, units[0])), _tidy(from_si(kept, units[1]))] for at, kept in pairs]


def _tidy(number: float) -> float:
    return float(f"{number:.6g}")


def _boundary_text(curve: Curve, book: Rulebook) -> tuple[str, str]:
    """The boundary at a few values of the other number, as what may suit and as what does not."""
    number, other = curve.pair.number, curve.pair.other
    bounded = [place for place, out in enumerate(curve.out) if out is not None]
    written = book.written.get(other.fact, ())
    known = [place for place in bounded if any(isclose(curve.at[place], value) for value in written)]
    told = _spread(known if len(known) > 1 else bounded)

    def shown(fact: str, value: float) -> str:
        return show_text(book.vocabulary[fact].domain, Span(value, value))

    side, beyond = ("up to", "at least") if number.upper else ("at least", "up to")
    called = label(other.fact, book.vocabulary)
    kept = [f"{shown(number.fact, curve.kept[at])} at {shown(other.fact, curve.at[at])}" for at in told]
    ends = [(curve.out[at], curve.at[at]) for at in told]
    out = [f"{shown(number.fact, end)} at {shown(other.fact, at)}" for end, at in ends if end is not None]
    return f"by {called}: {side} {', '.join(kept)}", f"by {called}: {beyond} {', '.join(out)}"


def _spread(places: Sequence[int]) -> list[int]:
    """A few of some places, the first and the last among them."""
    if len(places) <= _TOLD:
        return list(places)
    last = len(places) - 1
    return [places[round(last * step / (_TOLD - 1))] for step in range(_TOLD)]
