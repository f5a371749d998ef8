"""Material and laying cost per area of one product in one role."""

from __future__ import annotations

from undercourse.line.records import Coverage, Pack, Product

PLACES = {
    "mortar below": "below membrane",
    "mortar above": "above membrane",
}


def regional_packs(product: Product, region: str = "") -> list[Pack]:
    """Stocked packs sold in a region; of the first region listed where none is named or served."""
    packs = [pack for pack in product.packs if pack.stocked] or list(product.packs)
    served = [pack for pack in packs if region and pack.region == region]
    return served or [pack for pack in packs if pack.region == packs[0].region]


def best_pack(product: Product, region: str = "") -> Pack | None:
    """The stocked pack with the lowest price per unit of what it holds."""
    packs = regional_packs(product, region)

    def unit_price(pack: Pack) -> float:
        if pack.width_m and pack.length_m:
            return pack.price / (pack.width_m * pack.length_m)
        return pack.price / pack.amount if pack.amount else pack.price

    return min(packs, key=unit_price) if packs else None


def coverage_for(product: Product, role: str) -> Coverage | None:
    """The coverage stated for a role's place, else the first that is stated for no other role."""
    wanted = PLACES.get(role, role)
    for coverage in product.coverages:
        if coverage.place == wanted:
            return coverage
    others = set(PLACES.values()) - {wanted}
    return next((c for c in product.coverages if c.place not in others), None)


def material_cost_m2(product: Product, role: str, roll_width_m: float | None = None) -> float | None:
    """Cost per square metre in the pack's currency; None where it cannot be told per area."""
    pack = best_pack(product)
    if pack is None:
        return None
    if pack.width_m and pack.length_m and "membrane" in product.roles:
        return pack.price / (pack.width_m * pack.length_m)
    coverage = coverage_for(product, role)
    if coverage is None or coverage.unit == "piece" or coverage.per_pack <= 0:
        return None
    if coverage.unit == "m2":
        return pack.price / coverage.per_pack
    # Seam goods by length: one seam a roll width.
    return pack.price / coverage.per_pack / roll_width_m if roll_width_m else None


def laying_hours_m2(product: Product) -> float:
    """Working hours per square metre from the stated install rate; 0 where none is stated."""
    rate = product.number("install_rate")
    return 1.0 / (rate * 3600.0) if rate else 0.0
