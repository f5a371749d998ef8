"""Writing files whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from undercourse.base.problems import Problem, Problems


def write_whole(path: Path, data: bytes) -> None:
    """Write a file by way of a neighbor, so that a fault leaves the old one as it was."""
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            # To rename over a device or a pipe would put an ordinary file in its place.
            what = "this is a device or a pipe"
            raise Problems([Problem(str(path), what, "name an ordinary file")])
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            os.chmod(name, 0o644)
            os.replace(name, path)
        except BaseException:
            os.unlink(name)
            raise
    except OSError as error:
        reason = (error.strerror or "cannot be written").lower()
        raise Problems([Problem(str(path), reason, "choose another place or mend the permissions")]) from None
