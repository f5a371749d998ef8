"""Reading plans: files with outlines of areas, whatever their kind."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from shapely import Polygon

from undercourse.base.problems import Problem, Problems

MOST_BYTES = 50_000_000
"""Larger plans are refused before they are read. [byte]"""

KINDS = (".dxf", ".geojson", ".json")


class PlanArea(NamedTuple):
    """One area of a plan: name, outline in metres with obstacles cut out, and what to know about it."""

    name: str
    polygon: Polygon
    notes: tuple[str, ...] = ()


def read_plan(path: Path, *, layer: str | None = None, unit: str | None = None) -> list[PlanArea]:
    """Read the areas of a plan file.

    Parameters
    ----------
    path : Path
        A ``.dxf``, ``.geojson`` or ``.json`` file of at most `MOST_BYTES`.
    layer : str, optional
        Layer of the outlines in a drawing; by default the one with most named outlines.
    unit : str, optional
        Unit of a drawing whose header tells none: mm, cm, m, in, ft.

    Raises
    ------
    Problems
        When the file cannot be read, or holds no outline that can be laid in.
    """
    where = str(path)
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise Problems([_too_large(where, size)])
        data = path.read_bytes()
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Problems(
            [Problem(where, f"cannot be read ({reason})", "check the path and its rights")]
        ) from None
    return read_plan_bytes(data, path.name, where=where, layer=layer, unit=unit)


def read_plan_bytes(
    data: bytes, file_name: str, *, where: str = "", layer: str | None = None, unit: str | None = None
) -> list[PlanArea]:
    """Read the areas of a plan from its bytes; the file name's ending tells its kind."""
    where = where or file_name
    kind = Path(file_name).suffix.lower()
    if kind not in KINDS:
        what = f'a file that ends in "{kind}" is no plan that can be read'
        raise Problems(
            [Problem(where, what, "save the outlines as .dxf or .geojson, in metres or with a unit")]
        )
    if len(data) > MOST_BYTES:
        raise Problems([_too_large(where, len(data))])
    if not data.strip():
        raise Problems([Problem(where, "the file is empty", "save the plan again")])
    if kind == ".dxf":
        from undercourse.files.plan_dxf import read_dxf

        return [PlanArea(*area) for area in read_dxf(data, where, layer=layer, unit=unit)]
    from undercourse.files.plan_geojson import read_geojson

    return [PlanArea(*area) for area in read_geojson(data, where)]


def _too_large(where: str, size: int) -> Problem:
    what = f"{size / 1e6:.0f} MB is too large for a plan; at most {MOST_BYTES / 1e6:.0f} MB are read"
    return Problem(where, what, "save only the layer with the outlines in a file of its own")
