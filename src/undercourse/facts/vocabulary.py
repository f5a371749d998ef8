"""The vocabulary: every fact of a site that the program can read, ask or derive."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

from undercourse.base.domains import Domain, Spec, read_spec
from undercourse.base.problems import Problem, Problems
from undercourse.base.units import UNITS, from_si, to_si

DECIDES = "decides"
MADE_SO = "can be made so"
EFFORTS = ("know", "look", "measure", "test")
SLOTS = 8


@dataclass(frozen=True)
class Fact:
    """One fact: its domain, its part in a decision, how to ask for it and find it out.

    ``usual`` is what most floors are: an assumption that orders questions and decides nothing.
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
    usual: Spec | None = None

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
        read_spec(domain, row["usual"]) if "usual" in row else None,
    )
