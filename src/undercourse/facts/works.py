"""Works: what people do to a floor before the sheet is laid, and who must agree first.

A work changes facts. A gate is what must be known or allowed before it begins; a gate passes, or
the work does not happen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from undercourse.base.domains import Choices, Span, Spec, read_spec
from undercourse.base.problems import Problem, Problems
from undercourse.base.units import read_quantity
from undercourse.facts.vocabulary import Vocabulary

Terms = tuple[tuple[str, Spec], ...]

# The order in which works are done, whatever order a person names them in.
STAGES = ("ask first", "take up", "framing", "panels", "slab", "water", "surface", "finish", "heat", "site")
# What nobody touches without a gate of its own.
OLD_LAYERS, FRAMING, SLAB, ELECTRICITY = (
    "old resilient layers",
    "framing",
    "tensioned slab",
    "electricity",
)
TOUCHES = (OLD_LAYERS, FRAMING, SLAB, ELECTRICITY)
_FRAMING_FACTS = frozenset(
    (
        "joist_size",
        "joist_plies",
        "joist_sister_size",
        "joist_spans",
        "joist_span",
        "joist_spacing",
        "framing_live_l_over",
        "framing_total_l_over",
        "framing_stated_as",
        "framing_rated_l_over",
        "joist_ei",
        "framing_condition",
    )
)
_ELECTRIC_FACTS = frozenset(("gfci_circuit", "heating_position", "heating_power"))
_COST_BASES = ("common practice, no source", "demo figure")
_KEYS = {
    *("id", "stage", "do", "changes", "add", "times", "layer", "takes_up", "forgets", "when", "unless"),
    *("needs", "gates", "cuts_slab", "by_whom", "cost", "height", "weight", "days", "days_by"),
    *("instead_of", "caution", "basis"),
}
_GATE_KEYS = {
    *("id", "touches", "fact", "must_be", "who", "unless", "never", "always", "cost", "days"),
    *("because", "basis"),
}


@dataclass(frozen=True)
class Cost:
    """What a work costs: an amount a square meter and a fixed amount."""

    per_m2: float
    fixed: float
    currency: str
    date: str
    basis: str


@dataclass(frozen=True)
class Gate:
    """What must be so, on whose word, before a work begins.

    ``unless`` says where nothing is touched, ``never`` where the work must not be done at all;
    ``always`` gates are passed anew for each job whatever the facts say.
    """

    id: str
    touches: str
    fact: str
    must_be: Spec
    who: str
    unless: Terms
    never: Terms
    always: bool
    cost: Cost
    days: float
    because: str
    basis: str


@dataclass(frozen=True)
class Work:
    """One thing that people do to a floor, and the facts after it."""

    id: str
    stage: str
    do: str
    changes: Terms
    add: tuple[tuple[str, float], ...]
    times: tuple[tuple[str, float], ...]
    layer: tuple[Choices, Span] | None
    takes_up: Choices | None
    forgets: tuple[str, ...]
    when: Terms
    unless: Terms
    gates: tuple[Gate, ...]
    by_whom: str
    cost: Cost
    height_m: float
    weight_kg_m2: float
    days: float
    days_by: str
    instead_of: str
    caution: str
    basis: str


@dataclass(frozen=True)
class Works:
    """All works in the order in which they are done, and all gates."""

    works: tuple[Work, ...] = ()
    gates: tuple[Gate, ...] = ()


@dataclass
class _Reader:
    vocabulary: Vocabulary
    where: str
    problems: list[Problem]

    def terms(self, row: Mapping[str, Any], key: str) -> Terms:
        domains = self.vocabulary.domains
        return tuple((name, read_spec(domains[name], raw)) for name, raw in row.get(key, {}).items())

    def amounts(self, row: Mapping[str, Any], key: str) -> tuple[tuple[str, float], ...]:
        found = []
        for name, raw in row.get(key, {}).items():
            spec = read_spec(self.vocabulary.domains[name], raw) if key == "add" else Span(raw, raw)
            if not isinstance(spec, Span) or self.vocabulary.domains[name].kind != "number":
                raise ValueError(f"{key}: {name} is not a number")
            found.append((name, spec.low))
        return tuple(found)

    def cost(self, row: Mapping[str, Any]) -> Cost:
        raw = row["cost"]
        if raw["basis"] not in _COST_BASES:
            raise ValueError(f'cost: basis is one of "{_COST_BASES[0]}", "{_COST_BASES[1]}"')
        if not raw.keys() & {"per_m2", "fixed"} or min(raw.get("per_m2", 0), raw.get("fixed", 0)) < 0:
            raise ValueError("cost: write per_m2 or fixed, not below 0")
        amounts = float(raw.get("per_m2", 0.0)), float(raw.get("fixed", 0.0))
        return Cost(*amounts, str(raw["currency"]), str(raw["date"]), str(raw["basis"]))

    def gate(self, row: Mapping[str, Any]) -> Gate:
        _known_keys(row, _GATE_KEYS)
        if row["touches"] not in (*TOUCHES, ""):
            raise ValueError(f'touches = "{row["touches"]}"')
        return Gate(
            row["id"],
            row["touches"],
            row["fact"],
            read_spec(self.vocabulary.domains[row["fact"]], row["must_be"]),
            row["who"],
            self.terms(row, "unless"),
            self.terms(row, "never"),
            bool(row.get("always", False)),
            self.cost(row),
            float(row["days"]),
            row["because"],
            row["basis"],
        )

    def work(self, row: Mapping[str, Any], gates: Mapping[str, Gate]) -> Work:
        _known_keys(row, _KEYS)
        if row["stage"] not in STAGES:
            raise ValueError(f'stage = "{row["stage"]}"')
        domains = self.vocabulary.domains
        kinds, thickness = domains["layer_1_kind"], domains["layer_1_thickness"]
        layer = None
        if "layer" in row:
            kind, size = (
                read_spec(kinds, row["layer"]["kind"]),
                read_spec(thickness, row["layer"]["thickness"]),
            )
            assert isinstance(kind, Choices)
            assert isinstance(size, Span)
            layer = (kind, size)
        takes_up = read_spec(kinds, row["takes_up"]) if "takes_up" in row else None
        assert takes_up is None or isinstance(takes_up, Choices)
        height = read_spec(thickness, row.get("height", "0 in"))
        assert isinstance(height, Span)
        forgets = tuple(row.get("forgets", ()))
        for name in (*forgets, *([row["days_by"]] if "days_by" in row else ())):
            domains[name]
        work = Work(
            row["id"],
            row["stage"],
            row["do"],
            self.terms(row, "changes"),
            self.amounts(row, "add"),
            self.amounts(row, "times"),
            layer,
            takes_up,
            forgets,
            (*self.terms(row, "when"), *self.terms(row, "needs")),
            self.terms(row, "unless"),
            tuple(gates[name] for name in row.get("gates", ())),
            row["by_whom"],
            self.cost(row),
            height.low,
            read_quantity(row.get("weight", "0 kg/m2"), "mass per area", None),
            float(row.get("days", 0.0)),
            row.get("days_by", ""),
            row.get("instead_of", ""),
            row.get("caution", ""),
            row["basis"],
        )
        _guarded(work, bool(row.get("cuts_slab", False)))
        return work


def _known_keys(row: Mapping[str, Any], known: set[str]) -> None:
    strange = sorted(set(row) - known)
    if strange:
        raise ValueError(f'"{strange[0]}" is not a key of such a row')


def _guarded(work: Work, cuts_slab: bool) -> None:
    """Raise where a work touches what needs a gate and names none."""
    changed = {name for name, _ in (*work.changes, *work.add, *work.times)}
    disturbs = any(name == "old_layers_disturbed" and spec == Choices(2) for name, spec in work.changes)
    if work.takes_up is not None and not disturbs:
        raise ValueError("takes up old layers: write old_layers_disturbed = true in changes")
    needed = {
        OLD_LAYERS: disturbs,
        FRAMING: bool(changed & _FRAMING_FACTS),
        SLAB: cuts_slab,
        ELECTRICITY: bool(changed & _ELECTRIC_FACTS),
    }
    for touched, is_touched in needed.items():
        if is_touched and not any(gate.touches == touched for gate in work.gates):
            raise ValueError(f'touches {touched}: name a gate with touches = "{touched}"')


def read_works(files: Iterable[tuple[str, Mapping[str, Any]]], vocabulary: Vocabulary) -> Works:
    """The works and gates of the parsed files, in the order of their stages.

    Raises
    ------
    Problems
        Every faulty row at once.
    """
    problems: list[Problem] = []
    parsed = list(files)
    gates: dict[str, Gate] = {}
    works: dict[str, Work] = {}

    def read(where: str, row: Mapping[str, Any], make: Callable[[_Reader], Gate | Work]) -> None:
        label = f"{where}: {row.get('id', '?')}"
        try:
            found = make(_Reader(vocabulary, where, problems))
        except KeyError as error:
            problems.append(Problem(label, f"{error} is missing or not known", "mend the row"))
            return
        except (ValueError, TypeError, AssertionError) as error:
            problems.append(Problem(label, f"faulty row: {error}", "mend the row"))
            return
        if found.id in gates or found.id in works:
            problems.append(Problem(label, "the id is used twice", "rename one"))
        if isinstance(found, Gate):
            gates[found.id] = found
        else:
            works[found.id] = found

    for where, data in parsed:
        for row in data.get("gate", []):
            read(where, row, lambda reader, row=row: reader.gate(row))  # type: ignore[misc]
    for where, data in parsed:
        for row in data.get("work", []):
            read(where, row, lambda reader, row=row: reader.work(row, gates))  # type: ignore[misc]
    costs = [*(gate.cost for gate in gates.values()), *(work.cost for work in works.values())]
    money = {cost.currency for cost in costs}
    if len(money) > 1:
        problems.append(
            Problem("prep", f"costs in {', '.join(sorted(money))} cannot be summed", "use one currency")
        )
    if problems:
        raise Problems(problems)
    ordered = sorted(works.values(), key=lambda work: STAGES.index(work.stage))
    return Works(tuple(ordered), tuple(gates.values()))
