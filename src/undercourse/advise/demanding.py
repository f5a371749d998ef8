"""One demand worked out from a few facts, without a line and without a job; or along one of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any, NamedTuple

import numpy as np

from undercourse.advise.area_sheets import chosen_judgement
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.findings import number, reason_sentence, row_spec, show_text, show_value
from undercourse.advise.sentences import label
from undercourse.advise.sheets import sheet_document
from undercourse.base.columns import Columns, Floats, NumberColumn, spec_column
from undercourse.base.domains import Choices, Domain, Span, Spec, read_spec
from undercourse.base.frame import Frame
from undercourse.base.problems import Problem, Problems
from undercourse.base.units import from_si
from undercourse.demands import DEMANDS, Demand
from undercourse.facts.jobs import Area, Reading, read_reading, settle_facts
from undercourse.judge.rulebook import Rulebook

MOST_POINTS = 2000


class Setting(NamedTuple):
    """A demand with what was set for it: facts as a table of one row, candidate columns over it."""

    demand: Demand
    frame: Frame
    names: tuple[str, ...]


def demand_list() -> list[dict[str, Any]]:
    """Every computed demand: what it reads and takes, with directions, unit, scale and source."""
    return [_head(demand) for demand in DEMANDS.values()]


def _head(demand: Demand) -> dict[str, Any]:
    unit = demand.domain.unit
    return {
        "name": demand.name,
        "title": demand.title,
        "subject": demand.subject,
        "unit": unit.symbol if unit else None,
        "scale": demand.scale,
        "reads": dict(demand.reads),
        "takes": dict(demand.takes),
        "source": demand.source,
        "ground": demand.rests_on,
        "informs": demand.informs,
    }


def set_demand(name: str, settings: Sequence[str], book: Rulebook) -> Setting:
    """A demand with settings such as ``joist_span=13 ft 2 in``.

    Raises
    ------
    Problems
        An unknown demand, and every faulty or contradictory setting at once.
    """
    demand = DEMANDS.get(name)
    problems: list[Problem] = []
    if demand is None:
        problems.append(_unknown(name, book))
    readings, own = _read_settings(settings, book, problems)
    if demand is None or problems:
        raise Problems(problems)
    facts, contradictions = settle_facts(
        [Area("settings", readings, where="--set")], book.vocabulary, book.consistency
    )
    if contradictions:
        raise Problems(contradictions[0])
    columns = Columns(_own_domains(book), 1)
    for column, spec in own.items():
        columns[column] = spec_column(spec)
    return Setting(demand, Frame(columns, Frame(facts)), (*readings, *own))


def set_by_area(
    name: str, evaluated: Evaluated, book: Rulebook, row: int = 0, candidate: str | None = None
) -> Setting:
    """A demand with the facts of an area and the columns of one of its candidates.

    Raises
    ------
    Problems
        An unknown demand or candidate.
    """
    demand = DEMANDS.get(name)
    if demand is None:
        raise Problems([_unknown(name, book)])
    ids = [one.candidate.id for one in evaluated.of_row(row)]
    if candidate is not None and candidate not in ids:
        what = f'"{candidate}" is no candidate of this area'
        raise Problems([Problem("--candidate", what, f"write one of {', '.join(ids)}")])
    found = chosen_judgement(evaluated, row, candidate).candidate.frame
    return Setting(demand, one_row(found, row), ())


def demand_document(setting: Setting, book: Rulebook) -> dict[str, Any]:
    """A demand worked out as it was set, with its calculation sheet.

    What is not known may have any value of its domain, so the demand is a range.
    """
    demand, frame, names = setting
    value = demand.value(frame, book.tables)
    read = {**demand.reads, **demand.takes}
    return {
        **_head(demand),
        "value": show_value(demand.domain, value, 0),
        "value_text": show_text(demand.domain, row_spec(value, 0)),
        "working": _working(demand, frame, value, book),
        "inputs": [_input(one, way, frame, book) for one, way in read.items()],
        "unused": [one for one in names if one not in read],
        "sheet": sheet_document(demand, frame, book),
    }


def sweep_document(setting: Setting, along: str, book: Rulebook, count: int = 13) -> dict[str, Any]:
    """A demand along one number: at each of ``count`` values its least and greatest.

    Parameters
    ----------
    along : str
        ``FACT=a..b``, the ends included.
    """
    demand, frame, _ = setting
    fact, span = _read_sweep(along, demand, frame, count)
    ends = np.linspace(span.low, span.high, count)
    value = along_fact(demand, frame, book, fact, ends)
    domain = frame.domain(fact)
    assert domain.unit is not None
    unit, own = domain.unit, demand.domain.unit
    assert own is not None
    rows = [
        {
            "at": number(from_si(float(at), unit)),
            "at_text": show_text(domain, Span(float(at), float(at))),
            "low": number(from_si(float(low), own)),
            "high": number(from_si(float(high), own)),
            "value_text": show_text(demand.domain, Span(float(low), float(high))),
        }
        for at, low, high in zip(ends, value.low, value.high, strict=True)
    ]
    return {**_head(demand), "along": fact, "along_unit": unit.symbol, "rows": rows}


def along_fact(
    demand: Demand, frame: Frame, book: Rulebook, fact: str, values: Sequence[float] | Any
) -> NumberColumn:
    """A demand at many values of one number, everything else as in the first row of a frame."""
    return along_facts(demand, frame, book, {fact: values})


def along_facts(
    demand: Demand, frame: Frame, book: Rulebook, facts: Mapping[str, Sequence[float] | Any]
) -> NumberColumn:
    """As `along_fact` for several numbers at once, each with one value a row."""
    at = {name: np.asarray(values, dtype=np.float64) for name, values in facts.items()}
    count = max(len(values) for values in at.values())
    value = demand.value(laid_frame(frame, at), book.tables)
    return NumberColumn(np.broadcast_to(value.low, (count,)), np.broadcast_to(value.high, (count,)))


def laid_frame(frame: Frame, numbers: Mapping[str, Floats]) -> Frame:
    """The first row of a frame over as many rows as the numbers that are put in have."""
    return _laid(frame, max(len(values) for values in numbers.values()), numbers)


def one_row(frame: Frame, row: int) -> Frame:
    """A candidate's frame over a table of areas as that of one area alone."""
    return _laid(frame, 1, {}, row)


