"""Columns that a candidate assembly adds to the facts of an area."""

from __future__ import annotations

from undercourse.assembly.heat_resistance import HEAT_COLUMNS
from undercourse.base.domains import Domain, choice_domain, flag_domain, number_domain
from undercourse.line.records import FUNCTIONS, MEMBRANE_KINDS

HAS = {
    "has_primer": "primer",
    "has_mortar_below": "mortar below",
    "has_leveler": "leveler",
    "has_moisture_coat": "moisture coat",
    "has_seam_tape": "seam tape",
    "has_corners": "corners and collars",
    "has_heating_cable": "heating cable",
    "has_sealant": "sealant",
    "has_tile_board": "tile board",
    "has_mortar_bed": "mortar bed",
    "has_drain": "drain",
}
PROVIDES = {f"provides_{name.replace(' ', '_')}": name for name in FUNCTIONS}
WANTS = {f"wants_{name.replace(' ', '_')}": f"provides_{name.replace(' ', '_')}" for name in FUNCTIONS}
# Membrane properties that rules may read; unknown where a maker does not state them.
PROPERTIES = {
    "membrane_thickness": ("mm", 0.0, 40.0),
    "membrane_permeance": ("perm", 0.0, 200.0),
    "membrane_delta_iic": ("dB", 0.0, 40.0),
    "membrane_delta_lw": ("dB", 0.0, 40.0),
    "membrane_dynamic_stiffness": ("MN/m3", 0.5, 1e6),
    "membrane_shear_stiffness": ("N/mm3", 1e-6, 1e4),
    "membrane_shear_yield": ("MPa", 1e-6, 5.0),
    "membrane_compressive_strength": ("MPa", 0.0, 500.0),
    "membrane_bed_modulus": ("N/mm3", 1e-4, 1e4),
    "membrane_cavity_depth": ("mm", 0.0, 40.0),
    "membrane_open_share": ("%", 0.0, 100.0),
}
# What a membrane's own crack test was: the opening it is good for, and the tile that lay on it.
CRACK_TEST = {
    "membrane_tested_opening": ("in", 0.0, 0.125),
    "membrane_tested_tile_edge": ("in", 0.25, 48.0),
    "membrane_tested_tile_thickness": ("in", 0.07, 2.0),
}


def candidate_domains() -> dict[str, Domain]:
    """Name to domain of every candidate column."""
    domains = {
        "membrane_kind": choice_domain("membrane_kind", MEMBRANE_KINDS),
        "membrane_count": number_domain("membrane_count", "count", 0, 4),
        "membrane_crack_class": choice_domain("membrane_crack_class", ("none", "standard", "high", "other")),
        "has_leveler_above": flag_domain("has_leveler_above"),
        "layers_height": number_domain("layers_height", "in", 0, 40),
        "layers_weight": number_domain("layers_weight", "lb/ft2", 0, 200),
        "layers_cost": number_domain("layers_cost", "USD/ft2", 0, 2000),
    }
    for name in (*HAS, *PROVIDES):
        domains[name] = flag_domain(name)
    for name, (unit, low, high) in {**PROPERTIES, **CRACK_TEST, **HEAT_COLUMNS}.items():
        domains[name] = number_domain(name, unit, low, high)
    return domains
