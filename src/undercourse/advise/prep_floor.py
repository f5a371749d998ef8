"""A floor after works: the facts that change, one work after another, and what they cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby

import numpy as np

from undercourse.advise.evaluating import Evaluated, evaluate_columns
from undercourse.base.columns import Bools, ChoiceColumn, Columns, NumberColumn, lies_in, spec_column
from undercourse.base.domains import Choices, Span, Spec
from undercourse.facts.consistency import make_consistent
from undercourse.facts.jobs import Area
from undercourse.facts.layers import DERIVED, PANELS, PRESENCE, derive_layer_facts
from undercourse.facts.vocabulary import SLOTS
from undercourse.facts.works import Gate, Terms, Work
from undercourse.judge.rulebook import Rulebook

_G = 9.80665
_DAY_S = 86400.0
# A layer laid on the floor takes this from the height that is left over it.
_HEIGHT_FACTS = ("height_available", "door_sill_height")
# Without an outline costs are told for a floor of this size.
ASSUMED_AREA_M2 = 10.0
Slot = tuple[int, float, float]


def ring_area(ring: Sequence[tuple[float, float]]) -> float:
    """Area of a polygon. [m2]"""
    if len(ring) < 3:
        return 0.0
    x, y = np.array(ring).T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


@dataclass
class State:
    """The facts that differ from the floor as it is, and what was spent to get there."""

    changed: dict[str, Spec] = field(default_factory=dict)
    done: list[Work] = field(default_factory=list)
    waiting: list[Work] = field(default_factory=list)
    gates: dict[str, Gate] = field(default_factory=dict)
    cost: float = 0.0
    days: float = 0.0
    height_m: float = 0.0
    weight_kg_m2: float = 0.0

    @property
    def burden(self) -> tuple[float, float, float]:
        """What weighs against it: cost, days, height."""
        return self.cost, self.days, self.height_m


class Floor:
    """One area of a judged table, on which works are tried."""

    def __init__(self, evaluated: Evaluated, book: Rulebook, row: int) -> None:
        self.book = book
        self.area = evaluated.areas[row]
        self.date = evaluated.judge.date
        self._facts = evaluated.facts.columns
        self._row = row
        self._base: dict[str, Spec] = {}
        self._derived: dict[tuple[Slot, ...], dict[str, Spec]] = {}
        self._marked = {
            name: reading
            for name, reading in self.area.readings.items()
            if reading.on is not None or reading.method or reading.holds_for
        }
        rings = [self.area.outline] if self.area.outline else []
        net = sum(map(ring_area, rings)) - sum(map(ring_area, self.area.obstacles))
        self.area_is_known = bool(rings) and net > 0
        self.area_m2 = net if self.area_is_known else ASSUMED_AREA_M2

    def spec(self, name: str, state: State | None = None) -> Spec:
        """The values that a fact may have, after the works of a state."""
        if state is not None and name in state.changed:
            return state.changed[name]
        if name not in self._base:
            self._base[name] = self._facts.spec(name, self._row)
        return self._base[name]

    def surely(self, terms: Terms, state: State) -> bool:
        """Whether every term surely holds; an empty table holds."""
        return all(bool(lies_in(spec_column(self.spec(n, state)), s).must[0]) for n, s in terms)

    def perhaps(self, terms: Terms, state: State) -> bool:
        """Whether all terms may hold together; an empty table never does."""
        return bool(terms) and all(
            bool(lies_in(spec_column(self.spec(n, state)), s).may[0]) for n, s in terms
        )

    def after(self, works: Sequence[Work]) -> State:
        """The floor after works, stage by stage; what cannot be done there waits in ``waiting``.

        Within a stage the first that can be done comes next, so that one may open the way to another.
        """
        state = State()
        for _, stage in groupby(works, lambda work: work.stage):
            left = list(stage)
            while (doable := next((w for w in left if not self.lacking(w, state)), None)) is not None:
                self._apply(doable, state)
                left.remove(doable)
            state.waiting += left
        return state

    def lacking(self, work: Work, state: State) -> set[str]:
        """The facts for which a work cannot be done; empty where it can."""
        found = {name for name, spec in work.when if not self.surely(((name, spec),), state)}
        if self.perhaps(work.unless, state):
            found |= {name for name, _ in work.unless}
        if work.takes_up is not None and not self._taken(work.takes_up, state):
            found.add("layer_1_kind")
        if work.layer is not None and self._slots_said(state):
            last = self.spec(f"layer_{SLOTS}_kind", state)
            if last != self._nothing:
                found.add(f"layer_{SLOTS}_kind")
        for gate in work.gates:
            if gate.never and self.surely(gate.never, state):
                found |= {name for name, _ in gate.never}
        return found

    def could_expose(self, kinds: Choices) -> bool:
        """Whether a layer below the top may be of these kinds."""
        return any(bits & kinds.bits for bits, _, _ in self._slots(State())[1:])

    def _apply(self, work: Work, state: State) -> None:
        for gate in work.gates:
            if gate.unless and self.surely(gate.unless, state):
                continue
            met = self.surely(((gate.fact, gate.must_be),), state)
            if (met and not gate.always) or gate.id in state.gates:
                continue
            state.gates[gate.id] = gate
            state.changed[gate.fact] = gate.must_be
            state.cost += gate.cost.fixed + gate.cost.per_m2 * self.area_m2
            state.days += gate.days
        days = work.days
        if work.days_by:
            now, then = self.spec(work.days_by, state), dict(work.changes)[work.days_by]
            assert isinstance(now, Span)
            assert isinstance(then, Span)
            days += max(0.0, then.low - now.low) / _DAY_S
        if work.takes_up is not None:
            self._lift(work.takes_up, state)
        if work.layer is not None:
            self._lay(work.layer, state)
        self._sum(work, state)
        for name in work.forgets:
            state.changed[name] = self.book.domains[name].everything
        for name, spec in work.changes:
            state.changed[name] = spec
        state.done.append(work)
        state.cost += work.cost.fixed + work.cost.per_m2 * self.area_m2
        state.days += days

    def _sum(self, work: Work, state: State) -> None:
        """Numbers that shift: by the work's own rows, by its height, by its weight."""
        for name, amount in work.add:
            self._shift(name, amount, state)
        for name, factor in work.times:
            self._scale(name, factor, state)
        if work.height_m:
            state.height_m += work.height_m
            for name in _HEIGHT_FACTS:
                self._shift(name, -work.height_m, state)
        if work.weight_kg_m2:
            state.weight_kg_m2 += work.weight_kg_m2
            self._shift("existing_dead_load", work.weight_kg_m2 * _G, state)

    def _within(self, name: str, low: float, high: float) -> Span:
        domain = self.book.domains[name]
        return Span(min(max(low, domain.low), domain.high), max(min(high, domain.high), domain.low))

    def _shift(self, name: str, amount: float, state: State) -> None:
        now = self.spec(name, state)
        assert isinstance(now, Span)
        state.changed[name] = self._within(name, now.low + amount, now.high + amount)

    def _scale(self, name: str, factor: float, state: State) -> None:
        now = self.spec(name, state)
        assert isinstance(now, Span)
        state.changed[name] = self._within(name, now.low * factor, now.high * factor)

    @property
    def _nothing(self) -> Choices:
        return Choices(1 << self.book.domains["layer_1_kind"].choices.index("nothing"))

    def _slots_said(self, state: State) -> bool:
        return "layer_1_kind" in self.area.readings or "layer_1_kind" in state.changed

    def _slots(self, state: State) -> list[Slot]:
        found = []
        for place in range(1, SLOTS + 1):
            kind = self.spec(f"layer_{place}_kind", state)
            size = self.spec(f"layer_{place}_thickness", state)
            assert isinstance(kind, Choices)
            assert isinstance(size, Span)
            found.append((kind.bits, size.low, size.high))
        return found

    def _write_slots(self, slots: Sequence[Slot], state: State) -> None:
        for place, (bits, low, high) in enumerate(slots, 1):
            state.changed[f"layer_{place}_kind"] = Choices(bits)
            state.changed[f"layer_{place}_thickness"] = Span(low, high)

    def _taken(self, kinds: Choices, state: State) -> bool:
        """Whether the top layer is surely one of these kinds."""
        bits = self._slots(state)[0][0]
        return self._slots_said(state) and bits & ~kinds.bits == 0

    def _lift(self, kinds: Choices, state: State) -> None:
        """Take up every layer of these kinds from the top; what is then there follows from the slots."""
        slots = self._slots(state)
        size = self.book.domains["layer_1_thickness"]
        while slots[0][0] & ~kinds.bits == 0 and slots[0][0]:
            slots = [*slots[1:], (self._nothing.bits, size.low, size.high)]
        self._write_slots(slots, state)
        state.changed.update(self._derive(tuple(slots)))

    def _derive(self, slots: tuple[Slot, ...]) -> dict[str, Spec]:
        if slots not in self._derived:
            columns = Columns(self.book.vocabulary.domains, 1)
            for place, (bits, low, high) in enumerate(slots, 1):
                columns[f"layer_{place}_kind"] = spec_column(Choices(bits))
                columns[f"layer_{place}_thickness"] = spec_column(Span(low, high))
            derive_layer_facts(columns)
            self._derived[slots] = {name: columns.spec(name, 0) for name in DERIVED}
        return self._derived[slots]

    def _lay(self, layer: tuple[Choices, Span], state: State) -> None:
        """Put a layer on top: slots move down, and what follows from them is carried along."""
        kind, size = layer
        name = self.book.domains["layer_1_kind"].names(kind.bits)[0]
        # Read first: these facts count the layers below the new one.
        before = {fact: self.spec(fact, state) for fact in DERIVED}
        if self._slots_said(state):
            slots = self._slots(state)
            self._write_slots([(kind.bits, size.low, size.high), *slots[:-1]], state)
        state.changed.update(before)
        top = self.book.domains["top_surface"].choices.index(name)
        state.changed["top_surface"] = Choices(1 << top)
        if name in PANELS:
            self._shift("panel_total_thickness", size.low, state)
            self._shift("panel_layers", 1.0, state)
        for fact, kinds in PRESENCE.items():
            if name in kinds:
                state.changed[fact] = Choices(2)

    def judge(
        self, changes: Sequence[Mapping[str, Spec]], only: Sequence[str] | None = None
    ) -> tuple[Evaluated, Bools]:
        """Judge the floor once for each set of changed facts.

        Returns
        -------
        Evaluated
            One row a set.
        ndarray of bool
            Rows that cannot be: their facts contradict each other.
        """
        rows = len(changes)
        table = Columns(self.book.vocabulary.domains, rows)
        for name, reading in self.area.readings.items():
            table[name] = spec_column(reading.spec)
        for name in dict.fromkeys(name for change in changes for name in change):
            _lay_in(table, name, changes)
        impossible = np.zeros(rows, dtype=np.bool_)
        for contradiction in make_consistent(table, self.book.consistency):
            impossible |= contradiction.rows
        areas = [self._renewed(change) for change in changes]
        return evaluate_columns(areas, table, {}, self.book, self.date, only), impossible

    def _renewed(self, change: Mapping[str, Spec]) -> Area:
        """The area with only the readings whose date, method or term may matter, less those replaced."""
        kept = {name: reading for name, reading in self._marked.items() if name not in change}
        return Area(self.area.name, kept, proposed=self.area.proposed, where=self.area.where)


def _lay_in(table: Columns, name: str, changes: Sequence[Mapping[str, Spec]]) -> None:
    column = table[name]
    if isinstance(column, NumberColumn):
        low, high = np.full(table.rows, column.low[0]), np.full(table.rows, column.high[0])
        for place, change in enumerate(changes):
            spec = change.get(name)
            if isinstance(spec, Span):
                low[place], high[place] = spec.low, spec.high
        table[name] = NumberColumn(low, high)
        return
    bits = np.full(table.rows, column.bits[0], dtype=np.uint64)
    for place, change in enumerate(changes):
        spec = change.get(name)
        if isinstance(spec, Choices):
            bits[place] = spec.bits
    table[name] = ChoiceColumn(bits)
