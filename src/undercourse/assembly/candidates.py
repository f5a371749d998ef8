"""Candidates: whole assemblies for every area of a table, from a line or as the asker proposes.

The asker's own stack is candidate 0. A line's candidate is a membrane with everything that its own
needs, the trade's needs and its companions' needs call for.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np

from undercourse.assembly.columns import CRACK_TEST, HAS, PROPERTIES, PROVIDES, candidate_domains
from undercourse.assembly.costs import laying_hours_m2, material_cost_m2
from undercourse.assembly.heat_resistance import (
    STRANGE_M,
    layer_resistance,
    membrane_resistance,
    set_cable_output,
    set_heat_columns,
    set_stack_columns,
    strange_resistance,
)
from undercourse.assembly.selection import GatedNeed, NeedState, Pick, choose, gate, meets, states
from undercourse.base.columns import (
    NEVER,
    SURE,
    ChoiceColumn,
    Columns,
    Floats,
    NumberColumn,
    Truth,
    some,
    spec_column,
)
from undercourse.base.domains import Choices, Domain, read_spec
from undercourse.base.frame import Frame
from undercourse.base.units import read_quantity
from undercourse.line.classes import any_class_meets
from undercourse.line.crack_tests import crack_test, tested_opening
from undercourse.line.records import MEMBRANE_KINDS, ROLES, Line, Need, Practice, Product

# Roles in the order of the finished stack, from the tile down; the rest of the roles are not layers.
STACK = (
    "grout",
    "tile class",
    "mortar above",
    "leveler above",
    "heating cable",
    "corners and collars",
    "seam tape",
    "membrane",
    "mortar below",
    "tile board",
    "mortar bed",
    "leveler",
    "patch",
    "moisture coat",
    "primer",
)
# A thin bed's upper end where a mortar states no bed thickness (3/32 to 1/4 in, industry handbook).
THIN_BED_M = 0.25 * 0.0254
PROPOSED = "proposed"
_NO, _YES, _BOTH = (np.array([bits], dtype=np.uint64) for bits in (1, 2, 3))


@dataclass(frozen=True)
class Layer:
    """One layer of a proposed stack, with the product it names if the line has it."""

    role: str
    product: Product | None
    kind: str
    classes: tuple[str, ...]
    thickness_m: float | None
    where: str


@dataclass
class Candidate:
    """A whole assembly for every row of a table."""

    id: str
    membrane: Product | None
    frame: Frame
    layers: tuple[Layer, ...] = ()
    picks: dict[str, Pick] = field(default_factory=dict)
    needs: list[NeedState] = field(default_factory=list)
    missing: list[NeedState] = field(default_factory=list)

    @property
    def proposed(self) -> bool:
        """Whether this is the asker's own stack."""
        return self.id == PROPOSED

    def products(self) -> list[tuple[str, Product, Truth]]:
        """Every product that may be in the assembly with its role and where it is."""
        found: list[tuple[str, Product, Truth]] = []
        if self.proposed:
            return [(layer.role, layer.product, SURE) for layer in self.layers if layer.product is not None]
        if self.membrane is not None:
            found.append(("membrane", self.membrane, SURE))
        for role, pick in self.picks.items():
            for place, product in enumerate(pick.products):
                may = pick.possible[place] & pick.present.may
                if some(may):
                    must = pick.present.must & (pick.index == place) & (_count(pick) == 1) & may
                    found.append((role, product, SURE if must.all() else Truth(may, must)))
        return found


def _count(pick: Pick) -> np.ndarray[tuple[int, ...], np.dtype[np.int_]]:
    total = np.zeros(1, dtype=int)
    for possible in pick.possible:
        total = total + possible
    return total