def _laid(frame: Frame, rows: int, numbers: Mapping[str, Floats], row: int = 0) -> Frame:
    """One row of a frame over so many rows, with some numbers put in."""
    below = frame if frame.below is None else frame.below
    laid = Columns(frame.columns.domains, rows), Columns(below.columns.domains, rows)
    for source, target in zip((frame.columns, below.columns), laid, strict=True):
        for name in source:
            target[name] = spec_column(source.spec(name, row))
        for name, values in numbers.items():
            if name in target.domains:
                target[name] = NumberColumn(values, values)
    return Frame(laid[0], Frame(laid[1]))


def _read_sweep(along: str, demand: Demand, frame: Frame, count: int) -> tuple[str, Span]:
    fact, sign, raw = (part.strip() for part in along.partition("="))
    numbers = [name for name in (*demand.reads, *demand.takes) if frame.domain(name).kind == "number"]
    where = f"--sweep {fact or along}"
    if not sign or not raw:
        raise Problems(
            [Problem(where, f'"{along}" is not FACT=a..b', 'write --sweep "joist_spacing=12 in..24 in"')]
        )
    if fact not in numbers:
        what = f"{demand.name} does not change with {fact}"
        raise Problems([Problem(where, what, f"sweep one of {', '.join(numbers)}")])
    if not 2 <= count <= MOST_POINTS:
        raise Problems([Problem("--points", f"{count} points", f"write a number from 2 to {MOST_POINTS}")])
    try:
        spec = read_spec(frame.domain(fact), raw)
    except ValueError as error:
        what, _, fix = str(error).rpartition("; ")
        raise Problems([Problem(where, what or str(error), fix or "mend the range")]) from None
    assert isinstance(spec, Span)
    if spec.low == spec.high:
        raise Problems([Problem(where, f'"{raw}" is one value', "write a range such as 12 in..24 in")])
    return fact, spec


def _unknown(name: str, book: Rulebook) -> Problem:
    listed = "list the demands with: undercourse demand --list"
    if name in book.vocabulary:
        return Problem("demand", f'"{name}" is a fact, not computed', listed)
    near = get_close_matches(name, list(DEMANDS), 1)
    return Problem("demand", f'"{name}" is no demand', f'did you mean "{near[0]}"?' if near else listed)


