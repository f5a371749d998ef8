"""Formulas of the project held against outside tools; run by `make verify`."""
