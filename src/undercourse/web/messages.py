"""Problems turned to messages beside the fields that they name."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from undercourse.base.problems import Problem
from undercourse.facts.vocabulary import Vocabulary
from undercourse.web.state import State, View, site_first
from undercourse.web.wording import plain, title


@dataclass(frozen=True)
class Message:
    """One problem: the field that it stands at ("" where that is not shown), what it is about, what to do."""

    field: str
    about: str
    text: str


def messages_for(
    problems: Iterable[Problem], state: State, view: View, vocabulary: Vocabulary
) -> list[Message]:
    """One message for each field that a problem names."""
    found: list[Message] = []
    for problem in problems:
        text = _sentence(problem, vocabulary)
        for place in problem.where.split(" and "):
            field, about = _field(place, state, view)
            found.append(Message(field, about, text))
    return list(dict.fromkeys(found))


def _sentence(problem: Problem, vocabulary: Vocabulary) -> str:
    what = re.sub(r"^[a-z0-9_]+ = ", "", problem.what)
    what = re.sub(r" \([a-z0-9-]+\)$", "", what)
    what = re.sub(
        r"\b[a-z0-9]+(?:_[a-z0-9]+)+\b", lambda m: plain(m[0]) if m[0] in vocabulary else m[0], what
    )
    fix = problem.fix
    return f"{what[:1].upper()}{what[1:].rstrip('.')}. {fix[:1].upper()}{fix[1:].rstrip('.')}."


def _field(place: str, state: State, view: View) -> tuple[str, str]:
    """The field id and the name of what a place of the job is about."""
    parts = place.split("/")
    if parts[0] == "areas" and len(parts) > 1 and parts[1].isdecimal():
        number, rest = int(parts[1]), parts[2:]
        here = number == view.area and not view.whole_site
        name = (
            str(state["areas"][number].get("name")) if number < len(state["areas"]) else f"area {number + 1}"
        )
    else:
        here = view.whole_site or site_first(state)
        rest, name = parts, "" if site_first(state) else "whole site"
    if not rest:
        return ("", name or "the job")
    field, about = _own_field(rest)
    suffix = f" ({name})" if name and not here else ""
    return (field if here else "", about + suffix)


def _own_field(rest: list[str]) -> tuple[str, str]:
    head = rest[0]
    if head == "facts" and len(rest) > 1:
        return f"f-{rest[1]}", title(rest[1])
    if head in ("layers", "layer"):
        return (f"layer-{rest[1]}", f"Layer {int(rest[1]) + 1}") if len(rest) > 1 else ("layers", "Layers")
    if head == "proposed":
        return (
            (f"stack-{rest[1]}", f"Proposed layer {int(rest[1]) + 1}")
            if len(rest) > 1
            else ("stack", "Proposed stack")
        )
    fields = {
        "outline": "area-outline",
        "obstacles": "area-obstacles",
        "date": "job-date",
        "areas": "area-name",
    }
    return fields.get(head, ""), title(head)