def _own_domains(book: Rulebook) -> dict[str, Domain]:
    """Columns that a candidate would bring."""
    return {
        name: domain
        for name, domain in book.domains.items()
        if name not in book.vocabulary and name not in DEMANDS
    }


def _read_settings(
    settings: Sequence[str], book: Rulebook, problems: list[Problem]
) -> tuple[dict[str, Reading], dict[str, Spec]]:
    readings: dict[str, Reading] = {}
    own: dict[str, Spec] = {}
    domains = _own_domains(book)
    for text in settings:
        name, sign, raw = (part.strip() for part in text.partition("="))
        where = f"--set {name or text}"
        if not sign or not name or not raw:
            problems.append(
                Problem(where, f'"{text}" is not FACT=VALUE', 'write --set "joist_span=13 ft 2 in"')
            )
        elif name in readings or name in own:
            problems.append(
                Problem(where, f"{name} is set twice", "set it once; write a range as 12 ft..14 ft")
            )
        elif name in book.vocabulary:
            reading = read_reading(book.vocabulary, name, raw, where, problems)
            if reading is not None:
                readings[name] = reading
        elif name in domains:
            try:
                own[name] = read_spec(domains[name], raw)
            except ValueError as error:
                what, _, fix = str(error).rpartition("; ")
                problems.append(Problem(where, f'{name} = "{raw}": {what or error}', fix or "mend the value"))
        else:
            problems.append(
                Problem(where, f'"{name}" is neither a fact nor a property of an assembly', _near(name, book))
            )
    return readings, own


def _near(name: str, book: Rulebook) -> str:
    near = get_close_matches(name, [*book.vocabulary.facts, *_own_domains(book)], 1)
    return f'did you mean "{near[0]}"?' if near else "list the facts with: undercourse facts"


def _input(name: str, way: str, frame: Frame, book: Rulebook) -> dict[str, Any]:
    domain = frame.domain(name)
    spec = row_spec(frame[name], 0)
    if isinstance(spec, Choices):
        is_open = spec.bits.bit_count() > 1
    else:
        is_open = spec.high > spec.low * (1 + 1e-9) + 1e-12
    return {
        "name": name,
        "label": label(name, book.vocabulary),
        "direction": way,
        "value": show_value(domain, frame[name], 0),
        "value_text": show_text(domain, spec),
        "open": is_open,
        "whole_domain": spec == domain.everything,
    }


def _working(demand: Demand, frame: Frame, value: NumberColumn, book: Rulebook) -> dict[str, Any]:
    """The sentence at the unfavorable end, and the numbers at both."""
    least, most = demand.corners(frame, book.tables)
    gentle, hard = demand.kernel(least), demand.kernel(most)
    computed = (float(np.ravel(gentle[0])[0]), float(np.ravel(hard[0])[0]))
    shown = (float(value.low[0]), float(value.high[0]))
    if demand.wanted != "low":
        gentle, hard, most = hard, gentle, least
        computed, shown = computed[::-1], shown[::-1]
    sentence = _sentence(demand, most, hard[1], computed, shown)
    unset = [
        one
        for one in (*demand.reads, *demand.takes)
        if row_spec(frame[one], 0) == frame.domain(one).everything
    ]
    end = shown[1] >= demand.domain.high if demand.wanted == "low" else shown[1] <= demand.domain.low
    if unset and end:
        sentence = f"So much is open that it may be anything; set {', '.join(unset)}."
    numbers = [
        {name: number(float(np.ravel(each)[0])) for name, each in end[1].items()} for end in (gentle, hard)
    ]
    return {"sentence": sentence, "least": numbers[0], "most": numbers[1]}


def _sentence(
    demand: Demand,
    point: Mapping[str, Any],
    working: Mapping[str, Any],
    computed: tuple[float, float],
    shown: tuple[float, float],
) -> str:
    """The reason in the numbers of the unfavorable end, unless that end is stated and not computed."""
    if demand.branches is not None and not np.isclose(computed[1], shown[1], rtol=1e-9):
        # The framing may be of a kind that its designer vouches for, or none at all.
        others = [name for name in demand.reads if name.startswith(("base", "framing"))]
        return f"At the unfavorable end it follows from {' and '.join(others)}, not from a computation."
    sentence = reason_sentence(demand, point, working)
    return (
        sentence if np.isclose(computed[0], computed[1], rtol=1e-9) else f"At the unfavorable end: {sentence}"
    )