class Assembler:
    """Makes candidates from a line and the trade's needs, for one table of areas."""

    def __init__(
        self,
        line: Line,
        practice: Practice,
        made_so: Collection[str],
        facts: Frame,
        date: object = None,
    ) -> None:
        self.line = line
        self.practice = practice
        self.made_so = made_so
        self.facts = facts
        self.domains = candidate_domains()
        self._practice_needs = [need for need in practice.needs if self._thinkable(need)]
        self._suits: dict[str, Truth] = {}
        self._picks: dict[tuple[object, ...], Pick] = {}
        self._amounts: dict[tuple[object, ...], tuple[Floats, Floats]] = {}
        self._roles: dict[str, list[Product]] = {}
        for product in line.products.values():
            if product.on_sale(date):  # type: ignore[arg-type]
                for role in product.roles:
                    self._roles.setdefault(role, []).append(product)

    def _thinkable(self, need: Need) -> bool:
        """Whether the facts leave a need possible in any row, whatever the candidate."""
        facts = self.facts.columns.domains
        return some(self.facts.all_of(tuple(t for t in need.when.terms if t[0] in facts)).may)

    def with_membrane(self, membrane: Product) -> Candidate:
        """The assembly around one membrane."""
        columns = Columns(self.domains, self.facts.rows)
        frame = Frame(columns, self.facts)
        self._membrane_columns(columns, membrane)
        for name in (*HAS, "has_leveler_above"):
            columns[name] = ChoiceColumn(_NO)
        candidate = Candidate(membrane.id, membrane, frame)
        every = (*membrane.needs, *self._practice_needs)
        own = [(need, SURE) for need in every if self._thinkable(need)]
        # Another round only where needs can depend on what was picked, or picks need something in turn.
        reads_picks = any(_reads_picks(need) for need, _ in own)
        raised = own
        for _ in range(3):
            frame.forget()
            gated = [g for need, truth in raised if (g := gate(need, frame, truth)) is not None]
            picks = self._fill(gated, frame, membrane)
            more = self._companions(picks)
            self._has_columns(columns, picks)
            settled = picks.keys() == candidate.picks.keys() and len(raised) == len(own) + len(more)
            candidate.picks = picks
            candidate.needs = self._need_states(gated, picks)
            if settled or not (more or reads_picks):
                break
            raised = own + more
        frame.forget()
        self._sums(candidate)
        frame.forget()
        return candidate

    def _fill(self, gated: Sequence[GatedNeed], frame: Frame, membrane: Product) -> dict[str, Pick]:
        picks: dict[str, Pick] = {}
        width = membrane.number("roll_width")
        for role in dict.fromkeys(g.need.role for g in gated):
            if role in ("membrane", "tile class"):
                continue
            products = self._roles.get(role, [])
            wanted = [g for g in gated if g.need.role == role]
            key = (
                role,
                width,
                *(
                    (g.need.classes, g.need.products, g.active.may.tobytes(), g.active.must.tobytes())
                    for g in wanted
                ),
            )
            # Candidates that ask a role for the same things get the same pick.
            if key not in self._picks:
                self._picks[key] = choose(role, products, wanted, frame, self.made_so, width, self._suits)
            picks[role] = self._picks[key]
        return picks

    def _need_states(self, gated: Sequence[GatedNeed], picks: dict[str, Pick]) -> list[NeedState]:
        found = []
        for role, pick in picks.items():
            found += states(pick, [g for g in gated if g.need.role == role])
        return found

    def _companions(self, picks: dict[str, Pick]) -> list[tuple[Need, Truth]]:
        """What the picked products need in turn."""
        more: list[tuple[Need, Truth]] = []
        for pick in picks.values():
            for place, product in enumerate(pick.products):
                if not product.needs:
                    continue
                may = pick.present.may & pick.possible[place]
                if not some(may):
                    continue
                must = pick.present.must & (pick.index == place) & (_count(pick) == 1)
                more += [(need, Truth(np.asarray(may), np.asarray(must & may))) for need in product.needs]
        return more

    def _membrane_columns(self, columns: Columns, membrane: Product) -> None:
        columns["membrane_kind"] = ChoiceColumn(
            np.array([1 << MEMBRANE_KINDS.index(membrane.kind)], dtype=np.uint64)
        )
        columns["membrane_count"] = NumberColumn(np.array([1.0]), np.array([1.0]))
        for name, function in PROVIDES.items():
            columns[name] = ChoiceColumn(_YES if function in membrane.provides else _NO)
        self._property_columns(columns, membrane)

    def _property_columns(self, columns: Columns, membrane: Product) -> None:
        for name in PROPERTIES:
            value = membrane.number(name.removeprefix("membrane_"))
            if value is not None:
                columns[name] = NumberColumn(np.array([value]), np.array([value]))
        for name, value in _crack_test_values(membrane).items():
            if value is not None:
                columns[name] = NumberColumn(np.array([value]), np.array([value]))
        crack = membrane.properties.get("crack_class")
        if crack is not None:
            columns["membrane_crack_class"] = spec_column(
                read_spec(self.domains["membrane_crack_class"], crack.text)
            )

    def _has_columns(self, columns: Columns, picks: dict[str, Pick]) -> None:
        for name, role in HAS.items():
            pick = picks.get(role)
            truth = pick.present if pick is not None else NEVER
            columns[name] = ChoiceColumn(
                np.where(truth.must, _YES, np.where(truth.may, _BOTH, _NO)).astype(np.uint64)
            )

    def _sums(self, candidate: Candidate) -> None:
        """Height of all layers below the tile, weight, and cost, as ranges over what may be picked."""
        membrane = candidate.membrane
        assert membrane is not None
        thickness = membrane.number("thickness") or 0.0
        weight = membrane.number("weight") or 0.0
        width = membrane.number("roll_width")
        cost = (material_cost_m2(membrane, "membrane") or 0.0) + self.line.labor_rate * laying_hours_m2(
            membrane
        )
        sums = np.array([[thickness], [weight], [cost]])
        low, high = sums, sums
        heat: dict[str, tuple[Floats, Floats]] = {}
        columns = candidate.frame.columns
        for role, pick in candidate.picks.items():
            key = (role, width, id(pick))
            if key not in self._amounts:
                self._amounts[key] = self._amount(role, pick, width)
            least, most = self._amounts[key]
            low, high = low + least[:3], high + most[:3]
            heat[role] = least[::3], most[::3]
            if role == "heating cable":
                set_cable_output(columns, pick.products, pick.possible, pick.present)
        set_heat_columns(columns, membrane, heat, self.facts.says("leveler_over_membrane", Choices(2)))
        for place, name in enumerate(("layers_height", "layers_weight", "layers_cost")):
            columns[name] = NumberColumn(low[place], high[place])

    def _amount(self, role: str, pick: Pick, width: float | None) -> tuple[Floats, Floats]:
        """Least and greatest height, weight, cost and thermal resistance that a role adds. [4, rows]"""
        low, high = np.full((4, 1), np.inf), np.full((4, 1), -np.inf)
        for product, possible in zip(pick.products, pick.possible, strict=True):
            thickness = layer_thickness_m(product, role)
            cost = (material_cost_m2(product, role, width) or 0.0) + (
                self.line.labor_rate * laying_hours_m2(product)
            )
            own = (thickness, layer_weight_kg_m2(product, role), cost)
            ends = layer_resistance(product, role, thickness)
            least, most = (np.array([*own, end])[:, None] for end in ends)
            low = np.where(possible, np.minimum(low, least), low)
            high = np.where(possible, np.maximum(high, most), high)
        none = ~np.isfinite(low)
        low, high = np.where(none, 0.0, low), np.where(none, 0.0, high)
        return np.where(pick.present.must, low, 0.0), np.where(pick.present.may, high, 0.0)

    def proposed(self, layers: Sequence[Layer]) -> Candidate:
        """The asker's own stack, from the top down; what it does not say stays unknown."""
        columns = Columns(self.domains, self.facts.rows)
        frame = Frame(columns, self.facts)
        membranes = [layer for layer in layers if layer.role == "membrane"]
        first = membranes[0].product if membranes else None
        self._proposed_columns(columns, layers, membranes)
        candidate = Candidate(PROPOSED, first, frame, tuple(layers))
        raised: list[Need] = [need for layer in layers if layer.product for need in layer.product.needs]
        raised += [need for need in self.practice.needs if membranes or not need.for_membrane]
        for need in raised:
            gated = gate(need, frame, SURE)
            if gated is None:
                continue
            of_role = [layer for layer in layers if layer.role == need.role]
            if not of_role:
                candidate.missing.append(NeedState(need, gated.active, NEVER))
                continue
            met = any(_layer_meets(layer, need) for layer in of_role)
            may = met or any(layer.product is None and not layer.classes for layer in of_role)
            candidate.needs.append(NeedState(need, gated.active, Truth(np.array([may]), np.array([met]))))
        return candidate

    def _proposed_columns(
        self, columns: Columns, layers: Sequence[Layer], membranes: Sequence[Layer]
    ) -> None:
        kinds = [layer.kind or (layer.product.kind if layer.product else "") for layer in membranes]
        domain = self.domains["membrane_kind"]
        if not membranes:
            columns["membrane_kind"] = ChoiceColumn(np.array([1], dtype=np.uint64))
            # No sheet, no test of one.
            columns["membrane_tested_opening"] = NumberColumn(np.array([0.0]), np.array([0.0]))
        elif kinds[0] in MEMBRANE_KINDS:
            columns["membrane_kind"] = ChoiceColumn(
                np.array([1 << MEMBRANE_KINDS.index(kinds[0])], dtype=np.uint64)
            )
        else:
            everything = domain.everything
            assert isinstance(everything, Choices)
            columns["membrane_kind"] = ChoiceColumn(np.array([everything.bits & ~1], dtype=np.uint64))
        count = float(len(membranes))
        columns["membrane_count"] = NumberColumn(np.array([count]), np.array([count]))
        for name, function in PROVIDES.items():
            surely = any(layer.product and function in layer.product.provides for layer in membranes)
            foreign = any(layer.product is None for layer in membranes)
            columns[name] = ChoiceColumn(_YES if surely else (_BOTH if foreign else _NO))
        if len(membranes) == 1 and membranes[0].product is not None:
            self._property_columns(columns, membranes[0].product)
        roles = [layer.role for layer in layers]
        for name, role in HAS.items():
            # A layer that a listed stack leaves out is not there; a companion left out is not known.
            absent = (
                _NO if layers and role in ("leveler", "moisture coat", "tile board", "mortar bed") else _BOTH
            )
            columns[name] = ChoiceColumn(_YES if role in roles else absent)
        above = "membrane" in roles and "leveler" in roles[: roles.index("membrane")]
        columns["has_leveler_above"] = ChoiceColumn(_YES if above else _NO)
        known = [_layer_height(layer) for layer in layers if layer.role not in ("tile class", "grout")]
        if layers and all(height is not None for height in known):
            total = sum(height for height in known if height is not None)
            columns["layers_height"] = NumberColumn(np.array([total]), np.array([total]))
        elif layers:
            low = sum(height or 0.0 for height in known)
            columns["layers_height"] = NumberColumn(
                np.array([low]), np.array([max(low, self.domains["layers_height"].high)])
            )
        if layers:
            below_tile = [layer for layer in layers if layer.role not in ("tile class", "grout")]
            set_stack_columns(columns, [(layer.role, *_heat_ends(layer)) for layer in below_tile])
            cables = [layer.product for layer in layers if layer.role == "heating cable" and layer.product]
            if cables:
                set_cable_output(columns, cables, [np.array([True])] * len(cables), SURE)
        weights = [_weight_range(layer) for layer in layers if layer.role not in ("tile class", "grout")]
        if layers:
            columns["layers_weight"] = NumberColumn(
                np.array([sum(low for low, _ in weights)]), np.array([sum(high for _, high in weights)])
            )


