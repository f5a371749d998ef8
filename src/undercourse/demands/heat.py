"""Heated floors: every demand of the subject."""

from __future__ import annotations

from undercourse.demands import heat_flux, heat_surface, heat_time

DEMANDS = (*heat_surface.DEMANDS, *heat_flux.DEMANDS, *heat_time.DEMANDS)
