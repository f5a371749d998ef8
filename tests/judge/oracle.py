"""A plain second opinion: one limit row at a time, one known value a fact, straight from the data files.

It shares the reader of written values with the program, and nothing else: no columns, no three-valued
logic, no compiled rules.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from undercourse.base.domains import Choices, Domain, Span, read_spec
from undercourse.files import shipped
from undercourse.judge.rulebook import all_domains
from undercourse.line.rows import LOAD_CLASSES

WORDS = shipped.vocabulary()
DOMAINS = all_domains(WORDS)
Point = Mapping[str, float | str]
COMPARISONS = ("at_most", "at_least", "one_of", "none_of", "never", "not_stated")


def raw_products() -> dict[str, dict[str, Any]]:
    """Product rows of the demo line as written."""
    parsed, _ = shipped.parse_line(None)
    found: dict[str, dict[str, Any]] = {}
    for _, data in parsed:
        for row in [data] if "id" in data else data.get("product", []):
            found[str(row["id"])] = dict(row)
    return found


def raw_rules() -> dict[str, dict[str, Any]]:
    """Trade rules as written, site stops left out."""
    parsed, _ = shipped._parse_folder(shipped.data_root().joinpath("practice"), "practice")
    return {r["id"]: r for _, data in parsed for r in data.get("rule", []) if not r.get("stop")}


def inside(domain: Domain, raw: Any, value: float | str) -> bool:
    """Whether one value lies in a written set."""
    spec = read_spec(domain, raw)
    if isinstance(spec, Choices):
        return bool(spec.bits >> domain.choices.index(str(value)) & 1)
    return (
        spec.low - 1e-9 * max(1e-6, abs(spec.low))
        <= float(value)
        <= spec.high + 1e-9 * max(1e-6, abs(spec.high))
    )


def decidable(row: Mapping[str, Any]) -> bool:
    """Whether a row speaks of site facts only, so that a point of facts settles it."""
    names = {str(row.get("demand", "")), *row.get("when", {}), *row.get("unless", {})} - {""}
    capacity = next((row[word] for word in COMPARISONS if word in row), None)
    if isinstance(capacity, Mapping) and not set(capacity) & {"from", "to"}:
        return False
    return names <= set(WORDS.facts) and "max_age" not in row and "method" not in row and "ruling" not in row


def status(row: Mapping[str, Any], point: Point, evidence: Mapping[str, Mapping[str, Any]]) -> str:
    """What a row says of a fully known floor."""
    if row.get("jurisdiction"):
        places = row["jurisdiction"]
        if point["jurisdiction"] not in ([places] if isinstance(places, str) else places):
            return "does not apply"
    for name, raw in row.get("when", {}).items():
        if not inside(DOMAINS[name], raw, point[name]):
            return "does not apply"
    if row.get("unless") and all(inside(DOMAINS[n], raw, point[n]) for n, raw in row["unless"].items()):
        return "does not apply"
    if "not_stated" in row:
        return "not stated"
    if "never" in row:
        return "exceeds"
    word = next(word for word in ("at_most", "at_least", "one_of", "none_of") if word in row)
    if not _within(word, row[word], DOMAINS[row["demand"]], point[row["demand"]]):
        return "exceeds"
    basis = str(row.get("basis", ""))
    if basis.startswith("evidence:"):
        for respect in evidence[basis.removeprefix("evidence:")].get("respects", []):
            if not _keeps(respect, point):
                return "not valid here"
    return "meets"


def _within(word: str, raw: Any, domain: Domain, value: float | str) -> bool:
    if word in ("one_of", "none_of"):
        return inside(domain, raw, value) == (word == "one_of")
    if domain.kind != "number":
        limit = next(i for i, c in enumerate(domain.choices) if inside(domain, raw, c))
        here = domain.choices.index(str(value))
        return here <= limit if word == "at_most" else here >= limit
    if domain.unit is not None and domain.unit.symbol == "class" and str(raw) in LOAD_CLASSES:
        end = float(LOAD_CLASSES.index(str(raw)) + 1)
    else:
        spec = read_spec(domain, raw)
        assert isinstance(spec, Span)
        end = spec.high if word == "at_most" else spec.low
    slack = 1e-9 * max(1e-6, abs(end))
    return float(value) <= end + slack if word == "at_most" else float(value) >= end - slack


def _keeps(respect: Mapping[str, Any], point: Point) -> bool:
    domain, value = DOMAINS[respect["fact"]], point[respect["fact"]]
    if "at_least" in respect and not isinstance(respect["at_least"], list):
        return _within("at_least", respect["at_least"], domain, value)
    if "at_most" in respect:
        return _within("at_most", respect["at_most"], domain, value)
    return inside(domain, respect.get("one_of", respect.get("is")), value)
