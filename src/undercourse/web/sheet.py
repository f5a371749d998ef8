"""The survey sheet: groups in walking order, stated facts first, one line a fact."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from starlette.datastructures import FormData

from undercourse.facts.vocabulary import MADE_SO, SLOTS, Fact, Vocabulary
from undercourse.line.records import MEMBRANE_KINDS, ROLES, Line
from undercourse.web.entries import NOT_KNOWN, Change, boxes_of, layer_rows, stack_rows, text_of
from undercourse.web.known import show_known
from undercourse.web.messages import Message
from undercourse.web.outlines import show_ring, show_rings
from undercourse.web.state import State, View, list_said, said_of, shown_text, site_first, value_text
from undercourse.web.wording import GROUP_TITLES, UNIT_HINTS, plain, title

# With so few choices all boxes stand in the line; with more they fold away.
FEW_CHOICES = 5
EFFORT_WORDS = {"know": "ask", "look": "look", "measure": "measure", "test": "test"}


@dataclass(frozen=True)
class SheetLine:
    """One fact as the sheet shows it."""

    name: str
    question: str
    find: str
    effort: str
    kind: str
    made_so: bool
    stated: bool
    text: str
    hint: str
    boxes: tuple[tuple[str, bool], ...]
    summary: str
    inherited: str
    known: str
    messages: tuple[str, ...] = ()
    was: str = ""

    @property
    def few(self) -> bool:
        """Whether the choices stand in the line itself."""
        own = any(ticked for _, ticked in self.boxes)
        return len(self.boxes) <= FEW_CHOICES + 1 and (own or not self.inherited)

    @property
    def id(self) -> str:
        """The field's id on the page."""
        return f"f-{self.name}"


@dataclass
class Group:
    """A part of the sheet."""

    key: str
    title: str
    stated: list[SheetLine] = field(default_factory=list)
    unknown: list[SheetLine] = field(default_factory=list)
    listed: int = 0

    @property
    def count(self) -> str:
        """How much of the group is known, in words."""
        if self.listed:
            return f"{self.listed} layer{'' if self.listed == 1 else 's'} listed"
        total = len(self.stated) + len(self.unknown)
        return f"{len(self.stated)} of {total} known" if self.stated else "nothing known yet"


def sheet_view(
    state: State,
    view: View,
    vocabulary: Vocabulary,
    line: Line,
    changes: Collection[Change] = (),
    messages: Collection[Message] = (),
    typed: FormData | None = None,
) -> dict[str, Any]:
    """Everything that the sheet's template shows.

    Parameters
    ----------
    typed : FormData, optional
        What was typed, where it could not be taken over: it is shown instead of the job's own values.
    """
    was = {change.name: change.before for change in changes}
    told: dict[str, list[str]] = {}
    for message in messages:
        told.setdefault(message.field, []).append(message.text)
    groups = {name: Group(name, GROUP_TITLES.get(name, title(name))) for name in vocabulary.groups}
    for fact in vocabulary.facts.values():
        if fact.name.startswith("layer_"):
            continue
        shown = _line(state, view, fact, was, told, typed)
        group = groups[fact.group]
        (group.stated if shown.stated or shown.messages else group.unknown).append(shown)
    area = state["areas"][view.area]
    layers, whole, layers_from_site = _layers(state, view, typed)
    groups["layers"].listed = len(layers)
    stack, stack_from_site = _stack(state, view, line, typed)
    return {
        "groups": list(groups.values()),
        "told": told,
        "was": was,
        "whole_site": view.whole_site,
        "single": site_first(state),
        "job": {
            key: _typed(typed, f"job.{key}", str(state.get(key) or ""))
            for key in ("name", "date", "client", "note")
        },
        "area": {
            "name": _typed(typed, "area.name", str(area.get("name") or "")),
            "outline": _typed(typed, "area.outline", show_ring(area.get("outline"))),
            "obstacles": _typed(typed, "area.obstacles", show_rings(area.get("obstacles"))),
            "plan": str(area.get("plan") or ""),
        },
        "layers": layers,
        "layers_whole": whole,
        "layers_from_site": layers_from_site,
        "layers_full": len(layers) >= SLOTS,
        "layer_kinds": [kind for kind in vocabulary.domains["layer_1_kind"].choices if kind != "nothing"],
        "stack": stack,
        "stack_from_site": stack_from_site,
        "roles": _roles(stack),
        "products": sorted(
            ((product.name, product.roles[0] if product.roles else "") for product in line.products.values()),
            key=lambda pair: pair[0],
        ),
        "kinds": MEMBRANE_KINDS[1:],
    }