def _crack_test_values(membrane: Product) -> dict[str, float | None]:
    """The columns of a membrane's own crack test; None where it says nothing of them."""
    test = crack_test(membrane)
    edge, thickness = (test.tile_edge_m, test.tile_thickness_m) if test else (None, None)
    return dict(zip(CRACK_TEST, (tested_opening(membrane), edge, thickness), strict=True))


def _reads_picks(need: Need) -> bool:
    terms = need.when.terms + (need.unless.terms if need.unless is not None else ())
    return any(name.startswith(("has_", "layers_")) for name, _ in terms)


def _layer_meets(layer: Layer, need: Need) -> bool:
    if layer.product is not None:
        return meets(layer.product, need)
    if need.products:
        return False
    return not need.classes or any_class_meets((*layer.classes, layer.kind), need.classes)


# A layer of a stranger's make: light as a film or heavy as a mortar bed. From memory.
_STRANGE_LAYER_KG_M2 = (0.0, 60.0)


def _weight_range(layer: Layer) -> tuple[float, float]:
    if layer.product is not None:
        weight = layer_weight_kg_m2(layer.product, layer.role)
        return weight, weight
    if layer.role in ("mortar below", "mortar above"):
        thickness = layer.thickness_m if layer.thickness_m is not None else THIN_BED_M
        return thickness * 1500.0, thickness * 2200.0
    if layer.role == "membrane":
        return 0.0, 12.0
    return (0.0, 0.0) if layer.role in ("primer", "seam tape", "sealant") else _STRANGE_LAYER_KG_M2


