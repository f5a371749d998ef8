"""What may lie directly on what: neighbors of a candidate's stack against the pair rows."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from undercourse.assembly.candidates import Candidate
from undercourse.base.columns import NEVER, SURE, ChoiceColumn, Truth, some
from undercourse.line.records import Pair, Product

_NOT_BEDS = (
    "grout",
    "corners and collars",
    "seam tape",
    "heating cable",
    "sealant",
    "heating control",
    "drain",
)


@dataclass(frozen=True)
class PairState:
    """Two neighbors: whether the contact is allowed, refused, or allowed on a primer."""

    upper: str
    lower: str
    stated: Truth
    allowed: Truth
    primed: Truth
    active: Truth
    because: str
    basis: str


def tokens(role: str, product: Product | None, kind: str) -> tuple[str, ...]:
    """Names under which a layer stands in pair rows, most specific first."""
    found = [product.id] if product is not None else []
    kind = kind or (product.kind if product is not None else "")
    if kind:
        found.append(f"kind:{kind}")
    found.append(f"role:{role}")
    if role == "tile class":
        found.append("tile")
    return tuple(found)


PairIndex = Mapping[tuple[str, str], Pair]
# Name, tokens, and where the layer is in the stack.
StackLayer = tuple[str, tuple[str, ...], Truth]


def index_pairs(rows: Iterable[Pair]) -> dict[tuple[str, str], Pair]:
    """Pair rows by their two names; the first of a name counts."""
    found: dict[tuple[str, str], Pair] = {}
    for row in rows:
        found.setdefault((row.upper, row.lower), row)
    return found


def find_pair(rows: PairIndex, upper: Sequence[str], lower: Sequence[str]) -> Pair | None:
    """The most specific row for a contact."""
    best: tuple[int, Pair] | None = None
    for high, first in enumerate(upper):
        for low, second in enumerate(lower):
            row = rows.get((first, second))
            if row is not None and (best is None or high + low < best[0]):
                best = (high + low, row)
    return best[1] if best else None


def pair_states(candidate: Candidate, rows: PairIndex) -> list[PairState]:
    """All contacts of a candidate's stack, from the tile down to the existing surface."""
    places = _proposed_places(candidate) if candidate.proposed else _line_places(candidate)
    found = []
    for uppers, lowers in itertools.pairwise(places):
        for upper, upper_tokens, here in uppers:
            for lower, lower_tokens, below in lowers:
                row = find_pair(rows, upper_tokens, lower_tokens)
                if row is None and candidate.proposed:
                    # Beds between layers often go unsaid: only a stated refusal counts against the asker.
                    continue
                found.append(_state(upper, lower, row, here & below))
    for lowest in _lowest(candidate, places):
        state = _on_surface(candidate, lowest, rows)
        if some(state.active.may) and (not candidate.proposed or some(state.stated.may)):
            found.append(state)
    return found


def _proposed_places(candidate: Candidate) -> list[list[StackLayer]]:
    tiled = any(layer.role == "tile class" for layer in candidate.layers)
    places: list[list[StackLayer]] = [] if tiled or not candidate.layers else [[("tile", ("tile",), SURE)]]
    for layer in candidate.layers:
        if layer.role not in _NOT_BEDS and layer.role != "primer":
            name = layer.product.name if layer.product is not None else layer.kind or layer.role
            places.append([(name, tokens(layer.role, layer.product, layer.kind), SURE)])
    return places


def _line_places(candidate: Candidate) -> list[list[StackLayer]]:
    """Tile, mortar, membrane, mortar: at each place every product that may stand there."""
    places: list[list[StackLayer]] = [[("tile", ("tile",), SURE)]]
    for role in ("mortar above", "membrane", "mortar below"):
        here = [
            (product.name, tokens(role, product, product.kind), present)
            for of_role, product, present in candidate.products()
            if of_role == role
        ]
        if here:
            places.append(here)
    return places


def _lowest(candidate: Candidate, places: list[list[StackLayer]]) -> list[StackLayer]:
    """What lies on the existing surface: the bed where there is one, else the membrane itself."""
    if not places:
        return []
    below = candidate.picks.get("mortar below")
    if candidate.proposed or below is None or below.present.must.all():
        return places[-1]
    membranes = places[-2] if len(places) > 2 else places[-1]
    bare = ~below.present
    return [*places[-1], *((name, names, here & bare) for name, names, here in membranes)]


def _state(upper: str, lower: str, row: Pair | None, active: Truth) -> PairState:
    if row is None:
        return PairState(
            upper, lower, NEVER, NEVER, NEVER, active, "No row says what may lie on what here.", ""
        )
    allowed = SURE if row.may != "no" else NEVER
    primed = SURE if row.may == "with primer" else NEVER
    return PairState(upper, lower, SURE, allowed, primed, active, row.because, row.basis)


def _on_surface(candidate: Candidate, lowest: StackLayer, rows: PairIndex) -> PairState:
    """The lowest layer on the existing surface, over every surface still possible."""
    column = candidate.frame["top_surface"]
    assert isinstance(column, ChoiceColumn)
    name, names, active = lowest
    present = int(np.bitwise_or.reduce(column.bits))
    sets = {"yes": 0, "no": 0, "with primer": 0}
    because, basis = [], []
    choices = candidate.frame.domain("top_surface").choices
    for place, surface in enumerate(choices):
        row = find_pair(rows, names, (f"surface:{surface}",))
        if row is not None:
            sets[row.may] |= 1 << place
            if present & (1 << place):
                because.append(row.because)
                basis.append(row.basis)
    bits = column.bits
    stated = np.uint64(sets["yes"] | sets["no"] | sets["with primer"])
    good = np.uint64(sets["yes"] | sets["with primer"])
    primer = np.uint64(sets["with primer"])
    known = sorted({text for text in because if text})
    return PairState(
        name,
        "the existing surface",
        Truth((bits & stated) != 0, (bits & ~stated) == 0),
        Truth((bits & good) != 0, (bits & ~good) == 0),
        Truth((bits & primer) != 0, (bits & ~primer) == 0),
        active,
        known[0] if len(known) == 1 else "",
        basis[0] if basis else "",
    )
