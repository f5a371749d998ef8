"""Several layouts of one job, each of another sheet, as one document."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

_SUMS = ("rolls", "roll_bound", "consumed_area_m2", "net_area_m2", "objective")


def join_layouts(layouts: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """One layout document of all; each sheet's pieces and strips carry a letter, its rolls count on.

    Parameters
    ----------
    layouts : sequence of mapping
        Documents as ``layout --json`` gives them, at least one.
    """
    if len(layouts) == 1:
        return dict(layouts[0])
    joined: dict[str, Any] = {
        "areas": [],
        "pieces": [],
        "roll_plan": [],
        "offcuts": [],
        "uncovered": [],
        "layouts": list(layouts),
    }
    rolls = 0
    for place, layout in enumerate(layouts):
        letter = chr(ord("A") + place)
        for area in layout["areas"]:
            strips = [
                {
                    **strip,
                    "id": letter + strip["id"],
                    "pieces": [letter + one for one in strip.get("pieces", ())],
                }
                for strip in area["strips"]
            ]
            joined["areas"].append({**area, "strips": strips})
        for piece in layout["pieces"]:
            names = {"id": letter + piece["id"], "strip": letter + piece["strip"]}
            joined["pieces"].append({**piece, **names, "roll": piece["roll"] + rolls})
        joined["roll_plan"] += [
            {**roll, "roll": roll["roll"] + rolls} for roll in layout.get("roll_plan", ())
        ]
        joined["offcuts"] += [{**one, "roll": one["roll"] + rolls} for one in layout.get("offcuts", ())]
        joined["uncovered"] += layout.get("uncovered", [])
        rolls += layout["rolls"]
    for name in _SUMS:
        joined[name] = sum(layout[name] for layout in layouts)
    keys = layouts[0]["bounds"]
    joined["bounds"] = {key: sum(layout["bounds"][key] for layout in layouts) for key in keys}
    terms = {key for layout in layouts for key in layout.get("objective_terms", {})}
    joined["objective_terms"] = {
        key: sum(layout.get("objective_terms", {}).get(key, 0.0) for layout in layouts)
        for key in sorted(terms)
    }
    used = joined["consumed_area_m2"]
    joined["waste"] = 1 - joined["net_area_m2"] / used if used else 0.0
    return joined
