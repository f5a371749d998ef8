"""Works applied to a job's own readings, apart from the search: for checking what the search says.

A floor after works is written as a new area and judged from the start; every set of works is tried,
none is left out for seeming of no use.
"""

from __future__ import annotations

import copy
import itertools
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Span, Spec, read_spec
from undercourse.facts.jobs import Area, Reading, settle_facts
from undercourse.facts.works import Terms, Work
from undercourse.files.demo import demo_jobs
from undercourse.files.samples import sample_areas
from undercourse.files.shipped import rulebook
from undercourse.judge.results import STOP, SUITABLE_IF, VERDICT_WORDS

BOOK = rulebook(None)
WORDS = BOOK.vocabulary
WORKS = {work.id: work for work in BOOK.works.works}
SAMPLES = {area.name: area for area in sample_areas(WORDS)}
G = 9.80665
SLOTS = range(1, 9)
DERIVED = (
    *("top_surface", "panel_total_thickness", "panel_layers", "resilient_layer", "gypsum_layer"),
    *("cushioned_or_floating_layer", "unsuitable_panel_layer", "old_tile_layer"),
)


def said(area: Area, **facts: object) -> Area:
    """An area with other facts."""
    readings = dict(area.readings)
    for name, raw in facts.items():
        readings[name] = Reading(read_spec(WORDS.domains[name], raw), "test", said=raw)
    return replace(area, readings=readings)


def layered(area: Area, *layers: tuple[str, str]) -> Area:
    """An area with other layers, from the top down."""
    kept = {name: r for name, r in area.readings.items() if not name.startswith("layer_")}
    for place in SLOTS:
        kind, size = layers[place - 1] if place <= len(layers) else ("nothing", "?")
        kept[f"layer_{place}_kind"] = Reading(read_spec(WORDS.domains["layer_1_kind"], kind), "test")
        kept[f"layer_{place}_thickness"] = Reading(
            read_spec(WORDS.domains["layer_1_thickness"], size), "test"
        )
    return replace(area, readings=kept)


@dataclass
class After:
    """An area after works; ``cost`` for 10 m2 where the area has no outline."""

    area: Area
    works: tuple[Work, ...]
    gates: tuple[str, ...]
    cost: float
    days: float
    height_m: float
    weight_kg_m2: float
    settled: Site | None = None

    def site(self) -> Site:
        """The settled area, to be written on."""
        if self.settled is None:
            self.settled = Site(self.area)
        return self.settled.again()

    @property
    def burden(self) -> tuple[float, float, float]:
        return (round(self.cost, 6), round(self.days, 6), round(self.height_m, 9))


Known = dict[tuple[str, ...], After | None]
PLACE = {work.id: place for place, work in enumerate(BOOK.works.works)}


class Site:
    """An area while works are done on it; settled anew before each work."""

    def __init__(self, area: Area) -> None:
        self.area = area
        self.settle()

    def settle(self) -> None:
        """What follows from the facts as they now are."""
        self._columns, problems = settle_facts([self.area], WORDS, BOOK.consistency)
        self.possible = not problems
        self._written: dict[str, Spec] = {}

    def again(self) -> Site:
        """The same, as nothing were written since it was settled."""
        other = copy.copy(self)
        other._written = {}
        return other

    def now(self, name: str) -> Spec:
        return self._written.get(name) or self._columns.spec(name, 0)

    def write(self, name: str, spec: Spec) -> None:
        self.area = replace(self.area, readings={**self.area.readings, name: Reading(spec, "work")})
        self._written[name] = spec

    def forget(self, *names: str) -> None:
        kept = {name: r for name, r in self.area.readings.items() if name not in names}
        self.area = replace(self.area, readings=kept)
        self._written |= {name: WORDS.domains[name].everything for name in names}

    def surely(self, terms: Terms) -> bool:
        return all(_inside(self.now(name), spec) for name, spec in terms)

    def perhaps(self, terms: Terms) -> bool:
        return bool(terms) and all(_meets(self.now(name), spec) for name, spec in terms)

    def shift(self, name: str, by: float, times: float = 1.0) -> None:
        now, domain = self.now(name), WORDS.domains[name]
        assert isinstance(now, Span)
        low, high = (min(max(end * times + by, domain.low), domain.high) for end in (now.low, now.high))
        self.write(name, Span(low, high))

    def slot(self, place: int) -> tuple[Spec, Spec]:
        return self.now(f"layer_{place}_kind"), self.now(f"layer_{place}_thickness")


def _inside(spec: Spec, wanted: Spec) -> bool:
    if isinstance(spec, Span) and isinstance(wanted, Span):
        return wanted.low - 1e-9 <= spec.low and spec.high <= wanted.high + 1e-9
    assert isinstance(spec, Choices)
    assert isinstance(wanted, Choices)
    return spec.bits & wanted.bits == spec.bits


