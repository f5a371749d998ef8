"""What a report says of movement joints, heating cable and the dry fit, in words and both unit systems."""

from __future__ import annotations

from typing import Any

from undercourse.drawings.measures import length_text
from undercourse.papers.pieces import dual
from undercourse.papers.wording import sentence


def joint_words(joints: dict[str, Any]) -> dict[str, Any]:
    """The rule, whether any joint stands in the field, and what is to be known."""
    width = f"{length_text(float(joints['width_m']))} wide"
    edges = f"Soft joints stand at every wall and fixed part, {width} ({joints['width_from']})."
    longest = joints.get("longest_field_m")
    if longest is None:
        return {"said": [edges], "notes": [sentence(note) for note in joints["notes"]]}
    rule = (
        f"No field is longer than {length_text(float(longest))} either way: {joints['longest_field_from']}."
    )
    if not joints["joints"]:
        field = joints["fields"][0] if joints["fields"] else None
        size = f", {length_text(float(field['long_m']))} at its longest" if field else ""
        rule = f"No joint is needed within the floor{size}. {rule}"
    return {"said": [rule, edges], "notes": [sentence(note) for note in joints["notes"]]}


def cable_words(cable: dict[str, Any]) -> dict[str, Any]:
    """What is heated and drawn, and the cautions beside it."""
    return {
        "said": [sentence(note) for note in cable["notes"]],
        "cautions": [str(text) for text in cable["cautions"]],
    }


def dry_fit_row(row: dict[str, Any]) -> dict[str, Any]:
    """One piece in laying order."""
    return {
        "order": str(row["order"]),
        "id": row["id"],
        "size": dual(f"{length_text(row['length_m'])}"),
        "width": dual(f"{length_text(row['width_m'])}"),
        "left": dual(length_text(row["from_left_m"])),
        "lower": dual(length_text(row["from_lower_m"])),
        "roll": row["roll"],
        "cut": "to shape" if row["shaped"] else "rectangle",
    }
