"""Small pieces that all parts of a report share."""

from __future__ import annotations

from typing import Any

from undercourse.papers.wording import source_text


def items(value: Any) -> list[Any]:
    if value is None:
        return []
    return list(value) if isinstance(value, list | tuple) else [value]


def dual(text: str) -> dict[str, str]:
    """A quantity split where its bracket begins, so that the second system can stand lighter."""
    if text.endswith(")") and text.count(" (") == 1:
        first, second = text.split(" (")
        return {"first": first, "second": f"({second}"}
    return {"first": text, "second": ""}


def money(amount: Any, currency: str) -> str:
    """An amount with its currency; a dash where there is none."""
    if not isinstance(amount, int | float) or isinstance(amount, bool):
        return "–" if amount in (None, "") else str(amount)
    return f"{amount:,.2f} {currency}".strip()


def own_source(raw: dict[str, Any]) -> str:
    return source_text(raw["source"]) if raw.get("source") else ""
