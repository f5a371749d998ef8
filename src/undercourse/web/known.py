"""How a fact is known, as one line that people write: ``measured by installer, ASTM F2170, 2026-11-10``."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from undercourse.facts.jobs import HOLDS_FOR

WAYS = ("told", "seen", "measured", "calculated", "drawings", "assumed")
_DATE = re.compile(r"^(?:on )?(\d{4}-\d{2}-\d{2})$")
_WAY = re.compile(rf"^({'|'.join(WAYS)})\b\s*(.*)$", re.I)
_KEYS = ("how", "method", "by", "on", "for")


def read_known(text: str) -> dict[str, str]:
    """The parts of a line that says how a fact is known; what is no way, person or date is the method."""
    found: dict[str, str] = {}
    methods: list[str] = []
    for part in (piece.strip() for piece in text.split(",")):
        if not part:
            continue
        if "how" not in found and (match := _WAY.match(part)):
            found["how"], part = match.group(1).lower(), match.group(2).strip()
            if not part:
                continue
        if match := _DATE.match(part):
            found["on"] = match.group(1)
        elif part.lower().startswith("by ") and "by" not in found:
            found["by"] = part[3:].strip()
        elif part.lower().startswith("holds ") and part[6:].strip().lower() in HOLDS_FOR:
            found["for"] = part[6:].strip().lower()
        else:
            methods.append(part)
    if methods:
        found["method"] = ", ".join(methods)
    return found


def show_known(raw: Any) -> str:
    """The line for a fact as it stands in a job; empty where nothing is said."""
    if not isinstance(raw, Mapping) or "value" not in raw:
        return ""
    said = {key: str(raw.get(key) or "").strip() for key in _KEYS}
    first = " ".join(part for part in (said["how"], f"by {said['by']}" if said["by"] else "") if part)
    last = f"holds {said['for']}" if said["for"] else ""
    return ", ".join(part for part in (first, said["method"], said["on"], last) if part)
