"""The command line."""

from undercourse.cli.app import main

__all__ = ["main"]
