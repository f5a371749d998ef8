"""Reading the rows that products and trade rules share: conditions, limits, needs, pairs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from undercourse.base.domains import Domain, Span, read_spec
from undercourse.base.problems import Problem
from undercourse.base.units import UNITS, find_unit, read_leading_number, read_quantity, to_si
from undercourse.line.records import (
    COMPARISONS,
    ROLES,
    YIELDS,
    AskFirst,
    Capacity,
    Condition,
    Evidence,
    Limit,
    Need,
    Pair,
    Property,
    Respect,
)

# The words of the floor-load classes, in order; data may write the word for the number.
LOAD_CLASSES = ("residential", "light", "moderate", "heavy", "extra heavy")


@dataclass
class RowReader:
    """Collects problems while rows are read; ``domains`` names facts, columns and demands."""

    domains: Mapping[str, Domain]
    where: str
    problems: list[Problem] = field(default_factory=list)

    def fault(self, row: str, what: str, fix: str) -> None:
        """Note one problem of a row."""
        self.problems.append(Problem(f"{self.where}: {row}" if row else self.where, what, fix))

    def condition(self, raw: Any, row: str) -> Condition:
        """A ``when`` table."""
        terms = []
        if not isinstance(raw or {}, Mapping):
            self.fault(row, f"condition {raw!r} is not a table", "write { fact = value }")
            return Condition()
        for name, value in (raw or {}).items():
            if name not in self.domains:
                self.fault(row, f'condition names "{name}", which is no fact or column', self.nearest(name))
                continue
            try:
                terms.append((name, read_spec(self.domains[name], value)))
            except ValueError as error:
                self.fault(row, f"condition {name} = {value!r}: {error}", "mend the condition")
        return Condition(tuple(terms))

    def nearest(self, name: str) -> str:
        """A hint for a name that is not known."""
        near = get_close_matches(name, list(self.domains), 1)
        return f'did you mean "{near[0]}"?' if near else "use a fact, a candidate column or a demand"

    def date(self, raw: Any, row: str) -> dt.date | None:
        """A date or None."""
        if raw is None or isinstance(raw, dt.date):
            return raw
        try:
            return dt.date.fromisoformat(str(raw))
        except ValueError:
            self.fault(row, f'"{raw}" is not a date', "write it as 2026-11-25")
            return None

    def texts(self, raw: Any) -> tuple[str, ...]:
        """A text or a list of texts."""
        if raw is None:
            return ()
        return tuple(str(item) for item in raw) if isinstance(raw, (list, tuple)) else (str(raw),)

    def tables(self, raw: Any, key: str) -> list[Mapping[str, Any]]:
        """The ``[[key]]`` tables of a row; anything else there is a fault."""
        found = raw.get(key, [])
        if not isinstance(found, list):
            self.fault(key, f"{found!r} is no list of tables", f"write [[{key}]] and its keys below")
            return []
        tables = [item for item in found if isinstance(item, Mapping)]
        if len(tables) < len(found):
            self.fault(key, "an entry is no table", f"write [[{key}]] and its keys below")
        return tables

    def capacity(
        self, domain: Domain, raw: Any, row: str, properties: Mapping[str, Property] | None
    ) -> Capacity:
        """The capacity of a limit: a value, or where it is to be read."""
        if isinstance(raw, Mapping) and not set(raw) & {"from", "to"}:
            return self._reference(domain, raw, row, properties)
        if isinstance(raw, str) and domain.unit and domain.unit.symbol == "class":
            word = raw.strip().lower()
            if word in LOAD_CLASSES:
                rank = float(LOAD_CLASSES.index(word) + 1)
                return Capacity(Span(rank, rank))
        try:
            return Capacity(read_spec(domain, raw))
        except ValueError as error:
            self.fault(row, f"capacity {raw!r}: {error}", "mend the capacity")
            return Capacity()

    def _reference(
        self, domain: Domain, raw: Mapping[str, Any], row: str, properties: Mapping[str, Property] | None
    ) -> Capacity:
        if "property" in raw and properties is not None:
            found = properties.get(str(raw["property"]))
            if found is None or found.value is None:
                self.fault(row, f'property "{raw["property"]}" is not stated', "state it or write a value")
                return Capacity()
            return Capacity(Span(found.value, found.value))
        name = str(raw.get("column") or raw.get("fact") or "")
        if "property" in raw:
            name = f"membrane_{raw['property']}"
        if name not in self.domains:
            self.fault(row, f'capacity names "{name}", which is no fact or column', self.nearest(name))
            return Capacity()
        if (self.domains[name].kind == "number") != (domain.kind == "number"):
            self.fault(row, f'capacity "{name}" is of another kind than the demand', "compare like with like")
        return Capacity(column=name)

    def limit(
        self,
        raw: Mapping[str, Any],
        row: str,
        product: str = "",
        properties: Mapping[str, Property] | None = None,
        evidence: Mapping[str, Evidence] | None = None,
    ) -> Limit | None:
        """One limit, rule or stop."""
        found = [word for word in COMPARISONS if word in raw]
        demand = str(raw.get("demand", ""))
        if len(found) != 1:
            self.fault(row, "not exactly one comparison", f"write one of {', '.join(COMPARISONS)}")
            return None
        comparison = found[0]
        if comparison != "never" and demand not in self.domains:
            self.fault(row, f'demand "{demand}" is not known', self.nearest(demand))
            return None
        capacity = Capacity()
        if comparison in ("at_most", "at_least", "one_of", "none_of"):
            capacity = self.capacity(self.domains[demand], raw[comparison], row, properties)
        if not raw.get("because"):
            self.fault(row, "gives no reason", 'write because = "one sentence"')
        basis = str(raw.get("basis", ""))
        proof = None
        if not basis:
            self.fault(
                row,
                "has no basis",
                'write basis = "evidence:…", "standard:…" or "common practice, no source"',
            )
        if basis.startswith("evidence:") and evidence is not None:
            proof = evidence.get(basis.removeprefix("evidence:"))
            if proof is None:
                self.fault(
                    row, f'basis "{basis}" names no evidence of this product', "add the evidence record"
                )
        yields = str(raw.get("yields_to", "nobody"))
        if yields not in YIELDS:
            self.fault(row, f'yields_to = "{yields}"', f"write one of {', '.join(YIELDS)}")
        age = raw.get("max_age")
        try:
            max_age = read_quantity(str(age), "time") / 86400 if age else None
        except ValueError as error:
            self.fault(row, f"max_age: {error}", 'write "30 day"')
            max_age = None
        unless = raw.get("unless")
        return Limit(
            str(raw.get("id", f"{product}/{demand}" if product else row)),
            demand,
            comparison,
            capacity,
            self.condition(raw.get("when"), row),
            self.condition(unless, row) if unless else None,
            basis,
            str(raw.get("because", "")),
            yields,
            max_age,
            self.texts(raw.get("method")),
            self.texts(raw.get("topic")),
            self.texts(raw.get("jurisdiction")),
            str(raw.get("source", "")),
            str(raw.get("edition", "")),
            bool(raw.get("needs_membrane", False)),
            str(raw.get("caution", "")),
            str(raw.get("who_decides", "")),
            bool(raw.get("stop", False)),
            product,
            proof,
            None,
            f"{self.where}: {row}",
        )

    def need(self, raw: Mapping[str, Any], row: str, product: str = "") -> Need | None:
        """One need."""
        role = str(raw.get("role", ""))
        if role not in ROLES:
            self.fault(row, f'need names the role "{role}"', f"use one of {', '.join(ROLES)}")
            return None
        unless = raw.get("unless")
        return Need(
            str(raw.get("id", f"{product}/{role}")),
            role,
            self.texts(raw.get("classes")),
            self.texts(raw.get("products")),
            self.condition(raw.get("when"), row),
            self.condition(unless, row) if unless else None,
            str(raw.get("because", "")),
            str(raw.get("basis", "")),
            str(raw.get("source", "")),
            self.texts(raw.get("topic")),
            product,
            bool(raw.get("for_membrane", False)),
            f"{self.where}: {row}",
        )

    def pair(self, raw: Mapping[str, Any], row: str, product: str = "") -> Pair | None:
        """One pair row."""
        may = str(raw.get("may", ""))
        if may not in ("yes", "no", "with primer") or "upper" not in raw or "lower" not in raw:
            self.fault(row, "a pair needs upper, lower and may", 'write may = "yes", "no" or "with primer"')
            return None
        text = [str(raw.get(key, "")) for key in ("upper", "lower", "because", "basis")]
        return Pair(text[0], text[1], may, text[2], text[3], product)

    def ask_first(self, raw: Mapping[str, Any]) -> AskFirst | None:
        """One fact to ask for before all others."""
        fact = str(raw.get("fact", ""))
        row = f"ask_first {fact}".rstrip()
        for key in sorted(set(raw) - {"fact", "when", "because"}):
            self.fault(row, f'"{key}" is not a key of it', "use fact, when and because")
        if fact not in self.domains:
            self.fault(row, f'"{fact}" is not a fact', self.nearest(fact))
            return None
        if not raw.get("because"):
            self.fault(row, "gives no reason", 'write because = "one sentence"')
        when = self.condition(raw.get("when"), row)
        return AskFirst(fact, when, str(raw.get("because", "")), f"{self.where}: {row}")

    def evidence(self, raw: Mapping[str, Any], row: str) -> Evidence:
        """One evidence record with its respects."""
        respects = []
        for item in self.tables(raw, "respects"):
            fact = str(item.get("fact", ""))
            word = next((key for key in ("at_least", "at_most", "one_of", "is") if key in item), None)
            if fact not in self.domains or word is None:
                self.fault(
                    row,
                    f"respect {dict(item)} is not understood",
                    "write fact and at_least, at_most or one_of",
                )
                continue
            value = item[word]
            if word == "at_least" and not isinstance(value, list):
                value = {"from": value}
            elif word == "at_most":
                value = {"to": value}
            try:
                spec = read_spec(self.domains[fact], value)
            except ValueError as error:
                self.fault(row, f"respect {fact}: {error}", "mend the respect")
                continue
            respects.append(Respect(fact, spec, f"{word.replace('_', ' ')} {item[word]}"))
        rating = str(raw.get("rating", ""))
        if rating and rating not in LOAD_CLASSES:
            self.fault(row, f'rating "{rating}" is no floor-load class', f"use {', '.join(LOAD_CLASSES)}")
        tested = tuple({str(k): str(v) for k, v in layer.items()} for layer in self.tables(raw, "tested"))
        return Evidence(
            str(raw.get("id", "")),
            str(raw.get("standard", "")),
            str(raw.get("edition", "")),
            str(raw.get("laboratory", "")),
            str(raw.get("report", "")),
            self.date(raw.get("date"), row),
            str(raw.get("result", "")),
            tested,
            tuple(respects),
            rating,
        )


def read_property(name: str, raw: Any) -> Property:
    """A property: quantities become SI, everything else stays text."""
    if isinstance(raw, bool):
        return Property(name, float(raw), "yes" if raw else "no", None)
    if isinstance(raw, (int, float)) and abs(raw) < 1e300:
        return Property(name, float(raw), str(raw), UNITS["ratio"])
    if isinstance(raw, list):
        return Property(name, None, ", ".join(str(item) for item in raw), None)
    text = str(raw)
    found = read_leading_number(text)
    if found is not None:
        unit = find_unit(found[1])
        if unit is not None:
            return Property(name, to_si(found[0], unit), text, unit)
    return Property(name, None, text, None)
