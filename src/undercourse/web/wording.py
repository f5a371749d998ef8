"""The words of the page: titles of the sheet's groups, names of facts, shares, verdicts."""

from __future__ import annotations

import math
import re
from typing import Any

GROUP_TITLES = {
    "place": "The place",
    "service": "Use and loads",
    "framing": "What carries the floor",
    "panels": "Panels",
    "slab": "Slab",
    "layers": "What lies there now",
    "surface": "State of the surface",
    "moisture": "Moisture",
    "cracks": "Cracks and joints",
    "water": "Water, falls and edges",
    "finish": "The tile",
    "heat": "Heating",
    "sound": "Sound",
    "wanted": "What the floor must do",
    "site_day": "Day of tiling",
    "limits": "Height, time and people",
    "symptoms": "Trouble seen",
}
SITE_WORDS = {"ready": "Ready", "open": "Open: still to be looked at", "stop": "Stop"}
VERDICT_WORDS = {
    "suitable": "Suitable",
    "suitable_if": "Suitable, provided …",
    "needs_facts": "Need facts",
    "needs_ruling": "Not stated by the maker",
    "not_suitable": "Not suitable",
}
# Units to type, beside a number's box.
UNIT_HINTS = {
    "in": "in, ft or mm",
    "ft": "ft or m",
    "lb": "lb or kg",
    "psf": "psf or kPa",
    "psi": "psi or MPa",
    "%": "%",
    "deltaF": "deltaF or K",
    "F": "F or C",
    "day": "day, week, year",
    "W/ft2": "W/ft2 or W/m2",
    "lb/1000ft2/24h": "lb/1000ft2/24h",
    "USD/ft2": "USD/ft2 or USD/m2",
    "L/": "L/n",
    "dB": "dB",
    "count": "a number",
    "CSP": "CSP number",
    "ratio": "a number",
}


def plain(name: str) -> str:
    """A machine's name as words, units parted from their numbers."""
    return re.sub(r"(\d)(ft|in|h)\b", r"\1 \2", name.replace("_", " "))


def title(name: str) -> str:
    """A machine's name as words, capital first."""
    words = plain(name)
    return words[:1].upper() + words[1:]


def share_words(share: float | None) -> str:
    """A share used in whole percent, rounded up beyond the limit; a dash where there is none."""
    if share is None or not math.isfinite(share):
        return "–"
    if share >= 10:
        return "over 10 times"
    return f"{math.ceil(share * 100 - 1e-9) if share > 1 else round(share * 100)} %"


def limit_words(label: str | None, findings: list[dict[str, Any]]) -> str:
    """What decides, as words: the demand behind a limit's label."""
    if not label:
        return ""
    for finding in findings:
        if finding["limit"] == label:
            demand = str(finding["demand"])
            return title(demand) if demand else title(label)
    return title(label.rpartition("/")[2])
