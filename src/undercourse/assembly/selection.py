"""Which product fills each role: all needs that may apply are met, then the cheapest wins.

For a half-known area the choice may still change once facts are known. ``possible`` marks every
product that some completion of the facts could pick, so that heights and weights carry the range.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from undercourse.assembly.costs import material_cost_m2
from undercourse.base.columns import NEVER, Bools, Truth, some
from undercourse.base.frame import Frame
from undercourse.line.classes import any_class_meets
from undercourse.line.comparing import applies, compare, holds
from undercourse.line.records import Need, Product


@dataclass(frozen=True)
class GatedNeed:
    """A need with the truth of the thing that raises it."""

    need: Need
    active: Truth


@dataclass(frozen=True)
class NeedState:
    """A need in a candidate: whether it applies and whether the pick meets it."""

    need: Need
    active: Truth
    met: Truth


@dataclass(frozen=True)
class Pick:
    """The product of one role, row by row; index -1 where the line has none that fits."""

    role: str
    products: tuple[Product, ...]
    present: Truth
    index: NDArray[np.intp]
    possible: tuple[Bools, ...]

    def product(self, row: int) -> Product | None:
        """The product picked in a row."""
        at = int(self.index[0] if self.index.shape[0] == 1 else self.index[row])
        return self.products[at] if at >= 0 else None


def meets(product: Product, need: Need) -> bool:
    """Whether a product satisfies a need by id or by class."""
    if need.products:
        return product.id in need.products
    return not need.classes or any_class_meets((*product.classes, product.kind), need.classes)


def gate(need: Need, frame: Frame, raised: Truth) -> GatedNeed | None:
    """The need where it may apply at all."""
    active = raised & holds(need.when, frame)
    if need.unless is not None and some(active.may):
        active = active & ~holds(need.unless, frame)
    return GatedNeed(need, active) if some(active.may) else None


def fits(product: Product, frame: Frame, made_so: Collection[str]) -> Truth:
    """Whether a product's own limits on stated facts hold; what can be made so does not choose."""
    ok = Truth(np.array([True]), np.array([True]))
    for limit in product.limits:
        if limit.demand in made_so or limit.comparison == "not_stated":
            continue
        if limit.demand and not frame.holds(limit.demand):
            continue
        concerned = applies(limit, frame)
        if not some(concerned.may):
            continue
        within = NEVER if not limit.demand else compare(limit, frame[limit.demand], frame)
        ok = ok & (~concerned | within)
    return ok


def choose(
    role: str,
    products: Sequence[Product],
    needs: Sequence[GatedNeed],
    frame: Frame,
    made_so: Collection[str],
    roll_width_m: float | None,
    suits: dict[str, Truth],
) -> Pick:
    """Pick the product of a role for every row at once.

    Parameters
    ----------
    products : sequence of Product
        All of the role.
    needs : sequence of GatedNeed
        The needs of this role.
    suits : dict
        Memory of ``fits`` by product id, shared between candidates.
    """
    costs = {p.id: material_cost_m2(p, role, roll_width_m) for p in products}
    ranked = sorted(products, key=lambda p: (costs[p.id] is None, costs[p.id] or 0.0, p.id))
    present = needs[0].active
    for gated in needs[1:]:
        present = present | gated.active
    worst_best: NDArray[np.float64] = np.array([np.inf])
    index: NDArray[np.intp] = np.array([-1])
    shown: NDArray[np.float64] = np.array([np.inf])
    keys: list[tuple[Bools, NDArray[np.float64]]] = []
    for place, product in enumerate(ranked):
        able = np.array([True])
        sure = np.array([True])
        for gated in needs:
            if not meets(product, gated.need):
                able = able & ~gated.active.must
                sure = sure & ~gated.active.may
        if not some(able):
            keys.append((able, np.array([np.inf])))
            continue
        if product.id not in suits:
            suits[product.id] = fits(product, frame, made_so)
        ok = suits[product.id]
        best = np.where(ok.may, float(place), 1e4 + place)
        worst = np.where(ok.must, float(place), 1e4 + place)
        keys.append((able, best))
        worst_best = np.minimum(worst_best, np.where(sure, worst, np.inf))
        # What is shown: surely eligible first, then what may be; what its own limits refuse comes last.
        refused = np.where(ok.may, 0.0, 1e8)
        order = np.where(sure, worst + refused, np.where(able, 1e6 + worst + refused, np.inf))
        better = order < shown
        index = np.where(better, place, index)
        shown = np.minimum(shown, order)
    possible = tuple(able & (best <= worst_best) for able, best in keys)
    return Pick(role, tuple(ranked), present, index, possible)


def states(pick: Pick, needs: Sequence[GatedNeed]) -> list[NeedState]:
    """For every need of a role whether what is picked, or may be, meets it."""
    found = []
    for gated in needs:
        good = np.array([meets(product, gated.need) for product in pick.products] + [False])
        met = good[pick.index]
        found.append(NeedState(gated.need, gated.active, Truth(met, met)))
    return found
