"""Heating cable of one area: kits of the line laid in what may be heated, current, control and sensor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import shapely
from shapely import LineString, Point, Polygon

from undercourse.assembly.costs import regional_packs
from undercourse.base.domains import Choices, Span
from undercourse.base.frame import Frame
from undercourse.base.problems import Problems
from undercourse.base.units import UNITS, show_quantity
from undercourse.facts.jobs import Area
from undercourse.layout import CableKit, CablePlan, CableRules, CableRun, cable_plan, make_outline
from undercourse.line.records import Product

WALL_M, FIXTURE_M, JOINT_M = 0.0762, 0.0508, 0.0508
"""Distances that a cable keeps where the product states none: 3 in from walls, 2 in from fixed parts,
published for one heated floor in a trade case; from joints the same, common practice, no source. [m]"""

BESIDE_DOOR_M = 0.3
"""Where the control is not given, it is taken this far beside a door; common practice, no source. [m]"""

COLD_LEAD_M = 3.0
"""Cold leads are often 10 to 15 ft long: from memory. [m]"""

ELECTRICIAN = (
    "A licensed electrician connects the cable on a ground-fault protected circuit of its own under the "
    "local code, and sizes wire and breaker for a load that runs for hours."
)
NEVER_CUT = (
    "Cable is never cut, shortened, crossed or spliced in the floor; measure resistance and insulation "
    "before unspooling, after laying and after covering, and write them down."
)


def cable_kits(product: Product, region: str = "") -> list[CableKit]:
    """The kits of a cable that are stocked in a region and state length, power and voltage."""
    kits = []
    for pack in regional_packs(product, region):
        if pack.cable_length_m and pack.power_w and pack.voltage_v:
            kits.append(CableKit(pack.item_number, pack.cable_length_m, pack.power_w, pack.voltage_v))
    return kits


def cable_rules(product: Product, sheet: Product | None, facts: Frame, row: int) -> CableRules | None:
    """How the cable may lie; None where the product states no spacing.

    Runs are never closer than the asked power allows: the answer holds for no denser floor.
    """
    sold = product.number("cable_spacing")
    low = product.number("cable_spacing_least") or sold
    high = product.number("cable_spacing_most") or sold
    if not low or not high:
        return None
    output, power = product.number("cable_output"), facts.columns.spec("heating_power", row)
    assert isinstance(power, Span)
    if output and power.high > 0:
        low = max(low, output / power.high)
    radius = product.number("bend_radius") or 0.0
    return CableRules(
        (low, max(low, high)),
        spacing_step_m=(sheet.number("stud_step") or 0.0) if sheet is not None else 0.0,
        bend_radius_m=radius,
        wall_margin_m=product.number("wall_gap") or WALL_M,
        obstacle_margin_m=product.number("fixture_gap") or FIXTURE_M,
        joint_margin_m=product.number("joint_gap") or JOINT_M,
    )


def lay_cable(
    area: Area,
    goods: Sequence[tuple[str, Product]],
    facts: Frame,
    row: int,
    joints: Mapping[str, Any] | None,
    region: str = "",
    direction_deg: float | None = None,
) -> dict[str, Any] | None:
    """The cable plan of an area with an outline; None where its assembly holds no cable in kits.

    Parameters
    ----------
    goods : sequence of (role, Product)
        The products of the candidate.
    joints : mapping
        The area's movement joints, as ``joint_plan`` gives them.
    direction_deg : float, optional
        Direction of the sheet, whose studs the cable follows. [deg]
    """
    cable = next((product for role, product in goods if role == "heating cable"), None)
    heating = facts.columns.spec("heating", row)
    assert isinstance(heating, Choices)
    laid = "electric cable" in facts.domain("heating").names(
        heating.bits
    )  # a mat is turned and cut otherwise
    if cable is None or area.outline is None or not laid:
        return None
    kits = cable_kits(cable, region)
    sheet = next((product for role, product in goods if role == "membrane"), None)
    rules = cable_rules(cable, sheet, facts, row)
    if not kits or rules is None:
        return None
    control = next((product for role, product in goods if role == "heating control"), None)
    amps = control.number("current") if control is not None else None
    floor = make_outline(list(area.outline), [list(ring) for ring in area.obstacles], area.name)
    lines = [LineString(joint["line"]) for joint in (joints or {}).get("joints", ())]
    spot, said = _control(area, floor)
    try:
        zone = make_outline(floor, [list(ring) for ring in area.marks.unheated], area.name)
        if rules.spacing_step_m == 0.0:
            direction_deg = None
        plan = cable_plan(zone, kits, spot, rules, lines, amps, direction_deg)
    except Problems as error:
        why = [f"{one.what}; {one.fix}." for one in error.problems]
        plan = CablePlan((), (), floor, 0.0, 0.0, 0.0, ())
        return _document(plan, cable, rules, spot, amps, [text[:1].upper() + text[1:] for text in why])
    return _document(plan, cable, rules, spot, amps, _said(plan, cable, facts, row, said, amps))


def _control(area: Area, floor: Polygon) -> tuple[tuple[float, float], str]:
    """Where the leads go up the wall: as given, else beside the first door, else at the first corner."""
    if area.marks.control is not None:
        return area.marks.control, ""
    ring = floor.exterior
    doors = [LineString(door) for door in area.doors]
    doors = [door for door in doors if ring.distance(door) < 0.5]
    if not doors:
        x, y = ring.coords[0]
        return (float(x), float(y)), "The control is taken at the first corner"
    door = doors[0]
    taken = shapely.union_all([other.buffer(BESIDE_DOOR_M - 0.05) for other in doors])
    best = None
    for end in (door.coords[0], door.coords[-1]):
        along = ring.project(Point(end))
        for way in (BESIDE_DOOR_M, -BESIDE_DOOR_M):
            point = ring.interpolate((along + way) % ring.length)
            merit = (point.distance(taken), -Point(end).distance(point))
            if best is None or merit > best[0]:
                best = (merit, point)
    assert best is not None
    return (float(best[1].x), float(best[1].y)), "The control is taken beside the door"


def _inches(length_m: float) -> str:
    return show_quantity(length_m, UNITS["in"])


def _square(area_m2: float) -> str:
    return show_quantity(area_m2, UNITS["ft2"])


def _said(
    plan: CablePlan, cable: Product, facts: Frame, row: int, control: str, amps: float | None
) -> list[str]:
    notes = [f"{control}; give its place as control = [x, y] and the plan follows it."] if control else []
    if plan.circuits:
        share = f"{plan.heated_m2 / plan.free_m2 * 100:.0f} %"
        notes.append(
            f"{_square(plan.heated_m2)} of the {_square(plan.free_m2)} within the margins get heat, {share}; "
            f"{_square(plan.unheated_m2)} stay without cable, and no cable is left over."
        )
        asked = facts.columns.spec("heating_spacing", row)
        assert isinstance(asked, Span)
        off = [
            run.spacing_m
            for run in plan.circuits
            if not asked.low - 1e-3 <= run.spacing_m <= asked.high + 1e-3
        ]
        if off:
            notes.append(
                f"The answer is for cable {_inches(asked.low)} apart; laid so that the kit comes out, it is "
                f"{_inches(max(off))}: answer again with heating_spacing set to it."
            )
        if amps is None:
            notes.append("What current the control carries is not stated.")
        elif len(plan.controls) > 1:
            notes.append(
                f"{plan.amps:.1f} A are more than one control of {amps:g} A carries: "
                f"{len(plan.controls)} controls, or one with a relay, by the electrician."
            )
        else:
            notes.append(f"{plan.amps:.1f} A of the {amps:g} A that the control carries.")
    far = max((end for run in plan.circuits for end in run.ends_m), default=0.0)
    if far > COLD_LEAD_M:
        notes.append(
            f"Some ends lie {show_quantity(far, UNITS['ft'])} from the control: check that cold leads reach, "
            "or set a control or junction box nearer to them."
        )
    return [*notes, *(note[:1].upper() + note[1:] for note in plan.notes if "stay without" not in note)]


def _document(
    plan: CablePlan,
    cable: Product,
    rules: CableRules,
    control: tuple[float, float],
    amps: float | None,
    notes: list[str],
) -> dict[str, Any]:
    of_control = {index: number for number, group in enumerate(plan.controls, 1) for index in group}
    return {
        "product": cable.id,
        "control": [round(control[0], 4), round(control[1], 4)],
        "zone": [_points(ring) for ring in (plan.zone.exterior, *plan.zone.interiors)],
        "free_m2": round(plan.free_m2, 4),
        "heated_m2": round(plan.heated_m2, 4),
        "unheated_m2": round(plan.unheated_m2, 4),
        "wall_gap_m": rules.wall_margin_m,
        "fixture_gap_m": rules.obstacle_margin_m,
        "joint_gap_m": rules.joint_margin_m,
        "spacing_range_m": [round(value, 5) for value in rules.spacing_m],
        "controls": len(plan.controls),
        "control_amps": amps,
        "amps": round(plan.amps, 3),
        "circuits": [_circuit(run, of_control[index]) for index, run in enumerate(plan.circuits)],
        "notes": notes,
        "cautions": [ELECTRICIAN, NEVER_CUT],
    }


def _circuit(run: CableRun, control: int) -> dict[str, Any]:
    return {
        "item_number": run.kit.name,
        "control": control,
        "length_m": round(run.kit.length_m, 4),
        "power_w": run.kit.power_w,
        "voltage_v": run.kit.voltage_v,
        "amps": round(run.amps, 3),
        "spacing_m": round(run.spacing_m, 5),
        "power_w_m2": round(run.density_w_m2, 3),
        "heated_m2": round(run.heated_m2, 4),
        "path": _points(run.path),
        "ends_to_control_m": [round(end, 4) for end in run.ends_m],
        "sensor": [round(value, 4) for value in run.sensor],
        "sensor_way": _points(run.sensor_way),
    }


def _points(line: Any) -> list[list[float]]:
    return [[round(float(x), 4), round(float(y), 4)] for x, y, *_ in line.coords]