def _roles(stack: list[dict[str, str]]) -> list[str]:
    more = [row["role"] for row in stack if row["role"] and row["role"] not in ROLES]
    return [*ROLES, *dict.fromkeys(more)]


def _typed(typed: FormData | None, name: str, own: str) -> str:
    return text_of(typed, name, 20_000) if typed is not None and name in typed else own


def _line(
    state: State,
    view: View,
    fact: Fact,
    was: Mapping[str, str],
    told: Mapping[str, list[str]],
    typed: FormData | None,
) -> SheetLine:
    own, inherited = said_of(state, view, fact.name)
    domain = fact.domain
    text, ticked, known = "", set(), show_known(own)
    if domain.kind == "number":
        text = value_text(domain, own)
    else:
        ticked = boxes_of(domain, own)
    if typed is not None and f"k.{fact.name}" in typed:
        known = text_of(typed, f"k.{fact.name}")
        text = text_of(typed, f"v.{fact.name}")
        ticked = {box for box in typed.getlist(f"v.{fact.name}") if isinstance(box, str)}
    choices = domain.choices if domain.kind != "number" else ()
    boxes = [(choice, choice in ticked) for choice in choices]
    if inherited is not None and choices:
        boxes.append((NOT_KNOWN, NOT_KNOWN in ticked))
    if domain.kind == "flag":
        boxes = [*reversed(boxes[:2]), *boxes[2:]]
    summary = " or ".join(choice for choice in choices if choice in ticked)
    unit = domain.unit.symbol if domain.unit else ""
    return SheetLine(
        fact.name,
        fact.question,
        fact.find,
        EFFORT_WORDS.get(fact.effort, fact.effort),
        domain.kind,
        fact.role == MADE_SO,
        own is not None or inherited is not None,
        text,
        UNIT_HINTS.get(unit, unit),
        tuple(boxes),
        summary,
        shown_text(domain, inherited) if inherited is not None else "",
        known,
        tuple(told.get(f"f-{fact.name}", ())),
        was.get(fact.name, ""),
    )


def _typed_rows(typed: FormData | None, prefix: str, rows: list[dict[str, str]]) -> list[dict[str, str]]:
    if typed is None or f"{prefix}.count" not in typed:
        return rows
    return [
        {key: _typed(typed, f"{prefix}.{at}.{key}", row[key]) for key in row} for at, row in enumerate(rows)
    ]


def _layers(state: State, view: View, typed: FormData | None) -> tuple[list[dict[str, str]], bool, bool]:
    said, from_site = list_said(state, view, "layer")
    rows, whole = layer_rows(said)
    return _typed_rows(typed, "layer", rows), whole, from_site


def _stack(state: State, view: View, line: Line, typed: FormData | None) -> tuple[list[dict[str, str]], bool]:
    said, from_site = list_said(state, view, "proposed")
    return _typed_rows(typed, "stack", stack_rows(said, line)), from_site


def find_fact(text: str, vocabulary: Vocabulary) -> str:
    """The id of the line or part of the sheet that a person's words mean best; empty when none comes near."""
    words = [word for word in plain(text.lower()).split() if word]
    if not words:
        return ""
    for name, key in (("proposed stack", "stack"), ("layers", "layers"), ("outline area", "job")):
        if any(word in name.split() for word in words):
            return f"group-{key}"
    best, most = "", 0
    for fact in vocabulary.facts.values():
        if fact.name.startswith("layer_"):
            continue
        names = plain(fact.name).split()
        heard = " ".join(fact.words).lower()
        score = sum(
            4 * (word in names) + 2 * (word in heard) + (word in fact.question.lower()) for word in words
        ) + 6 * (" ".join(words) == plain(fact.name) or " ".join(words) in (w.lower() for w in fact.words))
        if score > most:
            best, most = f"f-{fact.name}", score
    return best
