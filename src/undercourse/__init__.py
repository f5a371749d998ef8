"""Answers what may go between a subfloor and tile, and on which conditions."""

__version__ = "0.1.0"
