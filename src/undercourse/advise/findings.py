"""One row of a judgement in the shape that people and programs read."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from undercourse.assembly.candidates import STACK, Candidate, layer_thickness_m
from undercourse.base.columns import ChoiceColumn, Column, Floats, NumberColumn, pick
from undercourse.base.domains import Choices, Domain, Span, Spec, show_spec
from undercourse.base.frame import Frame
from undercourse.base.paired import pair_texts
from undercourse.base.units import UNITS, from_si, show_quantity
from undercourse.demands import Demand
from undercourse.demands.record import Valid
from undercourse.judge.results import EXCEEDS, MEETS, NOT_APPLY, OPEN, STATUS_WORDS, Finding, Judgement
from undercourse.judge.rulebook import Rulebook
from undercourse.line.rows import LOAD_CLASSES


def number(value: float) -> float | None:
    """A JSON number; None for what is not finite."""
    return None if not math.isfinite(value) else float(f"{value:.6g}")


def show_value(domain: Domain, column: Column | None, row: int) -> Any:
    """A set of values: one number or word, ``{"from", "to"}``, or a list."""
    if column is None:
        return None
    if isinstance(column, ChoiceColumn):
        names = domain.names(int(pick(column.bits, row)))
        return names[0] if len(names) == 1 else names
    assert domain.unit is not None
    low, high = float(pick(column.low, row)), float(pick(column.high, row))
    first, last = (number(from_si(end, domain.unit)) if math.isfinite(end) else None for end in (low, high))
    return first if first == last else {"from": first, "to": last}


def row_spec(column: Column, row: int) -> Spec:
    """The set of values of one row."""
    if isinstance(column, NumberColumn):
        return Span(float(pick(column.low, row)), float(pick(column.high, row)))
    return Choices(int(pick(column.bits, row)))


def show_text(domain: Domain, spec: Spec) -> str:
    """A set of values as a person reads it, ratios as L/n and load classes by their word."""
    if isinstance(spec, Span) and domain.unit is not None:
        if domain.unit.symbol == "ratio" and domain.name.endswith("deflection"):
            ends = [_bend_text(end) for end in (spec.low, spec.high)]
            return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
        if domain.unit.symbol == "ratio":
            ends = [_share_text(end) for end in (spec.low, spec.high)]
            return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
        if domain.unit.symbol == "class":
            words = [LOAD_CLASSES[max(0, min(4, round(end) - 1))] for end in (spec.low, spec.high)]
            return words[0] if words[0] == words[1] else f"{words[0]} to {words[1]}"
    return show_spec(domain, spec)


def _share_text(share: float) -> str:
    """A share in percent; beyond ten times over nobody counts."""
    return f"{share * 100:.0f} %" if share <= 10 else "more than 1,000 %"


def _bend_text(ratio: float) -> str:
    """A deflection as a part of the span; beyond a tenth nobody counts."""
    if ratio <= 0:
        return "0"
    return f"L/{1 / ratio:,.0f}" if ratio <= 0.1 else "more than L/10"


def clip(domain: Domain, spec: Spec) -> Spec:
    """A wanted set of values within its domain."""
    if isinstance(spec, Span):
        return Span(max(spec.low, domain.low), min(spec.high, domain.high))
    everything = domain.everything
    assert isinstance(everything, Choices)
    return Choices(spec.bits & everything.bits)


def capacity_text(finding: Finding, domain: Domain, row: int) -> str:
    """What the product or rule allows, in words."""
    limit = finding.limit
    if limit is None or finding.capacity is None:
        return ""
    spec = row_spec(finding.capacity, row)
    if limit.capacity.column.startswith("provides_"):
        return "provided" if spec == Choices(2) else "not provided" if spec == Choices(1) else "not known"
    words = {"at_most": "at most ", "at_least": "at least ", "none_of": "none of: "}.get(limit.comparison, "")
    if isinstance(spec, Span) and limit.comparison in ("at_most", "at_least"):
        end = spec.high if limit.comparison == "at_most" else spec.low
        if not limit.capacity.column:
            spec = Span(end, end)
    return words + show_text(domain, spec)


def finding_document(
    finding: Finding, book: Rulebook, judgement: Judgement, row: int
) -> dict[str, Any] | None:
    """The JSON of one finding in one row; None where it does not apply and overrides nothing."""
    status = int(pick(finding.status, row))
    gave_way = bool(pick(finding.overridden, row))
    if status == NOT_APPLY and not gave_way:
        return None
    domain = book.domains.get(finding.demand)
    share = finding.utilisation
    used = None if share is None else number(float(pick(share, row)))
    limit = finding.limit
    document: dict[str, Any] = {
        "limit": finding.label,
        "demand": finding.demand,
        "value": show_value(domain, finding.value, row) if domain else None,
        "value_text": show_text(domain, row_spec(finding.value, row))
        if domain and finding.value is not None
        else "",
        "capacity": _capacity(finding, domain, row),
        "capacity_text": capacity_text(finding, domain, row) if domain else "",
        "unit": domain.unit.symbol if domain and domain.unit else None,
        "utilisation": used,
        "margin": _margin(finding, domain, row) if used is None else None,
        "status": STATUS_WORDS[status],
        "can_be_made_so": bool(status == OPEN and pick(finding.settled, row)),
        "reason": finding.reason,
        "working": _working(finding, book, judgement, row),
        "source": (limit.source if limit and limit.source else finding.basis) or finding.basis,
        "basis": finding.basis,
        "by": finding.product or "trade rule",
        "overrides": finding.overridden_by if gave_way else None,
    }
    if limit is not None and limit.caution:
        document["caution"] = limit.caution
    if ending := _domain_end(finding, book, status, row):
        document["rests_on"] = ending
    if (
        finding.respects is not None
        and not bool(pick(finding.respects.must, row))
        and limit
        and limit.evidence
    ):
        document["respects"] = _respects(finding, book, judgement, row)
    return document


def _domain_end(finding: Finding, book: Rulebook, status: int, row: int) -> str:
    """Says so where an unknown number is settled only by the end of its plausible range."""
    fact = book.vocabulary.facts.get(finding.demand)
    if fact is None or status not in (MEETS, EXCEEDS) or not isinstance(finding.value, NumberColumn):
        return ""
    spec = row_spec(finding.value, row)
    assert isinstance(spec, Span)
    if spec.low > fact.domain.low or spec.high < fact.domain.high:
        return ""
    source = f" ({fact.domain_source})" if fact.domain_source else ""
    return f"Unknown; decided by the end of the plausible range of {fact.label}{source}."


def _capacity(finding: Finding, domain: Domain | None, row: int) -> Any:
    limit = finding.limit
    if domain is None or limit is None or finding.capacity is None:
        return None
    shown = show_value(domain, finding.capacity, row)
    if isinstance(shown, dict) and limit.comparison in ("at_most", "at_least") and not limit.capacity.column:
        return shown["to"] if limit.comparison == "at_most" else shown["from"]
    return shown


def _margin(finding: Finding, domain: Domain | None, row: int) -> dict[str, Any] | None:
    """Distance to the limit at the unfavorable end, for scales without a true zero."""
    limit = finding.limit
    if domain is None or domain.unit is None or limit is None or not isinstance(finding.value, NumberColumn):
        return None
    if not isinstance(finding.capacity, NumberColumn) or limit.comparison not in ("at_most", "at_least"):
        return None
    if limit.comparison == "at_most":
        gap = float(pick(finding.capacity.high, row)) - float(pick(finding.value.high, row))
    else:
        gap = float(pick(finding.value.low, row)) - float(pick(finding.capacity.low, row))
    return {"value": number(gap / domain.unit.factor), "unit": domain.unit.symbol}


def _working(finding: Finding, book: Rulebook, judgement: Judgement, row: int) -> dict[str, Any] | None:
    """The numbers that a computed demand used at its unfavorable corner."""
    demand = book.demand(finding.demand)
    if demand is None or not isinstance(finding.value, NumberColumn):
        return None
    frame = judgement.candidate.frame
    owner = frame if demand.takes or frame.below is None else frame.below
    end = finding.value.high if demand.wanted == "low" else finding.value.low
    high = float(pick(end, row))
    # Several limits on one demand show one working; what does not read the candidate is shared by all.
    kept: dict[str, Any] = owner.keep_here(
        f"working {demand.name} {row}", lambda: _work_out(demand, owner, book, row, high)
    )
    return kept


def _work_out(demand: Demand, frame: Frame, book: Rulebook, row: int, shown: float) -> dict[str, Any]:
    columns = {name: row_column(column, row) for name, column in demand.inputs(frame, book.tables).items()}
    if demand.valid and not bool(demand.holds(columns).must[0]):
        return {"sentence": valid_sentence(demand), "source": demand.source}
    point = demand.worst(columns)
    computed, working = demand.kernel(point)
    apart = abs(float(np.ravel(computed)[0]) - shown) > 1e-6 * abs(shown)
    if demand.branches is not None and apart:
        sentence = "Taken from the stiffness stated for the framing, or not in play; not computed here."
        return {"sentence": sentence, "source": demand.source}
    steps = {name: number(float(np.ravel(value)[0])) for name, value in working.items()}
    return {"sentence": reason_sentence(demand, point, working), "source": demand.source, **steps}


def reason_sentence(demand: Demand, point: Mapping[str, Floats], working: Mapping[str, Floats]) -> str:
    """The sentence of a demand with its inputs and steps put in."""
    texts = {
        name: notation_text(demand, name, float(np.ravel(value)[0]))
        for name, value in {**point, **working}.items()
        if name in demand.notation and f"{{{name}" in demand.reason
    }
    return demand.reason.format(**texts)


def row_column(column: NumberColumn, row: int) -> NumberColumn:
    """One row of a number column."""
    return NumberColumn(
        np.array([float(pick(np.atleast_1d(column.low), row))]),
        np.array([float(pick(np.atleast_1d(column.high), row))]),
    )


def valid_sentence(demand: Demand) -> str:
    """Where a formula holds, in words."""
    spans = "; ".join(
        f"{demand.notation[span.name].label or span.name.replace('_', ' ')} {valid_range(demand, span)}"
        f" ({span.source})"
        for span in demand.valid
    )
    return f"Not valid here: the formula holds for {spans}."


def valid_range(demand: Demand, span: Valid) -> str:
    """A range of validity in both unit systems."""
    texts = [
        notation_text(demand, span.name, end) if math.isfinite(end) else "" for end in (span.low, span.high)
    ]
    if not texts[0]:
        return f"up to {texts[1]}"
    if texts[0] == texts[1]:
        return f"at {texts[0]}"
    return f"from {texts[0]} to {texts[1]}" if texts[1] else f"from {texts[0]}"


def notation_text(demand: Demand, name: str, value: float, digits: int = 3) -> str:
    """A number of a working in the units of its notation, US customary first."""
    notation = demand.notation[name]
    if not math.isfinite(value):
        return "unknown"
    if notation.unit == "class":
        return LOAD_CLASSES[max(0, min(4, round(value) - 1))]
    if notation.unit == "m":
        return show_quantity(value, UNITS["in"])
    si, us = pair_texts(value, notation.unit, digits)
    return si if si == us else f"{us} ({si})"


def _respects(finding: Finding, book: Rulebook, judgement: Judgement, row: int) -> list[dict[str, Any]]:
    """The respects of the evidence that this floor does not surely keep."""
    assert finding.limit is not None
    assert finding.limit.evidence is not None
    found = []
    for respect in finding.limit.evidence.respects:
        truth = judgement.candidate.frame.says(respect.fact, respect.spec)
        if bool(pick(truth.must, row)):
            continue
        domain = book.domains[respect.fact]
        found.append(
            {
                "fact": respect.fact,
                "tested": respect.text,
                "here": show_spec(domain, row_spec(judgement.candidate.frame[respect.fact], row)),
                "kept": "open" if bool(pick(truth.may, row)) else "no",
            }
        )
    return found


def layer_documents(candidate: Candidate, row: int) -> list[dict[str, Any]]:
    """The layers of a candidate from the tile down, companions that are not layers at the end."""
    if candidate.proposed:
        return [
            {
                "role": layer.role,
                "product": layer.product.id if layer.product else None,
                "name": layer.product.name
                if layer.product
                else (layer.kind or ", ".join(layer.classes) or layer.role),
                "kind": layer.kind or (layer.product.kind if layer.product else ""),
                "thickness_m": layer.thickness_m
                if layer.thickness_m is not None
                else (layer_thickness_m(layer.product, layer.role) if layer.product else None),
                "certain": True,
            }
            for layer in candidate.layers
        ]
    found: list[dict[str, Any]] = []
    entries = [("membrane", candidate.membrane, True)]
    open_choices: dict[str, list[str]] = {}
    for role, pick_ in candidate.picks.items():
        if bool(pick(pick_.present.may, row)):
            entries.append((role, pick_.product(row), bool(pick(pick_.present.must, row))))
            could = [
                p.name for p, able in zip(pick_.products, pick_.possible, strict=True) if pick(able, row)
            ]
            if len(could) > 1:
                open_choices[role] = could
    order = {role: place for place, role in enumerate(STACK)}
    for role, product, certain in sorted(entries, key=lambda entry: order.get(entry[0], 99)):
        found.append(
            {
                "role": role,
                "product": product.id if product else None,
                "name": product.name if product else f"no {role} of the line fits",
                "kind": product.kind if product else "",
                "thickness_m": layer_thickness_m(product, role) if product else None,
                "certain": certain,
            }
        )
        if role in open_choices:
            # Which one it is turns on facts that are still open; the one shown meets every case.
            found[-1]["or"] = [name for name in open_choices[role] if product is None or name != product.name]
    return found
