"""One demand worked out from a few facts, without a line and without a job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

import numpy as np

from undercourse.advise.findings import number, row_spec, show_text, show_value, working_text
from undercourse.advise.sentences import label
from undercourse.base.columns import Columns, NumberColumn, spec_column
from undercourse.base.domains import Choices, Domain, Spec, read_spec
from undercourse.base.frame import Frame
from undercourse.base.problems import Problem, Problems
from undercourse.demands import DEMANDS, Demand
from undercourse.demands.record import CHOICE
from undercourse.facts.jobs import Area, Reading, read_reading, settle_facts
from undercourse.judge.rulebook import Rulebook


def demand_list() -> list[dict[str, Any]]:
    """Every computed demand: what it reads and takes, with directions, unit, scale and source."""
    return [_head(demand) for demand in DEMANDS.values()]


def _head(demand: Demand) -> dict[str, Any]:
    unit = demand.domain.unit
    return {
        "name": demand.name,
        "unit": unit.symbol if unit else None,
        "scale": demand.scale,
        "reads": dict(demand.reads),
        "takes": dict(demand.takes),
        "source": demand.source,
    }


def demand_document(name: str, settings: Sequence[str], book: Rulebook) -> dict[str, Any]:
    """A demand worked out from settings such as ``joist_span=13 ft 2 in``.

    What is not set may have any value of its domain, so the demand is a range.

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
    frame = Frame(columns, Frame(facts))
    value = demand.value(frame, book.tables)
    return {
        **_head(demand),
        "value": show_value(demand.domain, value, 0),
        "value_text": show_text(demand.domain, row_spec(value, 0)),
        "working": _working(demand, frame, value, book),
        "inputs": [_input(one, way, frame, book) for one, way in {**demand.reads, **demand.takes}.items()],
        "unused": [one for one in (*readings, *own) if one not in demand.reads and one not in demand.takes],
    }


def _unknown(name: str, book: Rulebook) -> Problem:
    if name in book.vocabulary:
        return Problem("demand", f'"{name}" is a fact, not computed', f"write one of {', '.join(DEMANDS)}")
    near = get_close_matches(name, list(DEMANDS), 1)
    fix = f'did you mean "{near[0]}"?' if near else f"write one of {', '.join(DEMANDS)}"
    return Problem("demand", f'"{name}" is no demand', fix)


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
    computed = (float(np.atleast_1d(gentle[0])[0]), float(np.atleast_1d(hard[0])[0]))
    shown = (float(value.low[0]), float(value.high[0]))
    sentence = _sentence(demand, hard[1], computed, shown)
    unset = [
        one
        for one in (*demand.reads, *demand.takes)
        if row_spec(frame[one], 0) == frame.domain(one).everything
    ]
    if unset and shown[1] >= demand.domain.high:
        sentence = f"So much is open that it may be anything; set {', '.join(unset)}."
    numbers = [
        {name: number(float(np.atleast_1d(each)[0])) for name, each in end[1].items()}
        for end in (gentle, hard)
    ]
    return {"sentence": sentence, "least": numbers[0], "most": numbers[1]}


def _sentence(
    demand: Demand, working: Mapping[str, Any], computed: tuple[float, float], shown: tuple[float, float]
) -> str:
    """The reason in the numbers of the unfavorable end, unless that end is stated and not computed."""
    if not np.isclose(computed[1], shown[1], rtol=1e-9):
        # The framing may be of a kind that its designer vouches for, or none at all.
        ways = demand.reads.items()
        others = [name for name, way in ways if way == CHOICE and name.startswith(("base", "framing"))]
        return f"At the unfavorable end it follows from {' and '.join(others)}, not from a computation."
    texts = {name: working_text(name, float(np.atleast_1d(each)[0])) for name, each in working.items()}
    sentence = demand.reason.format(**texts)
    return sentence if computed[0] >= computed[1] * (1 - 1e-9) else f"At the unfavorable end: {sentence}"