def _heat_ends(layer: Layer) -> tuple[tuple[float, float], tuple[float, float]]:
    """Thickness and thermal resistance of a proposed layer, as ranges."""
    height = _layer_height(layer)
    thickness = (height, height) if height is not None else None
    if layer.product is None:
        resistance = strange_resistance(layer.role, layer.kind, thickness)
    elif layer.role == "membrane":
        resistance = membrane_resistance(layer.product)
    else:
        resistance = layer_resistance(layer.product, layer.role, height or 0.0)
    return thickness or STRANGE_M.get(layer.role, (0.0, 0.0)), resistance


def _layer_height(layer: Layer) -> float | None:
    if layer.thickness_m is not None:
        return layer.thickness_m
    if layer.product is not None:
        return layer_thickness_m(layer.product, layer.role)
    return THIN_BED_M if layer.role in ("mortar below", "mortar above") else None


def layer_thickness_m(product: Product, role: str) -> float:
    """Thickness that a product adds in a role; 0 for goods that add no height over the field."""
    if role in ("mortar below", "mortar above"):
        stated = product.number(f"bed_thickness_{role.split()[1]}") or product.number("bed_thickness")
        return stated if stated is not None else THIN_BED_M
    if role in ("membrane", "tile board", "mortar bed", "leveler", "moisture coat", "patch"):
        return product.number("thickness") or 0.0
    return 0.0


