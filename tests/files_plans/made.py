"""Plans made for tests, and what their readers say of them."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from undercourse.base.problems import Problems
from undercourse.files.plans import Plan, PlanArea, PlanOptions, choose_areas, read_plan_bytes

OPEN = Path(__file__).parents[1] / "data" / "open"
SQUARE = [(0, 0), (4, 0), (4, 3), (0, 3)]


def told(call: Callable[[], Any], *words: str) -> str:
    """The call raises Problems whose text holds each word; every one says where, what and how to mend."""
    with pytest.raises(Problems) as caught:
        call()
    text = str(caught.value)
    for word in words:
        assert word in text, text
    assert all(problem.where and problem.what and problem.fix for problem in caught.value.problems)
    assert all("\n" not in str(problem) for problem in caught.value.problems)
    return text


def drawing(unit: int = 6, release: str = "R2010") -> tuple[Any, Any]:
    """A new drawing with a unit, and its model space."""
    document = ezdxf.new(release)
    document.header["$INSUNITS"] = unit
    return document, document.modelspace()


def as_bytes(document: Any) -> bytes:
    """A drawing as the bytes of a file."""
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode(document.output_encoding)


def plan_of(document: Any, layers: tuple[str, ...] = (), unit: str = "", name: str = "a.dxf") -> Plan:
    """What the reader makes of a drawing, or of the bytes or data of another plan."""
    if isinstance(document, dict):
        document, name = json.dumps(document).encode(), "a.geojson"
    data = document if isinstance(document, bytes) else as_bytes(document)
    return read_plan_bytes(data, name, PlanOptions(layers, unit))


def areas_of(document: Any, *names: str, **options: Any) -> list[PlanArea]:
    """The areas of a plan that can be laid."""
    return choose_areas(plan_of(document, **options), names)


def collection(*rings: Any, **named: Any) -> dict[str, Any]:
    """A GeoJSON collection of polygons, each a list of rings."""
    features = [
        {"type": "Feature", "properties": {"name": name}, "geometry": {"type": "Polygon", "coordinates": one}}
        for name, one in [*((f"room {k}", ring) for k, ring in enumerate(rings, 1)), *named.items()]
    ]
    return {"type": "FeatureCollection", "features": features}