def _meets(spec: Spec, wanted: Spec) -> bool:
    if isinstance(spec, Span) and isinstance(wanted, Span):
        return spec.low <= wanted.high + 1e-9 and wanted.low - 1e-9 <= spec.high
    assert isinstance(spec, Choices)
    assert isinstance(wanted, Choices)
    return bool(spec.bits & wanted.bits)


def size_of(area: Area) -> float:
    """Net area, or 10 m2 without an outline."""
    if area.outline is None:
        return 10.0

    def shoelace(ring: Sequence[tuple[float, float]]) -> float:
        pairs = zip(ring, [*ring[1:], ring[0]], strict=True)
        return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2

    return shoelace(area.outline) - sum(map(shoelace, area.obstacles))


def start(area: Area) -> After:
    """The area before any work."""
    return After(area, (), (), 0.0, 0.0, 0.0, 0.0)


def apply(area: Area, works: Iterable[Work], known: Known | None = None) -> After | None:
    """The area after works; None where one of them cannot be done.

    Stages come in their order; within one, whichever stands first in the data and can be done is done
    next. ``known`` remembers what sequences lead to.
    """
    known = {} if known is None else known
    left = sorted(works, key=lambda work: PLACE[work.id])
    done: tuple[Work, ...] = ()
    after: After | None = known.setdefault((), start(area))
    while left:
        now = [work for work in left if work.stage == left[0].stage]
        for work in now:
            following = (*done, work)
            key = tuple(one.id for one in following)
            if key not in known:
                assert after is not None
                known[key] = one_more(after, after.site(), work)
            if known[key] is not None:
                after, done = known[key], following
                left.remove(work)
                break
        else:
            return None
    return after


def one_more(before: After, site: Site, work: Work) -> After | None:
    """The area after another work; ``site`` is the settled area of ``before``."""
    size, gates = size_of(before.area), list(before.gates)
    layers_said = "layer_1_kind" in before.area.readings
    if not site.possible or not site.surely(work.when) or site.perhaps(work.unless):
        return None
    if work.takes_up and not (layers_said and _inside(site.slot(1)[0], work.takes_up)):
        return None
    if any(gate.never and site.surely(gate.never) for gate in work.gates):
        return None
    cost, days = before.cost, before.days + work.days
    for gate in work.gates:
        idle = bool(gate.unless) and site.surely(gate.unless)
        met = _inside(site.now(gate.fact), gate.must_be) and not gate.always
        if not idle and not met and gate.id not in gates:
            gates.append(gate.id)
            site.write(gate.fact, gate.must_be)
            cost += gate.cost.fixed + gate.cost.per_m2 * size
            days += gate.days
    if work.days_by:
        now, then = site.now(work.days_by), dict(work.changes)[work.days_by]
        assert isinstance(now, Span)
        assert isinstance(then, Span)
        days += max(0.0, then.low - now.low) / 86400
    if work.takes_up:
        stack = [site.slot(place) for place in SLOTS]
        while _inside(stack[0][0], work.takes_up):
            stack = [*stack[1:], (read_spec(WORDS.domains["layer_1_kind"], "nothing"), Span(0.0, 1.0))]
        site.forget(*DERIVED)
        _write_stack(site, stack)
    if work.layer:
        _lay(site, work, layers_said)
    for name, amount in work.add:
        site.shift(name, amount)
    for name, factor in work.times:
        site.shift(name, 0.0, factor)
    if work.height_m:
        site.shift("height_available", -work.height_m)
        site.shift("door_sill_height", -work.height_m)
    if work.weight_kg_m2:
        site.shift("existing_dead_load", work.weight_kg_m2 * G)
    site.forget(*work.forgets)
    for name, spec in work.changes:
        site.write(name, spec)
    return After(
        site.area,
        (*before.works, work),
        tuple(gates),
        cost + work.cost.fixed + work.cost.per_m2 * size,
        days,
        before.height_m + work.height_m,
        before.weight_kg_m2 + work.weight_kg_m2,
    )


def _write_stack(site: Site, stack: Sequence[tuple[Spec, Spec]]) -> None:
    for place, (kind, thickness) in enumerate(stack, 1):
        site.write(f"layer_{place}_kind", kind)
        site.write(f"layer_{place}_thickness", thickness)


def _lay(site: Site, work: Work, layers_said: bool) -> None:
    """A new layer; with listed layers the derived facts are left to follow from them."""
    assert work.layer is not None
    kind, thickness = work.layer
    if layers_said:
        stack = [site.slot(place) for place in SLOTS]
        site.forget(*DERIVED)
        _write_stack(site, [(kind, thickness), *stack[:-1]])
        return
    name = WORDS.domains["layer_1_kind"].names(kind.bits)[0]
    before = {fact: site.now(fact) for fact in DERIVED}
    for fact, spec in before.items():
        site.write(fact, spec)
    site.write("top_surface", read_spec(WORDS.domains["top_surface"], name))
    if name in ("plywood", "OSB"):
        site.shift("panel_total_thickness", thickness.low)
        site.shift("panel_layers", 1.0)