def layer_weight_kg_m2(product: Product, role: str) -> float:
    """Weight per area that a product adds in a role."""
    stated = product.number("weight")
    if stated is not None:
        return stated
    if role in ("mortar below", "mortar above", "mortar bed", "leveler", "patch"):
        # Set cement mortar, common practice, no source: about 2,000 kg/m3.
        return layer_thickness_m(product, role) * 2000.0
    return 0.0


def read_proposed(
    layers: Sequence[object], line: Line, domains: dict[str, Domain] | None = None
) -> tuple[list[Layer], list[tuple[str, str, str]]]:
    """Bind proposed layers to the line.

    Returns
    -------
    layers, problems
        Problems as (where, what, fix).
    """
    bound: list[Layer] = []
    problems: list[tuple[str, str, str]] = []
    for raw in layers:
        role, where = str(getattr(raw, "role", "")), str(getattr(raw, "where", ""))
        product_id = str(getattr(raw, "product", ""))
        if role not in ROLES:
            problems.append((where, f'"{role}" is no role of a layer', f"use one of {', '.join(ROLES)}"))
        thickness = None
        text = str(getattr(raw, "thickness", ""))
        if text:
            try:
                thickness = read_quantity(text, "length")
            except ValueError as error:
                problems.append((where, f"thickness: {error}", 'write "3 mm" or "1/8 in"'))
        product = line.products.get(product_id)
        if product_id and product is None:
            problems.append(
                (
                    where,
                    f'"{product_id}" is no product of {line.name}',
                    "give kind and classes instead, or mend the id",
                )
            )
        bound.append(
            Layer(
                role,
                product,
                str(getattr(raw, "kind", "")),
                tuple(getattr(raw, "classes", ())),
                thickness,
                where,
            )
        )
    return bound, problems
