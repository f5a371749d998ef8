"""The vocabulary: every fact of a site that the program can read, ask or derive."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

from undercourse.base.domains import Domain, Spec, read_spec
from undercourse.base.problems import Problem, Problems
from undercourse.base.units import UNITS, from_si, to_si

DECIDES = "decides"
MADE_SO = "can be made so"
EFFORTS = ("know", "look", "measure", "test")
# Share of floors that are as usual where the vocabulary gives no other: an assumption.
USUAL_SHARE = 0.9
SLOTS = 8


@dataclass(frozen=True)
class Usual:
    """What most floors are where ``when`` surely holds, and which share of them; the rest is anything."""

    spec: Spec
    share: float
    when: tuple[tuple[str, Spec], ...] = ()


@dataclass(frozen=True)
class Fact:
    """One fact: its domain, its part in a decision, how to ask for it and find it out.

    ``usuals`` is what most floors are, the first that applies; ``asked_where`` is where the fact means
    something; ``seldom_known`` marks what few people can tell. They order questions and decide nothing.
    """

    name: str
    group: str
    domain: Domain
    role: str
    effort: str
    question: str
    find: str
    words: tuple[str, ...]
    domain_source: str
    by_whom: str
    when_checked: str
    label: str
    usuals: tuple[Usual, ...] = ()
    asked_where: tuple[tuple[str, Spec], ...] = ()
    seldom_known: bool = False

    @property
    def usual(self) -> Spec | None:
        """What most floors are, whatever else is known; None where nothing is usual."""
        last = self.usuals[-1] if self.usuals else None
        return None if last is None or last.when else last.spec

    def document(self) -> dict[str, Any]:
        """The row of ``facts --json``."""
        unit = self.domain.unit
        if unit is not None:
            domain: Any = {
                "low": _tidy(from_si(self.domain.low, unit)),
                "high": _tidy(from_si(self.domain.high, unit)),
            }
        else:
            domain = list(self.domain.choices)
        return {
            "name": self.name,
            "group": self.group,
            "kind": self.domain.kind,
            "unit": unit.symbol if unit else None,
            "domain": domain,
            "role": self.role,
            "effort": self.effort,
            "label": self.label,
            "question": self.question,
            "find": self.find,
            "words": list(self.words),
            "domain_source": self.domain_source,
            "by_whom": self.by_whom,
            "when_checked": self.when_checked,
        }


def _tidy(number: float) -> float:
    return float(f"{number:.10g}")


@dataclass(frozen=True)
class Vocabulary:
    """All facts in the order in which a person walks a site."""

    facts: Mapping[str, Fact]
    domains: Mapping[str, Domain]
    groups: tuple[str, ...]

    def __getitem__(self, name: str) -> Fact:
        return self.facts[name]

    def __contains__(self, name: object) -> bool:
        return name in self.facts

    def nearest(self, name: str) -> str:
        """A hint for a name that is not a fact."""
        near = get_close_matches(name, list(self.facts), 1)
        if near:
            return f'did you mean "{near[0]}"?'
        return "list the facts with: undercourse facts"


def read_vocabulary(
    data: Mapping[str, Mapping[str, Any]],
    nominal_sizes: Iterable[tuple[str, float, float]],
    where: str = "vocabulary",
) -> Vocabulary:
    """Build the vocabulary from its file.

    Parameters
    ----------
    data : mapping
        Fact name to its table, as in ``data/vocabulary.toml``.
    nominal_sizes : iterable of (kind, as written [m], actual [m])
        Rows of the nominal size table.

    Raises
    ------
    Problems
        Every faulty row at once.
    """
    tables: dict[str, dict[float, float]] = {}
    for kind, written, actual in nominal_sizes:
        tables.setdefault(kind, {})[written] = actual
    problems: list[Problem] = []
    facts: dict[str, Fact] = {}
    for name, row in data.items():
        try:
            facts[name] = _read_fact(name, row, tables)
        except (KeyError, ValueError, TypeError) as error:
            problems.append(Problem(f"{where}: {name}", f"faulty row: {error}", "mend the row"))
    for name, fact in facts.items():
        try:
            facts[name] = replace(
                fact,
                usuals=_read_usuals(fact, data[name], facts),
                asked_where=_read_where(data[name].get("asked_where", {}), facts),
                seldom_known=bool(data[name].get("seldom_known", False)),
            )
        except (KeyError, ValueError, TypeError) as error:
            problems.append(Problem(f"{where}: {name}", f"faulty: {error}", "mend the row"))
    if problems:
        raise Problems(problems)
    groups = tuple(dict.fromkeys(fact.group for fact in facts.values()))
    domains = {name: fact.domain for name, fact in facts.items()}
    return Vocabulary(MappingProxyType(facts), MappingProxyType(domains), groups)


def _read_fact(name: str, row: Mapping[str, Any], tables: Mapping[str, dict[float, float]]) -> Fact:
    kind = row["kind"]
    if row["role"] not in (DECIDES, MADE_SO):
        raise ValueError(f'role = "{row["role"]}"')
    if row["effort"] not in EFFORTS:
        raise ValueError(f'effort = "{row["effort"]}"')
    words = {str(key).lower(): value for key, value in row.get("value_words", {}).items()}
    if kind == "number":
        unit = UNITS[row["unit"]]
        low, high = row["domain"]
        nominal = tables.get(row.get("nominal", ""), {})
        domain = Domain(name, kind, unit, to_si(low, unit), to_si(high, unit), nominal=nominal)
    elif kind == "choice":
        choices = tuple(row["domain"])
        if choices[-1] != "other" or len(choices) > 63:
            raise ValueError("a choice ends with other and has at most 63 values")
        domain = Domain(name, kind, choices=choices, words=words)
    elif kind == "flag":
        domain = Domain(name, kind, choices=("no", "yes"), words=words)
    else:
        raise ValueError(f'kind = "{kind}"')
    return Fact(
        name,
        row["group"],
        domain,
        row["role"],
        row["effort"],
        row["question"],
        row.get("find", ""),
        tuple(row.get("words", ())),
        row.get("domain_source", ""),
        row.get("by_whom", ""),
        row.get("when_checked", ""),
        row.get("label") or name.replace("_", " "),
    )


def _read_usuals(fact: Fact, row: Mapping[str, Any], facts: Mapping[str, Fact]) -> tuple[Usual, ...]:
    """Those with a condition in the order of the file, then the one that holds everywhere."""
    found = []
    for part in row.get("usual_where", ()):
        when = _read_where(part["when"], facts)
        found.append(Usual(read_spec(fact.domain, part["usual"]), _share(part.get("share")), when))
    if "usual" in row:
        found.append(Usual(read_spec(fact.domain, row["usual"]), _share(row.get("usual_share"))))
    return tuple(found)


def _read_where(raw: Mapping[str, Any], facts: Mapping[str, Fact]) -> tuple[tuple[str, Spec], ...]:
    return tuple((name, read_spec(facts[name].domain, value)) for name, value in raw.items())


def _share(raw: Any) -> float:
    share = USUAL_SHARE if raw is None else float(raw)
    if not 0.5 <= share < 1.0:
        raise ValueError(f"a usual share of {share} is not from 0.5 to below 1")
    return share
