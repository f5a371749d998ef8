"""The steps of the work in order, for exactly the goods and facts of one assembly."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from undercourse.base.columns import pick
from undercourse.base.domains import Spec, read_spec
from undercourse.base.frame import Frame
from undercourse.facts.vocabulary import Vocabulary


@dataclass(frozen=True)
class Step:
    """One step: what to do and when it belongs to an assembly."""

    step: str
    detail: str
    source: str
    caution: str
    roles: tuple[str, ...]
    without: tuple[str, ...]
    kinds: tuple[str, ...]
    without_kinds: tuple[str, ...]
    when: tuple[tuple[str, Spec], ...]


def read_steps(data: Mapping[str, Any], vocabulary: Vocabulary) -> list[Step]:
    """The steps of the shipped file."""
    found = []
    for row in data["step"]:
        when = tuple(
            (name, read_spec(vocabulary.domains[name], raw)) for name, raw in row.get("when", {}).items()
        )
        lists = [tuple(row.get(key, ())) for key in ("roles", "without", "kinds", "without_kinds")]
        found.append(
            Step(
                row["step"],
                row["detail"],
                row["source"],
                row.get("caution", ""),
                lists[0],
                lists[1],
                lists[2],
                lists[3],
                when,
            )
        )
    return found


def steps_for(
    candidate: Mapping[str, Any], facts: Frame, row: int, steps: Sequence[Step]
) -> list[dict[str, str]]:
    """The steps that belong to a candidate, with its products' names written in."""
    goods = {layer["role"]: layer["name"] for layer in candidate["layers"] if layer["product"]}
    kinds = {layer["kind"] for layer in candidate["layers"] if layer["role"] == "membrane"}
    found = []
    for step in steps:
        if not set(step.roles) <= goods.keys() or set(step.without) & goods.keys():
            continue
        if (step.kinds and not kinds & set(step.kinds)) or kinds & set(step.without_kinds):
            continue
        if step.when and not bool(pick(facts.all_of(step.when).may, row)):
            continue
        found.append(
            {
                "step": step.step,
                "detail": _write_in(step.detail, goods),
                "source": step.source,
                "caution": step.caution,
            }
        )
    return found


def _write_in(text: str, goods: Mapping[str, str]) -> str:
    """Put product names in; a sentence about goods that are not there is left out."""
    text = re.sub(r"\{(\w+)\} and \{(\w+)\}", lambda found: _both(found.groups(), goods), text)
    sentences = []
    for sentence in re.split(r"(?<=\.)\s+", text):
        roles = [name.replace("_", " ") for name in re.findall(r"\{(\w+)\}", sentence)]
        if any(role not in goods for role in roles):
            continue
        for role in roles:
            sentence = sentence.replace("{" + role.replace(" ", "_") + "}", goods[role])
        sentences.append(sentence)
    return " ".join(sentences)


def _both(names: Sequence[str | None], goods: Mapping[str, str]) -> str:
    """Two goods joined by "and", or the one of them that is there."""
    present = [name for name in names if name and name.replace("_", " ") in goods]
    return " and ".join("{" + name + "}" for name in present or names if name)
