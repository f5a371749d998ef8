"""The question that a calculation sheet answers, in words of the floor."""

from __future__ import annotations

from types import MappingProxyType

QUESTIONS = MappingProxyType(
    {
        "joist_live_deflection": "How far does a joist bend under live load, as a part of its span?",
        "joist_live_deflection_m": "How far does a joist bend under live load?",
        "joist_total_deflection": "How far does a joist bend under its whole load, as a part of its span?",
        "joist_total_deflection_m": "How far does a joist bend under live and dead load?",
        "joist_concentrated_deflection": "How far does a joist bend where one load stands on it?",
        "joist_point_deflection": "How far does a joist bend under what stands on it for good?",
        "deflection_after_tiling": "How far may the joists sink once the tile is on them?",
        "joist_bending": "How much of its bending strength does a joist need?",
        "joist_shear": "How much of its shear strength does a joist need?",
        "joist_notch": "Does the notch keep to what may be cut without a design?",
        "joist_notched_shear": "How much of its shear strength does a joist need beside the notch?",
        "joist_allowable_span": "How far may these joists span?",
        "joist_allowable_spacing": "How far apart may these joists stand?",
        "panel_uniform_deflection": "How far does the panel bend between joists under live load?",
        "panel_concentrated_deflection": "How far does the panel bend between joists where one load stands?",
        "added_dead_load": "What does the new work weigh?",
        "assembly_height": "How high does the new work stand?",
        "floor_load_class": "Which floor-load class does the use of this floor ask for?",
        "crack_tile_stress": "How hard does an opening crack pull at the tile through the membrane?",
        "crack_tile_stress_bonded": "How hard would the crack pull at tile bonded without the membrane?",
        "crack_tile_share": "How much of its strength does the tile need over the crack?",
        "crack_layer_shear": "How hard is the membrane sheared beside the crack?",
        "crack_layer_shear_bonded": "How hard would the mortar be sheared without the membrane?",
        "joint_tile_stress": "How hard does a joint of the slab pull at tile laid across it?",
        "joint_tile_stress_bonded": "How hard would the joint pull at tile bonded without the membrane?",
        "transfer_length": "Over what length does the membrane pass movement into the tile?",
        "transfer_length_bonded": "Over what length would mortar alone pass movement into the tile?",
        "shrinkage_tile_stress": "How hard does the shrinking slab press the tile together?",
        "shrinkage_tile_stress_bonded": "How hard would it press tile bonded without the membrane?",
        "shrinkage_edge_shear": "How hard is the membrane sheared at the edge of the field?",
        "shrinkage_edge_shear_bonded": "How hard would the mortar be sheared there without the membrane?",
        "wheel_contact_pressure": "How hard does a wheel press on the tile?",
        "wheel_tile_share": "How much of its strength does a tile need where a wheel crosses a soft joint?",
        "wheel_tile_share_inside": "How much of its strength does a tile need under a wheel away from edges?",
        "wheel_membrane_pressure": "How hard does a wheel press on the membrane?",
        "foot_tile_share": "How much of its strength does a tile need under a foot at a soft joint?",
        "foot_membrane_pressure": "How hard does a foot press on the membrane?",
        "dish_emission": "How much vapor does the slab give off to a dish?",
        "dew_point": "At what temperature does the air of the room begin to wet a surface?",
        "condensation_margin": "How far is the surface of the base above the dew point?",
        "vapor_pressure_difference": "Which way does vapor press, and how hard?",
        "vapor_flux": "How much vapor comes up through membrane and mortar?",
        "wait_to_humidity": "How long until the slab may read 85 % relative humidity?",
        "wait_to_emission": "How long until the slab may read 3 lb per 1000 sq ft in 24 h?",
        "gypsum_wait": "How long until a dryness test of the poured gypsum is worth while?",
        "anhydrite_wait": "How long must the calcium sulfate screed still dry?",
        "bed_evaporation": "How fast does the spread mortar dry out here?",
        "open_time_index": "How does the open time here compare with the class test?",
        "mortar_day": "How many hours here ripen the mortar as much as a day at 68 °F?",
        "mortar_bed": "How thick a bed does the notch leave on average?",
        "coverage_gap": "How close to the base must the tile be beaten in?",
        "mortar_contact": "How much of the tile's back can the notch reach?",
        "cavity_fill": "How much mortar do the cells of the sheet take?",
        "bag_area": "How far does a 50 lb bag go?",
        "slab_remaining_shrinkage": "How much will the slab still shrink after tiling?",
        "slab_remaining_shrinkage_mc90": "How much will it still shrink by the second model?",
        "slab_remaining_shrinkage_gl2000": "How much will it still shrink by the third model?",
        "slab_remaining_shrinkage_by_size": "How much will it still shrink, if time counts by size?",
        "slab_age_for_remainder": "At what age has the slab no more than 200 µm/m of shrinkage to come?",
        "base_joint_opening": "How far may a joint of the slab open after tiling?",
        "crack_opening_to_come": "How far may a crack in the slab open after tiling?",
        "slab_curl_lift": "How far might the slab's free ends still lift, were it weightless?",
        "slab_thermal_movement": "How far does the slab move between its joints over a year?",
        "slab_modulus": "How stiff is the concrete?",
        "movement_joint_least_width": "How wide must a movement joint in the tile be?",
        "base_joint_cover_width": "How wide must the soft joint over a joint of the base be?",
        "movement_joint_width_share": "Is the planned movement joint wide enough?",
        "base_joint_cover_share": "Is the planned soft joint over the base's joint wide enough?",
    }
)


def question_of(demand: str, title: str) -> str:
    """The question that a demand answers; from its title where none is worded for it."""
    if title.startswith(("How ", "What ", "Which ")):
        return QUESTIONS.get(demand, f"{title}?")
    return QUESTIONS.get(demand, f"How great is it here: {title[:1].lower()}{title[1:]}?")
