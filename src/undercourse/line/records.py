"""What a line and the trade's rules are made of. Frozen records; no areas, no formulas."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from undercourse.base.columns import Column, NumberColumn, spec_column
from undercourse.base.domains import Spec
from undercourse.base.units import Unit, show_quantity

ROLES = (
    "membrane",
    "primer",
    "mortar below",
    "mortar above",
    "mortar bed",
    "tile board",
    "leveler",
    "patch",
    "moisture coat",
    "seam tape",
    "corners and collars",
    "drain",
    "heating cable",
    "heating control",
    "sealant",
    "grout",
    "tile class",
)
MEMBRANE_KINDS = (
    "none",
    "uncoupling sheet",
    "crack isolation sheet",
    "waterproofing sheet",
    "sound mat",
    "heating sheet",
    "liquid membrane",
    "pan liner",
    "slip sheet",
    "other",
)
FUNCTIONS = (
    "uncoupling",
    "crack isolation",
    "waterproofing",
    "vapor management",
    "sound reduction",
    "heating",
)
COMPARISONS = ("at_most", "at_least", "one_of", "none_of", "never", "not_stated")
YIELDS = ("nobody", "standard", "product evidence")
MEMORY = "from memory"


@dataclass(frozen=True)
class Condition:
    """A conjunction over facts and candidate columns: every name lies in its set."""

    terms: tuple[tuple[str, Spec], ...] = ()


@dataclass(frozen=True)
class Capacity:
    """A fixed set of values, or the column (fact or candidate) that holds the limit."""

    spec: Spec | None = None
    column: str = ""

    @cached_property
    def fixed(self) -> Column:
        """The fixed set as a column of length 1."""
        assert self.spec is not None
        return spec_column(self.spec)

    def end(self, upper: bool) -> NumberColumn:
        """The end of a fixed range that a demand is held against."""
        return self._upper if upper else self._lower

    @cached_property
    def _upper(self) -> NumberColumn:
        assert isinstance(self.fixed, NumberColumn)
        return NumberColumn(self.fixed.high, self.fixed.high)

    @cached_property
    def _lower(self) -> NumberColumn:
        assert isinstance(self.fixed, NumberColumn)
        return NumberColumn(self.fixed.low, self.fixed.low)


@dataclass(frozen=True)
class Respect:
    """One respect in which a floor must be no worse than the tested assembly."""

    fact: str
    spec: Spec
    text: str


@dataclass(frozen=True)
class Evidence:
    """A test: standard, laboratory, report, date, tested stack top down, respects."""

    id: str
    standard: str
    edition: str
    laboratory: str
    report: str
    date: dt.date | None
    result: str
    tested: tuple[Mapping[str, str], ...]
    respects: tuple[Respect, ...]
    rating: str = ""


@dataclass(frozen=True)
class Limit:
    """One row of demand against capacity, with its conditions and basis."""

    id: str
    demand: str
    comparison: str
    capacity: Capacity
    when: Condition
    unless: Condition | None
    basis: str
    because: str
    yields_to: str = "nobody"
    max_age_days: float | None = None
    methods: tuple[str, ...] = ()
    topics: tuple[str, ...] = ()
    jurisdictions: tuple[str, ...] = ()
    source: str = ""
    edition: str = ""
    needs_membrane: bool = False
    caution: str = ""
    who_decides: str = ""
    stop: bool = False
    product: str = ""
    evidence: Evidence | None = None
    ruling: Ruling | None = None
    where: str = ""

    @property
    def from_memory(self) -> bool:
        """Whether nothing but recollection stands behind the row."""
        return self.basis == MEMORY


@dataclass(frozen=True)
class Ruling:
    """Who settled a limit that was not stated, when, until when."""

    id: str
    who: str
    date: dt.date
    expires: dt.date | None


@dataclass(frozen=True)
class Need:
    """What else an assembly must contain."""

    id: str
    role: str
    classes: tuple[str, ...]
    products: tuple[str, ...]
    when: Condition
    unless: Condition | None
    because: str
    basis: str
    source: str = ""
    topics: tuple[str, ...] = ()
    product: str = ""
    for_membrane: bool = False
    where: str = ""

    @property
    def wanted(self) -> str:
        """What would meet it, for people."""
        return " or ".join(self.products or self.classes) or "any"


@dataclass(frozen=True)
class Pair:
    """What may lie directly on what."""

    upper: str
    lower: str
    may: str
    because: str
    basis: str
    product: str = ""


@dataclass(frozen=True)
class Property:
    """A product property: a quantity in SI with its written unit, or a text."""

    name: str
    value: float | None
    text: str
    unit: Unit | None

    def show(self) -> str:
        """The property in both unit systems."""
        if self.value is None or self.unit is None:
            return self.text
        return show_quantity(self.value, self.unit)


@dataclass(frozen=True)
class Pack:
    """How a product is sold."""

    item_number: str
    text: str
    width_m: float | None
    length_m: float | None
    amount: float | None
    amount_unit: str
    price: float
    currency: str
    price_date: dt.date
    region: str
    stocked: bool
    area_m2: float | None = None
    # Of a heating cable, which is never cut.
    cable_length_m: float | None = None
    power_w: float | None = None
    voltage_v: float | None = None


@dataclass(frozen=True)
class Coverage:
    """How much one pack covers in a place. [m2, or m for tapes and sealants]"""

    place: str
    per_pack: float
    unit: str
    basis: str


@dataclass(frozen=True)
class Product:
    """One product of a line in one revision."""

    id: str
    roles: tuple[str, ...]
    name: str
    kind: str
    classes: tuple[str, ...]
    provides: tuple[str, ...]
    properties: Mapping[str, Property]
    packs: tuple[Pack, ...]
    coverages: tuple[Coverage, ...]
    limits: tuple[Limit, ...]
    needs: tuple[Need, ...]
    pairs: tuple[Pair, ...]
    evidence: Mapping[str, Evidence]
    revision: str = ""
    date: dt.date | None = None
    regions: tuple[str, ...] = ()
    item_number: str = ""
    supersedes: str = ""
    withdrawn: dt.date | None = None
    last_buy: dt.date | None = None
    where: str = ""

    def number(self, name: str) -> float | None:
        """A property's SI value, None where it is not stated."""
        found = self.properties.get(name)
        return None if found is None else found.value

    def on_sale(self, date: dt.date | None) -> bool:
        """Whether the product can still be specified on a date."""
        if date is None:
            return self.withdrawn is None
        return self.withdrawn is None or date < self.withdrawn


