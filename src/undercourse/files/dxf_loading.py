"""Opening a DXF drawing, mended where it is damaged."""

from __future__ import annotations

import io
import logging
import tempfile
from pathlib import Path
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.files.dxf_bulk import Bulk, take_bulk
from undercourse.files.dxf_parts import MOST_PARTS, Drawing, Gathering, too_many

HEADER_UNITS_M = {
    1: 0.0254, 2: 0.3048, 4: 0.001, 5: 0.01, 6: 1.0, 10: 0.9144, 14: 0.1, 15: 10.0,
    21: 1200 / 3937, 22: 100 / 3937, 23: 3600 / 3937,
}  # fmt: skip
"""Unit codes of the header variable $INSUNITS; a survey foot is 1200/3937 m. [m]"""

CHORD_M = 0.001
"""Curves are followed within this. [m]"""

# The library's remarks on damaged files are for its own users; faults are told as problems and notes.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())

UTF8_SINCE = "AC1021"
"""From this release (2007) on, files are in UTF-8; older ones say their code page."""


def load_drawing(data: bytes, where: str, unit_m: float | None = None) -> Drawing:
    """Read a drawing.

    Parameters
    ----------
    unit_m : float, optional
        The drawing's unit, where a person told it; else that of the header counts. [m]

    Raises
    ------
    Problems
        When the bytes are no drawing, are damaged beyond repair, or hold too much.
    """
    binary = data[18:22] == b"\r\n\x1a\x00"
    if not binary and (b"\x00" in data[:2000] or b"SECTION" not in data[:100_000]):
        fix = "save the plan as DXF, release 12 or newer"
        raise Problems([Problem(where, "is no DXF drawing", fix)])
    bulk, rest = (Bulk(), data) if binary else take_bulk(data, MOST_PARTS)
    if bulk.too_many:
        raise Problems([too_many(where)])
    document, notes = _open(rest, where, binary)
    drawing = Drawing(notes=notes, unit_code=_unit_code(document))
    if not binary and b"EOF" not in data[-200:]:
        drawing.notes.append("the file ends early; areas may be missing")
    factor = unit_m or HEADER_UNITS_M.get(drawing.unit_code)
    gathering = Gathering(drawing, document, where, CHORD_M / factor if factor else None)
    encoding = "utf-8" if document.dxfversion >= UTF8_SINCE else str(document.encoding)
    gathering.take_bulk(bulk, encoding)
    gathering.take_space(document.modelspace())
    drawing.unread.update(bulk.skipped)
    return drawing


def _unit_code(document: Any) -> int:
    try:
        return int(document.header.get("$INSUNITS", 0) or 0)
    except (TypeError, ValueError):
        return 0


def _open(data: bytes, where: str, binary: bool) -> tuple[Any, list[str]]:
    """Open a drawing, mended where it is damaged."""
    import ezdxf
    from ezdxf import recover

    try:
        if binary:
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / "plan.dxf"
                path.write_bytes(data)
                return ezdxf.readfile(path), []  # type: ignore[attr-defined]
        try:
            return ezdxf.read(io.StringIO(_text(data))), []  # type: ignore[attr-defined]
        except Exception:  # the strict reader is twice as quick and gives up on any fault
            document, auditor = recover.read(io.BytesIO(data))
    except Exception as error:  # a damaged drawing fails in many ways inside the reader
        reason = str(error).split("\n")[0][:120] or type(error).__name__
        what = f"the drawing is damaged beyond repair ({reason})"
        raise Problems([Problem(where, what, "save the plan again as DXF")]) from None
    faults = len(auditor.fixes) + len(auditor.errors)
    return document, [f"the drawing was damaged; {faults} faults were mended"] if faults else []


def _text(data: bytes) -> str:
    """The drawing as text, in the encoding that its header tells."""
    from ezdxf.lldxf.validator import dxf_info

    info = dxf_info(io.StringIO(data[:200_000].decode("latin-1")))
    encoding = "utf-8" if info.version >= UTF8_SINCE else info.encoding
    return data.decode(encoding, errors="surrogateescape").replace("\r\n", "\n")