def suits(evaluated: Evaluated, row: int, weight_kg_m2: float) -> dict[str, str]:
    """The candidates of the line that suit a row, with their verdicts; none where the site is stopped.

    New work of more than 10 psf on joists, works and assembly together, needs the word of a design
    professional (a rule of the trade data).
    """
    if int(pick(evaluated.site.status, row)) == STOP:
        return {}
    letter = evaluated.facts.columns.spec("framing_plan_seen", row) == Choices(2)
    found = {}
    for judgement in evaluated.judgements:
        if int(judgement.verdict[row]) > SUITABLE_IF:
            continue
        heavy = False
        for finding in judgement.findings:
            if finding.demand == "added_dead_load" and finding.label == "added-weight-framed":
                assert finding.value is not None
                load = float(pick(finding.value.high, row)) + weight_kg_m2 * G  # type: ignore[union-attr]
                framed = bool(pick(finding.applies.may, row))
                heavy = weight_kg_m2 > 0 and framed and not letter and load > 10 * 47.88025898 * (1 + 1e-6)
        if not heavy:
            found[judgement.candidate.id] = VERDICT_WORDS[int(judgement.verdict[row])]
    return found


def all_sets(area: Area, most: int, date: object = None) -> list[After]:
    """Every set of up to ``most`` works that can be done and after which something suits."""
    tried: list[After] = []
    known: Known = {}
    pool = BOOK.works.works
    for size in range(1, most + 1):
        if size > 2:
            # What can be done in no set of two would need two others to open its way.
            doable = {work.id for found in tried for work in found.works}
            pool = tuple(work for work in pool if work.id in doable)
        for works in itertools.combinations(pool, size):
            groups = [work.instead_of for work in works if work.instead_of]
            if len(groups) == len(set(groups)) and (found := apply(area, works, known)) is not None:
                tried.append(found)
    evaluated = evaluate([found.area for found in tried], BOOK, date)  # type: ignore[arg-type]
    limit = settle_facts([area], WORDS, BOOK.consistency)[0].spec("schedule_days", 0)
    assert isinstance(limit, Span)
    return [
        found
        for row, found in enumerate(tried)
        if row not in evaluated.problems
        and found.days <= limit.high / 86400 + 1e-9
        and suits(evaluated, row, found.weight_kg_m2)
    ]


def undominated(sets: Sequence[After]) -> set[tuple[str, ...]]:
    """The sets that no other beats in cost, days and height, without idle works in them."""
    names = {frozenset(w.id for w in s.works): s for s in sets}
    kept = set()
    for key, one in names.items():
        if any(other < key for other in names):
            continue
        beaten = any(
            all(a <= b for a, b in zip(other.burden, one.burden, strict=True)) and other.burden != one.burden
            for other in sets
        )
        if not beaten:
            kept.add(tuple(sorted(key)))
    return kept


HURTS: list[dict[str, object]] = [
    {"flatness_10ft": "5/16 in", "flatness_2ft": "1/8 in"},
    {"panel_edges": "unsupported"},
    {"coating": "sealer"},
    {"surface_clean": False, "surface_sound": False},
    {"joist_span": "15 ft 6 in"},
    {"slab_rh": "88 %"},
    {"slab_age": "12 day"},
    {"height_available": "5/8 in"},
    {"framing_plan_seen": False},
    {"finish": "natural stone", "tile_absorption": "0.4 %"},
    {"panel_fastened": False, "panel_gap": "0 in"},
    {"mosaic": True, "tile_long_edge": "1 in", "tile_short_edge": "1 in"},
    {"tile_thickness": "1/4 in"},
    {"framing_condition": "notched or bored", "framing_plan_seen": False},
    {"asbestos_test": "not tested", "coating": "adhesive residue", "slab_age": "40 year"},
    {"spot_bonded": True, "mortar_coverage": "60 %"},
    {"movement_joints_planned": False},
    {"panels_wet_or_decayed": True},
]


def hurt_floors(count: int, seed: int) -> list[Area]:
    """Sample floors with two things wrong; only those whose facts can be true together."""
    rng = random.Random(seed)
    found: list[Area] = []
    while len(found) < count:
        area = rng.choice(list(SAMPLES.values()))
        for hurt in rng.sample(HURTS, 2):
            area = said(area, **hurt)
        if not settle_facts([area], WORDS, BOOK.consistency)[1]:
            found.append(replace(area, name=f"{area.name} ({len(found)})"))
    return found


def demo_areas() -> list[tuple[Area, object]]:
    """Every area of the demo jobs, with the day it is judged on."""
    return [(area, job.date) for _, job in demo_jobs(WORDS) for area in job.areas]