@dataclass(frozen=True)
class RankingRow:
    """One step of the ranking: by what, which way, what still counts as a tie."""

    by: str
    prefer: str
    tie_share: float


@dataclass(frozen=True)
class AskFirst:
    """A fact that is asked for before all others where the condition surely holds."""

    fact: str
    when: Condition
    because: str
    where: str = ""


@dataclass(frozen=True)
class Line:
    """A maker's line in one published revision."""

    maker: str
    name: str
    revision: str
    date: dt.date | None
    currency: str
    products: Mapping[str, Product]
    ranking: tuple[RankingRow, ...]
    labor_rate: float = 0.0
    ask_first: tuple[AskFirst, ...] = ()

    def of_role(self, role: str, date: dt.date | None = None) -> list[Product]:
        """Products of a role that are on sale on a date, in file order."""
        return [p for p in self.products.values() if role in p.roles and p.on_sale(date)]


@dataclass(frozen=True)
class MustState:
    """Which limit a role must state under a condition."""

    role: str
    demand: str
    kinds: tuple[str, ...]
    when: Condition
    because: str
    basis: str


@dataclass(frozen=True)
class Note:
    """A sentence of the trade for people who ask for a rule, or a caution for those who work.

    A caution with a limit is printed only where a number surely goes past it.
    """

    id: str
    topics: tuple[str, ...]
    text: str
    basis: str
    source: str
    jurisdictions: tuple[str, ...]
    when: Condition = field(default_factory=Condition)
    limit: Limit | None = None


@dataclass(frozen=True)
class LoadClassRow:
    """A use or a wheel and the least floor-load class (ASTM C627 rating) it asks for."""

    occupancy: str
    wheels: str
    rank: int
    basis: str


@dataclass(frozen=True)
class Practice:
    """The trade's own rules."""

    rules: tuple[Limit, ...]
    stops: tuple[Limit, ...]
    needs: tuple[Need, ...]
    pairs: tuple[Pair, ...]
    must_state: tuple[MustState, ...]
    notes: tuple[Note, ...]
    cautions: tuple[Note, ...]
    load_classes: tuple[LoadClassRow, ...]
    ask_first: tuple[AskFirst, ...] = ()
