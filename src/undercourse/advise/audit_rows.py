"""Faults of a line's products beside their limits: needs, contacts, succession, rulings, prices."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from undercourse.advise.audit_limits import FAULT, NOTE, Fault
from undercourse.assembly.selection import meets
from undercourse.base.domains import Domain
from undercourse.line.records import MEMBRANE_KINDS, ROLES, Line, Need, Pair, Practice, Product


def line_faults(line: Line, practice: Practice, surfaces: Domain, date: dt.date | None) -> Iterator[Fault]:
    """Every fault that no single limit shows.

    Parameters
    ----------
    surfaces : Domain
        The surfaces that pair rows may name.
    date : date, optional
        The day on which rulings and withdrawals are looked at.
    """
    if not line.of_role("membrane", date):
        yield Fault("line", "no membrane is on sale", 'add a product with role = "membrane"')
    yield from _need_faults(line, practice, date)
    yield from _circles(line, date)
    yield from _succession(line, date)
    yield from _rulings(line, date)
    for product in line.products.values():
        yield from pair_faults(product.pairs, product.where, line, surfaces)
        if product.on_sale(date) and not product.packs and "tile class" not in product.roles:
            yield Fault(product.where, "no pack and no price: it cannot be costed", "add [[pack]] rows", NOTE)
    yield from pair_faults(practice.pairs, "practice", line, surfaces)


def _need_faults(line: Line, practice: Practice, date: dt.date | None) -> Iterator[Fault]:
    needs: list[tuple[str, Need]] = [("practice: " + need.id, need) for need in practice.needs]
    for product in line.products.values():
        if product.on_sale(date):
            needs += [(need.where, need) for need in product.needs]
    for where, need in needs:
        fault = _unmet(where, need, line, date)
        if fault is not None:
            yield fault


def _unmet(where: str, need: Need, line: Line, date: dt.date | None) -> Fault | None:
    of_role = line.of_role(need.role, date)
    if any(meets(product, need) for product in of_role):
        return None
    if not of_role:
        what = f"needs a {need.role}, and the line has no product of that role on sale"
        return Fault(where, what, f'add a product with role = "{need.role}"')
    gone = [line.products[one] for one in need.products if one in line.products]
    withdrawn = [product.id for product in gone if not product.on_sale(date)]
    if withdrawn:
        return Fault(where, f"needs {', '.join(withdrawn)}, withdrawn", "name its successor")
    wrong = [product.id for product in gone if need.role not in product.roles]
    if wrong:
        return Fault(
            where, f"needs {', '.join(wrong)} as {need.role}, which is not its role", "mend role or id"
        )
    own = sorted({name for product in of_role for name in product.classes})
    what = f"needs a {need.role} of {need.wanted}; those on sale have {', '.join(own) or 'no class'}"
    return Fault(where, what, "add such a product, or a class that one has")


def _circles(line: Line, date: dt.date | None) -> Iterator[Fault]:
    """Products that need each other with no other choice."""
    on_sale = [product for product in line.products.values() if product.on_sale(date)]
    leads: dict[str, set[str]] = {product.id: set() for product in on_sale}
    for product in on_sale:
        for need in product.needs:
            fitting = [one.id for one in line.of_role(need.role, date) if meets(one, need)]
            if len(fitting) == 1:
                leads[product.id].add(fitting[0])
    told: set[frozenset[str]] = set()
    for start in leads:
        for circle in _circles_from(start, leads):
            if frozenset(circle) not in told:
                told.add(frozenset(circle))
                way = " needs ".join([*circle, circle[0]])
                yield Fault(
                    line.products[circle[0]].where, f"{way}, and nothing else will do", "drop one need"
                )


def _circles_from(start: str, leads: dict[str, set[str]]) -> list[list[str]]:
    """Ways that lead from a product back to itself."""
    found: list[list[str]] = []
    stack: list[list[str]] = [[start]]
    while stack:
        way = stack.pop()
        for other in sorted(leads.get(way[-1], ())):
            if other == start:
                found.append(way)
            elif other not in way:
                stack.append([*way, other])
    return found


def _succession(line: Line, date: dt.date | None) -> Iterator[Fault]:
    for product in line.products.values():
        heirs = [one for one in line.products.values() if one.supersedes == product.id]
        if product.withdrawn and not heirs:
            what = f"{product.id} is withdrawn on {product.withdrawn.isoformat()} and nothing supersedes it"
            yield Fault(
                product.where,
                what,
                f'write supersedes = "{product.id}" in its successor, if it has one',
                NOTE,
            )
        if heirs and product.withdrawn is None:
            names = ", ".join(one.id for one in heirs)
            yield Fault(
                product.where,
                f"{product.id} is superseded by {names} and still on sale",
                "date its withdrawal",
            )
        if product.withdrawn and product.last_buy and product.last_buy > product.withdrawn:
            days = (product.last_buy.isoformat(), product.withdrawn.isoformat())
            what = f"last buy {days[0]} is after the withdrawal {days[1]}"
            yield Fault(product.where, what, "mend one of the dates")
        if _succeeds_itself(product, line):
            yield Fault(product.where, f"{product.id} comes back to itself by supersedes", "mend the chain")


def _succeeds_itself(product: Product, line: Line) -> bool:
    seen: set[str] = set()
    earlier = product.supersedes
    while earlier and earlier in line.products and earlier not in seen:
        if earlier == product.id:
            return True
        seen.add(earlier)
        earlier = line.products[earlier].supersedes
    return False


def _rulings(line: Line, date: dt.date | None) -> Iterator[Fault]:
    for product in line.products.values():
        for limit in product.limits:
            ruling = limit.ruling
            if ruling is None:
                continue
            place = f"{product.where}: ruling {ruling.id}"
            if ruling.expires is None:
                yield Fault(place, "the ruling never expires", "write expires", NOTE)
            elif date is not None and ruling.expires < date:
                what = f"the ruling of {ruling.who} expired on {ruling.expires.isoformat()}"
                yield Fault(place, what, "renew it or drop it", FAULT)
            if date is not None and ruling.date > date:
                yield Fault(place, f"the ruling starts on {ruling.date.isoformat()}", "check the date", NOTE)


def pair_faults(rows: Sequence[Pair], where: str, line: Line, surfaces: Domain) -> Iterator[Fault]:
    """Contact rows that name nothing, or that an earlier row hides."""
    kinds = {*MEMBRANE_KINDS, *(product.kind for product in line.products.values())}
    seen: dict[tuple[str, str], Pair] = {}
    for row in rows:
        place = f"{where}: pair {row.upper} on {row.lower}"
        for side, name in (("upper", row.upper), ("lower", row.lower)):
            problem = _names_nothing(name, side, kinds, line.products, surfaces)
            if problem:
                yield Fault(place, f'{side} = "{name}": {problem}; the row never applies', "mend the name")
        first = seen.setdefault((row.upper, row.lower), row)
        if first is not row:
            other = "" if first.may == row.may else f', which says "{first.may}"'
            what = f'a row for the same contact stands above{other}; this one, "{row.may}", never applies'
            yield Fault(place, what, "delete one", NOTE if first.may == row.may else FAULT)


def _names_nothing(
    name: str, side: str, kinds: Iterable[str], products: Iterable[str], surfaces: Domain
) -> str:
    head, sign, rest = name.partition(":")
    if not sign:
        return "" if name == "tile" or name in products else "no product of the line"
    if head == "role":
        return "" if rest in ROLES else "no role"
    if head == "kind":
        return "" if rest in kinds else "no kind of membrane or product"
    if head == "surface":
        if side == "upper":
            return "a surface lies below everything"
        return "" if rest in surfaces.choices else "no surface"
    return "write a product id, role:…, kind:… or surface:…"
