"""Reading plans: files with outlines of areas, whatever their kind."""

from __future__ import annotations

from pathlib import Path

from undercourse.base.problems import Problem, Problems
from undercourse.files.plan_parts import Plan, PlanArea, PlanOptions, choose_areas, unit_in_meters

__all__ = [
    "INSTEAD",
    "KINDS",
    "MOST_BYTES",
    "Plan",
    "PlanArea",
    "PlanOptions",
    "choose_areas",
    "read_plan",
    "read_plan_bytes",
]

MOST_BYTES = 50_000_000
"""Larger plans are refused before they are read. [byte]"""

KINDS = (".dxf", ".ifc", ".geojson", ".json", ".toml", ".csv")

INSTEAD = {  # other kinds of plans, and what to do with them
    ".dwg": "save the drawing as DXF",
    ".ifczip": "unpack it and name the .ifc file in it",
    ".ifcxml": "save the model as .ifc (STEP)",
    ".zip": "unpack it and name the plan in it",
    ".xlsx": "save the sheet with the corners as CSV",
    ".shp": "save the outlines as GeoJSON in a metric grid",
}
_PACKED = {
    b"PK\x03\x04": "a ZIP archive",
    b"\x1f\x8b": "a packed file",
    b"7z\xbc\xaf": "a packed file",
    b"<?xml": "XML",
}


def read_plan(path: Path, options: PlanOptions | None = None) -> Plan:
    """Read a plan file; `choose_areas` gives out what can be laid.

    Parameters
    ----------
    path : Path
        A file of one of the `KINDS`, of at most `MOST_BYTES`.
    options : PlanOptions, optional
        Layers of the outlines in a drawing, and the unit where the file does not say it, or wrongly.

    Raises
    ------
    Problems
        When the file cannot be read, does not say its unit, or holds no outline.
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
    return read_plan_bytes(data, path.name, options, where=where)


def read_plan_bytes(
    data: bytes, file_name: str, options: PlanOptions | None = None, *, where: str = ""
) -> Plan:
    """Read a plan from its bytes; the file name's ending tells its kind."""
    options = options or PlanOptions()
    where = where or file_name
    kind = Path(file_name).suffix.lower()
    if options.unit:
        unit_in_meters(options.unit)
    if kind not in KINDS:
        what = f'a file that ends in "{kind}" is no plan that can be read'
        fix = INSTEAD.get(kind, f"save the outlines as one of {', '.join(KINDS)}")
        raise Problems([Problem(where, what, fix)])
    if len(data) > MOST_BYTES:
        raise Problems([_too_large(where, len(data))])
    if not data.strip():
        raise Problems([Problem(where, "the file is empty", "save the plan again")])
    for head, what in _PACKED.items():
        if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(head):
            # What is packed may unpack to anything; nothing here unpacks.
            raise Problems(
                [Problem(where, f"the file is {what} inside", f"save the plan as a plain {kind} file")]
            )
    if kind == ".dxf":
        from undercourse.files.plan_dxf import read_dxf

        return read_dxf(data, where, options)
    if kind == ".ifc":
        from undercourse.files.plan_ifc import read_ifc

        return read_ifc(data, where, options)
    if kind == ".csv":
        from undercourse.files.plan_csv import read_corners

        return read_corners(data, where, options)
    from undercourse.files.plan_outlines import is_outlines, parse_plan, read_outlines

    document = parse_plan(data, where, kind)
    if is_outlines(document):
        return read_outlines(document, where, options)
    from undercourse.files.plan_geojson import read_geojson

    return read_geojson(document, where, options)


def _too_large(where: str, size: int) -> Problem:
    what = f"{size / 1e6:.0f} MB is too large for a plan; at most {MOST_BYTES / 1e6:.0f} MB are read"
    return Problem(where, what, "save only the layer with the outlines in a file of its own")
