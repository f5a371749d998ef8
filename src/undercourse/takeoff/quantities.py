"""What to buy for one area: need with its allowance, packs to buy, weight, cost, hours."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from shapely import Polygon

from undercourse.assembly.costs import best_pack, coverage_for, laying_hours_m2, regional_packs
from undercourse.base.units import UNITS, show_quantity
from undercourse.layout import count_corners
from undercourse.line.records import Pack, Product
from undercourse.physics.mortar import cavity_fill

# Waste of mortar, primer and liquids: common practice, no source. Sheets carry the waste of their own layout.
ALLOWANCE = 0.10
# Band laps at crossings: 2 in each, as the trade counts them (from memory).
BAND_LAP_M = 2 * 0.0254
# Cable keeps clear of walls, fixtures and joints: common practice, no source. The cable plan decides.
HEATED_SHARE = 0.85


# A hole up to 14 in across is a pipe, which gets a collar: common practice, no source.
COLLAR_M = 14 * 0.0254


@dataclass(frozen=True)
class Geometry:
    """What quantities are counted from. [m2, m, count]"""

    net_area_m2: float
    edge_length_m: float
    seam_length_m: float = 0.0
    head_joint_length_m: float = 0.0
    inside_corners: int = 0
    outside_corners: int = 0
    collars: int = 0
    roll_lengths_m: tuple[float, ...] = ()
    wall_upturn_m: float = 0.0
    heated_area_m2: float | None = None
    grout_kg_m2: float | None = None
    joints: Mapping[str, Any] | None = None  # as ``joint_plan`` gives them
    cable: Mapping[str, Any] | None = None  # as ``lay_cable`` gives it
    notes: tuple[str, ...] = field(default_factory=tuple)


def take_off(
    area: str,
    goods: Sequence[tuple[str, Product]],
    geometry: Geometry,
    region: str = "",
    labor_rate: float = 0.0,
) -> dict[str, Any]:
    """The quantities of one area.

    Parameters
    ----------
    goods : sequence of (role, Product)
        The products of the candidate, each once a role.

    Returns
    -------
    dict
        ``lines`` with need, packs, price and cost; sums; hours; the allowance in words.
    """
    lines: list[dict[str, Any]] = []
    if geometry.collars and any(role == "drain" for role, _ in goods):
        geometry = replace(geometry, collars=geometry.collars - 1)  # the drain's own hole
    for role, product in goods:
        if role == "membrane" and geometry.roll_lengths_m:
            lines += _rolls(product, geometry, region)
            continue
        if role == "heating cable" and geometry.cable is not None:
            lines += _laid_kits(product, geometry.cable, region)
            continue
        if role == "heating cable" and any(_kit_area(pack) for pack in product.packs):
            lines += _kits(product, geometry, region)
            continue
        if role == "sealant" and geometry.joints is not None:
            lines.append(_sealant(product, geometry.joints, region))
            continue
        lines.append(_line(role, product, geometry, region))
    costs = [line["cost"] for line in lines if line["cost"] is not None]
    currencies = sorted({line["currency"] for line in lines if line["currency"]})
    hours = sum(laying_hours_m2(product) * geometry.net_area_m2 for _, product in goods)
    unpriced = [line["product"] for line in lines if line["cost"] is None]
    return {
        "area": area,
        "net_area_m2": round(geometry.net_area_m2, 3),
        "lines": lines,
        "allowance": f"{ALLOWANCE:.0%} on mortar, primer, liquids and band (common practice, no source); "
        "sheets as laid out, whole rolls; packs rounded up".replace("%", " %"),
        "cost": round(sum(costs), 2) if len(currencies) <= 1 else None,
        "currency": currencies[0] if len(currencies) == 1 else "",
        "labor_cost": round(hours * labor_rate, 2) if labor_rate else None,
        "weight_kg": round(sum(line["weight_kg"] or 0.0 for line in lines), 1),
        "hours": round(hours, 1),
        "unpriced": unpriced,
        "also": _also(goods, geometry),
        "notes": [*geometry.notes, *_cells(goods, geometry)],
    }


def _cells(goods: Sequence[tuple[str, Product]], geometry: Geometry) -> list[str]:
    """What the cells of a sheet take beyond a bed; a stated coverage may or may not count it."""
    if not any(role == "mortar above" for role, _ in goods):
        return []
    found = []
    for role, product in goods:
        depth, share = product.number("cavity_depth"), product.number("open_share")
        if role == "membrane" and depth and share:
            volume = float(cavity_fill(depth, share)) * geometry.net_area_m2
            amount = f"{volume * 1000:.0f} l ({volume / 0.3048**3:.1f} cu ft)"
            found.append(
                f"The cells of {product.name} take {amount} of mortar beside the bed; ask the mortar's maker "
                "whether the stated coverage counts them."
            )
    return found


def _rolls(product: Product, geometry: Geometry, region: str) -> list[dict[str, Any]]:
    """Whole rolls by length, as the layout opened them."""
    lines = []
    packs = regional_packs(product, region)
    for length in sorted(set(geometry.roll_lengths_m)):
        count = geometry.roll_lengths_m.count(length)
        fitting = [pack for pack in packs if pack.length_m and abs(pack.length_m - length) < 1e-6]
        pack = min(fitting, key=lambda p: p.price)
        area = (pack.width_m or 0.0) * length
        weight = (product.number("weight") or 0.0) * area * count
        lines.append(
            _row("membrane", product, "rolls as laid out", area * count, "m2", count, pack, weight, "")
        )
    return lines


def grout_kg_m2(long_m: float, short_m: float, joint_m: float, depth_m: float) -> float:
    """Cement grout by area: joint length by area times width, depth and density. [kg/m2]

    Density of set grout 1,800 kg/m3: common practice, no source.
    """
    return (long_m + short_m) / (long_m * short_m) * joint_m * depth_m * 1800.0


def _kit_area(pack: Pack) -> float:
    """The area that a kit heats; 0 where it is not stated."""
    return pack.area_m2 or (pack.amount if pack.amount_unit == "area" and pack.amount else 0.0)


def _kits(product: Product, geometry: Geometry, region: str) -> list[dict[str, Any]]:
    """Cable kits cannot be cut: the largest that still fit the heated area, one after another."""
    heated = geometry.heated_area_m2
    what = "heated area"
    if heated is None:
        heated = geometry.net_area_m2 * HEATED_SHARE
        what = f"heated area taken as {HEATED_SHARE:.0%} of net".replace("%", " %")
    sized = sorted((p for p in regional_packs(product, region) if _kit_area(p)), key=lambda p: -_kit_area(p))
    chosen: dict[str, tuple[Pack, int]] = {}
    left = heated
    for pack in sized:
        count = int((left + 1e-9) // _kit_area(pack))
        if count:
            chosen[pack.item_number] = (pack, count)
            left -= count * _kit_area(pack)
    note = f"cable is never cut; {left:.1f} m² stay without cable; confirm on the cable plan"
    lines = []
    for pack, count in chosen.values():
        lines.append(
            _row("heating cable", product, what, _kit_area(pack) * count, "m2", count, pack, None, note)
        )
    return lines or [
        _row("heating cable", product, what, heated, "m2", None, None, None, "no kit is small enough")
    ]


def _laid_kits(product: Product, cable: Mapping[str, Any], region: str) -> list[dict[str, Any]]:
    """The kits of a cable plan, each counted."""
    circuits = cable["circuits"]
    lines = []
    packs = {pack.item_number: pack for pack in regional_packs(product, region)}
    for item in sorted({circuit["item_number"] for circuit in circuits}):
        own = [circuit for circuit in circuits if circuit["item_number"] == item]
        heated = sum(circuit["heated_m2"] for circuit in own)
        what = "heated area on the cable plan"
        lines.append(_row("heating cable", product, what, heated, "m2", len(own), packs[item], None, ""))
    none = "; ".join(cable["notes"]) or "no kit fits"
    return lines or [_row("heating cable", product, "heated area", 0.0, "m2", None, None, None, none)]


def _sealant(product: Product, joints: Mapping[str, Any], region: str) -> dict[str, Any]:
    """Sealant by joint width and depth over field joints, doorways and edges."""
    need = joints["sealant_l"] * (1 + ALLOWANCE)
    pack = best_pack(product, region)
    what = f"soft joints {_inches(joints['width_m'])} wide, {_inches(joints['sealant_depth_m'])} deep"
    if pack is not None and pack.amount_unit == "volume" and pack.amount:
        packs = math.ceil(need / 1000 / pack.amount - 1e-9)
        return _row("sealant", product, what, need, "l", packs, pack, None, "")
    coverage = coverage_for(product, "sealant")
    length = joints["rod_m"] * (1 + ALLOWANCE)
    if pack is not None and coverage is not None and coverage.unit == "m" and coverage.per_pack > 0:
        packs = math.ceil(length / coverage.per_pack - 1e-9)
        note = "the stated coverage holds for one joint size; check it"
        return _row("sealant", product, what, length, "m", packs, pack, None, note)
    return _row("sealant", product, what, need, "l", None, pack, None, "coverage not stated: ask the maker")


def _also(goods: Sequence[tuple[str, Product]], geometry: Geometry) -> list[dict[str, Any]]:
    """What the work takes that no product of the assembly is."""
    joints = geometry.joints
    if joints is None or not joints["rod_m"]:
        return []
    rod = _inches(joints["rod_diameter_m"])
    found = [
        {
            "what": f"closed-cell backing rod {rod}, or bond-breaker tape where there is no depth for it",
            "need": round(joints["rod_m"] * (1 + ALLOWANCE), 2),
            "unit": "m",
            "note": "rod a quarter thicker than the joint is wide (from memory)",
        }
    ]
    if not any(role == "sealant" for role, _ in goods):
        found.append(
            {
                "what": "elastomeric sealant ASTM C920, use T where there is traffic",
                "need": round(joints["sealant_l"] * (1 + ALLOWANCE), 2),
                "unit": "l",
                "note": f"soft joints {_inches(joints['width_m'])} wide, "
                f"{_inches(joints['sealant_depth_m'])} deep",
            }
        )
    return found


def _feet(length_m: float) -> str:
    return show_quantity(length_m, UNITS["ft"])


def _inches(length_m: float) -> str:
    return show_quantity(length_m, UNITS["in"])


def _need(role: str, product: Product, geometry: Geometry) -> tuple[float, str, str]:
    """How much of a product is needed, in which unit, and what it is counted from."""
    coverage = coverage_for(product, role)
    unit = coverage.unit if coverage is not None else "m2"
    if role == "patch":
        return 0.0, "m2", "by the crack or dip: measure on site"
    if role == "grout" and geometry.grout_kg_m2 is not None:
        return (
            geometry.net_area_m2 * geometry.grout_kg_m2 * (1 + ALLOWANCE),
            "kg",
            "joints of the stated tile",
        )
    if role == "heating control" and geometry.cable is not None:
        return float(geometry.cable["controls"]), "piece", "by the current of the cable plan"
    if role == "corners and collars" or (unit == "piece" and role != "drain"):
        corners = geometry.inside_corners + geometry.outside_corners + geometry.collars
        what = f"{geometry.inside_corners} inside and {geometry.outside_corners} outside corners"
        if geometry.collars:
            what += f", {geometry.collars} collar{'' if geometry.collars == 1 else 's'}"
        return (
            (float(corners), "piece", what)
            if role == "corners and collars"
            else (1.0, "piece", "one a floor")
        )
    if role in ("drain", "heating control"):
        return 1.0, "piece", "one a floor"
    if unit == "m":
        if role == "seam tape":
            seams = geometry.seam_length_m + geometry.head_joint_length_m + geometry.edge_length_m
            laps = BAND_LAP_M * (geometry.inside_corners + geometry.outside_corners)
            what = f"seams {_feet(seams - geometry.edge_length_m)}, band folded onto wall and floor "
            what += f"{_feet(geometry.edge_length_m)}, 2 in laps at corners"
            return (seams + laps) * (1 + ALLOWANCE), "m", what
        return geometry.edge_length_m * (1 + ALLOWANCE), "m", "edge length"
    return geometry.net_area_m2 * (1 + ALLOWANCE), "m2", "net area"


def _line(role: str, product: Product, geometry: Geometry, region: str) -> dict[str, Any]:
    need, unit, what = _need(role, product, geometry)
    coverage = coverage_for(product, role)
    pack = best_pack(product, region)
    packs: int | None = None
    if pack is not None and coverage is not None and coverage.unit == unit and coverage.per_pack > 0:
        packs = math.ceil(need / coverage.per_pack - 1e-9)
    elif pack is not None and unit == "kg" and pack.amount and pack.amount_unit == "mass":
        packs = math.ceil(need / pack.amount - 1e-9)
    elif role == "patch":
        packs = None
    elif pack is not None and unit == "piece":
        held = (
            pack.amount if pack.amount_unit in ("piece", "pieces", "set", "corners") and pack.amount else 1.0
        )
        packs = math.ceil(need / held - 1e-9)
    weight = pack.amount * packs if pack and packs and pack.amount and pack.amount_unit == "mass" else None
    note = "" if packs is not None else "coverage not stated: ask the maker"
    note = "measure on site" if role == "patch" else note
    return _row(role, product, what, need, unit, packs, pack, weight, note)


def _row(
    role: str,
    product: Product,
    what: str,
    need: float,
    unit: str,
    packs: int | None,
    pack: Pack | None,
    weight: float | None,
    note: str,
) -> dict[str, Any]:
    return {
        "role": role,
        "product": product.id,
        "name": product.name,
        "item_number": pack.item_number if pack else product.item_number,
        "what": what,
        "need": round(need, 3),
        "unit": unit,
        "packs": packs,
        "pack": pack.text if pack else "",
        "price": pack.price if pack else None,
        "currency": pack.currency if pack else "",
        "price_date": pack.price_date.isoformat() if pack else "",
        "cost": round(packs * pack.price, 2) if pack and packs is not None else None,
        "weight_kg": round(weight, 2) if weight is not None else None,
        "note": note,
    }


def geometry_of(
    area: Mapping[str, Any], roll_lengths_m: tuple[float, ...] = (), floor: Polygon | None = None
) -> Geometry:
    """Geometry from one area of a layout document; pipes of its floor get collars in place of corners."""
    inside, outside, collars = int(area["inside_corners"]), int(area["outside_corners"]), 0
    if floor is not None:
        inside, outside, collars = corners_and_collars(floor)
    head = float(area.get("head_joint_length_m", 0.0))
    return Geometry(
        float(area["net_area_m2"]),
        float(area["edge_length_m"]),
        float(area["seam_length_m"]) - head,  # the document counts head joints among the seams
        head,
        inside,
        outside,
        collars,
        roll_lengths_m,
    )


def corners_and_collars(floor: Polygon) -> tuple[int, int, int]:
    """Inside and outside corners of walls and large fixed parts, and the pipes that take a collar each."""
    small = [ring for ring in floor.interiors if max(_across(ring)) <= COLLAR_M]
    large = [ring for ring in floor.interiors if max(_across(ring)) > COLLAR_M]
    inside, outside = count_corners(Polygon(floor.exterior, large))
    return inside, outside, len(small)


def _across(ring: Any) -> tuple[float, float]:
    left, low, right, high = ring.bounds
    return right - left, high - low
