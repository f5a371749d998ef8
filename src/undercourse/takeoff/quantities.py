"""What to buy for one area: need with its allowance, packs to buy, weight, cost, hours."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from undercourse.assembly.costs import best_pack, coverage_for, laying_hours_m2, regional_packs
from undercourse.line.records import Pack, Product
from undercourse.physics.mortar import cavity_fill
from undercourse.takeoff.counting import ALLOWANCE, HEATED_SHARE, Count, Geometry, count_for, inches_text


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
            lines += _laid_kits(product, geometry.cable, geometry, region)
            continue
        if role == "heating cable" and any(_kit_area(pack) for pack in product.packs):
            lines += _kits(product, geometry, region)
            continue
        if role == "sealant" and geometry.joints is not None:
            lines.append(_sealant(product, geometry.joints, geometry, region))
            continue
        lines.append(_line(role, product, geometry, region))
    costs = [line["cost"] for line in lines if line["cost"] is not None]
    currencies = sorted({line["currency"] for line in lines if line["currency"]})
    hours = sum(laying_hours_m2(product) * geometry.net_area_m2 for _, product in goods)
    unpriced = [line["product"] for line in lines if line["cost"] is None]
    return {
        "area": area,
        "net_area_m2": round(geometry.net_area_m2, 3),
        "sizes": {name: round(size, 6) for name, size in geometry.sizes().items()},
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
        count_of = Count({}, "m2", "rolls as laid out", fixed=area * count)
        lines.append(_row("membrane", product, count_of, geometry, count, pack, area, weight, ""))
    return lines


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
        area = _kit_area(pack)
        count_of = Count({}, "m2", what, fixed=area * count)
        lines.append(_row("heating cable", product, count_of, geometry, count, pack, area, None, note))
    none = Count({}, "m2", what, fixed=heated)
    return lines or [
        _row("heating cable", product, none, geometry, None, None, None, None, "no kit is small enough")
    ]


def _laid_kits(
    product: Product, cable: Mapping[str, Any], geometry: Geometry, region: str
) -> list[dict[str, Any]]:
    """The kits of a cable plan, each counted; none is laid by area, so none is counted by it."""
    circuits = cable["circuits"]
    lines = []
    packs = {pack.item_number: pack for pack in regional_packs(product, region)}
    for item in sorted({circuit["item_number"] for circuit in circuits}):
        own = [circuit for circuit in circuits if circuit["item_number"] == item]
        heated = sum(circuit["heated_m2"] for circuit in own)
        count = Count({}, "m2", "heated area on the cable plan", fixed=heated)
        lines.append(_row("heating cable", product, count, geometry, len(own), packs[item], None, None, ""))
    none = "; ".join(cable["notes"]) or "no kit fits"
    nothing = Count({}, "m2", "heated area")
    return lines or [_row("heating cable", product, nothing, geometry, None, None, None, None, none)]


def _sealant(product: Product, joints: Mapping[str, Any], geometry: Geometry, region: str) -> dict[str, Any]:
    """Sealant by joint width and depth over field joints, doorways and edges."""
    wide, deep = joints["width_m"], joints["sealant_depth_m"]
    what = f"soft joints {inches_text(wide)} wide, {inches_text(deep)} deep"
    count = Count({"soft_joint_length_m": wide * deep * 1000}, "l", what, ALLOWANCE)
    pack, coverage = best_pack(product, region), coverage_for(product, "sealant")
    held = pack.amount * 1000 if pack is not None and pack.amount_unit == "volume" and pack.amount else None
    note = "" if held else "coverage not stated: ask the maker"
    if held is None and coverage is not None and coverage.unit == "m" and coverage.per_pack > 0:
        count = Count({"soft_joint_length_m": 1.0}, "m", what, ALLOWANCE)
        held, note = coverage.per_pack, "the stated coverage holds for one joint size; check it"
    return _packed("sealant", product, count, geometry, pack, held, note)


def _also(goods: Sequence[tuple[str, Product]], geometry: Geometry) -> list[dict[str, Any]]:
    """What the work takes that no product of the assembly is."""
    joints = geometry.joints
    if joints is None or not joints["rod_m"]:
        return []
    rod = inches_text(joints["rod_diameter_m"])
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
                "note": f"soft joints {inches_text(joints['width_m'])} wide, "
                f"{inches_text(joints['sealant_depth_m'])} deep",
            }
        )
    return found


def _line(role: str, product: Product, geometry: Geometry, region: str) -> dict[str, Any]:
    count = count_for(role, product, geometry)
    coverage = coverage_for(product, role)
    pack = best_pack(product, region)
    held: float | None = None
    if coverage is not None and coverage.unit == count.unit and coverage.per_pack > 0:
        held = coverage.per_pack
    elif pack is not None and count.unit == "kg" and pack.amount and pack.amount_unit == "mass":
        held = pack.amount
    elif pack is not None and count.unit == "piece":
        sold = pack.amount_unit in ("piece", "pieces", "set", "corners") and pack.amount
        held = pack.amount if sold else 1.0
    if role == "patch":
        return _packed(role, product, count, geometry, pack, None, "measure on site")
    note = "" if pack is not None and held else "coverage not stated: ask the maker"
    return _packed(role, product, count, geometry, pack, held, note)


def _packed(
    role: str,
    product: Product,
    count: Count,
    geometry: Geometry,
    pack: Pack | None,
    held: float | None,
    note: str,
) -> dict[str, Any]:
    """A line whose packs follow from what one holds."""
    packs = None
    if pack is not None and held:
        need = count.measured(geometry) * (1 + count.allowance)
        packs = math.ceil(need / held - 1e-9)
    weight = pack.amount * packs if pack and packs and pack.amount and pack.amount_unit == "mass" else None
    return _row(role, product, count, geometry, packs, pack, held, weight, note)


def _row(
    role: str,
    product: Product,
    count: Count,
    geometry: Geometry,
    packs: int | None,
    pack: Pack | None,
    held: float | None,
    weight: float | None,
    note: str,
) -> dict[str, Any]:
    measured = count.measured(geometry)
    return {
        "role": role,
        "product": product.id,
        "name": product.name,
        "item_number": pack.item_number if pack else product.item_number,
        "what": count.what,
        "counted": {name: round(factor, 9) for name, factor in count.counted.items()},
        "measured": round(measured, 6),
        "allowance": count.allowance,
        "need": round(measured * (1 + count.allowance), 3),
        "unit": count.unit,
        "per_pack": round(held, 6) if held else None,
        "packs": packs,
        "pack": pack.text if pack else "",
        "price": pack.price if pack else None,
        "currency": pack.currency if pack else "",
        "price_date": pack.price_date.isoformat() if pack else "",
        "cost": round(packs * pack.price, 2) if pack and packs is not None else None,
        "weight_kg": round(weight, 2) if weight is not None else None,
        "note": note,
    }
