"""Small made-up answers in the shapes of the contracts; maker, products and numbers are invented."""

from __future__ import annotations

from typing import Any

LAYERS: list[dict[str, Any]] = [
    {"role": "tile", "product": "Porcelain tile 12 x 24 in", "thickness_m": 0.0095},
    {"role": "mortar above", "product": "Quarrybeck Bedding Mortar M", "thickness_m": 0.0048},
    {"role": "membrane", "product": "Quarrybeck Parting 3", "thickness_m": 0.003},
    {"role": "mortar below", "product": "Quarrybeck Keyfast", "thickness_m": 0.0024},
    {"role": "primer", "product": "Quarrybeck Ground Coat", "thickness_m": 0.0001},
    {"role": "existing", "product": "Plywood, 23/32 in, tongue and groove", "thickness_m": 0.0183},
    {"role": "structure", "product": "Joists 2 x 10 at 16 in", "thickness_m": 0.235},
]

FINDINGS: list[dict[str, Any]] = [
    {
        "limit": "joist_total_deflection",
        "demand": "joist_total_deflection",
        "value": 0.00815,
        "capacity": 0.00894,
        "unit": "m",
        "utilisation": 0.912,
        "margin": None,
        "status": "meets",
        "reason": "The joists bend 5/16 in under dead and live load over a clear span of 10 ft 7 in",
        "working": {"span_m": 3.219, "load": "50 psf", "ratio": "L/395"},
        "source": "standard:ANSI A108.01#2.3",
        "overrides": None,
    },
    {
        "limit": "joist_spacing",
        "demand": "joist_spacing",
        "value": 16,
        "capacity": 19.2,
        "unit": "in",
        "utilisation": 0.833,
        "margin": None,
        "status": "meets",
        "reason": "Wider bays bend the panel between joists more than the test floor did",
        "working": None,
        "source": "evidence:floor-load-2026-02",
        "overrides": [
            {
                "rule": "subfloor panel for 24 in spacing",
                "by": "evidence:floor-load-2026-02",
                "carried_by": "Quarrybeck technical desk",
            }
        ],
    },
    {
        "limit": "panel_moisture",
        "demand": "panel_moisture",
        "value": {"from": 9, "to": 16},
        "capacity": 12,
        "unit": "%",
        "utilisation": {"from": 0.75, "to": 1.333},
        "margin": None,
        "status": "open",
        "reason": "The panel has not been measured; nine to sixteen percent are usual for this house",
        "working": None,
        "source": "common practice, no source",
        "overrides": None,
    },
    {
        "limit": "air_temperature_at_tiling",
        "demand": "air_temperature_at_tiling",
        "value": 16,
        "capacity": {"from": 10, "to": 32},
        "unit": "C",
        "utilisation": None,
        "margin": 6,
        "status": "meets",
        "reason": "Mortar sets slowly in the cold and skins over in the heat",
        "working": None,
        "source": "evidence:data-sheet-parting-3",
        "overrides": None,
    },
    {
        "limit": "substrate_kind",
        "demand": "substrate_kind",
        "value": "plywood",
        "capacity": ["plywood", "concrete", "gypsum, primed"],
        "unit": "",
        "utilisation": None,
        "margin": None,
        "status": "meets",
        "reason": "",
        "working": None,
        "source": "evidence:data-sheet-parting-3",
        "overrides": None,
    },
    {
        "limit": "steam_permeance",
        "demand": "steam_permeance",
        "value": None,
        "capacity": None,
        "unit": "perm",
        "utilisation": None,
        "margin": None,
        "status": "does not apply",
        "reason": "",
        "working": None,
        "source": "",
        "overrides": None,
    },
]

BATH: dict[str, Any] = {
    "area": "Bath",
    "site": {"status": "ready", "stops": []},
    "recommended": "parting-3",
    "ranking": "Parting 3 comes first because it meets every limit with the least height",
    "candidates": [
        {
            "id": "parting-3",
            "layers": LAYERS,
            "verdict": "suitable_if",
            "exact": True,
            "utilisation": 0.912,
            "governs": "joist_total_deflection",
            "findings": FINDINGS,
            "provided": [
                {
                    "fact": "substrate_flatness",
                    "must_be": "within 1/8 in in 10 ft (3 mm in 3 m)",
                    "by_whom": "tile setter",
                    "when_checked": "before mortar is mixed, with a 10 ft straightedge",
                    "source": "standard:ANSI A108.02#4.1",
                },
                {
                    "fact": "panel_moisture",
                    "must_be": {"from": None, "to": 12},
                    "unit": "%",
                    "by_whom": "builder",
                    "when_checked": "day of tiling, pin meter, five places",
                    "source": "common practice, no source",
                },
                {
                    "fact": "seams_treated",
                    "must_be": "seam band over every seam, wall joint and pipe",
                    "by_whom": "tile setter",
                    "when_checked": "before flood test",
                    "source": "evidence:data-sheet-parting-3",
                },
            ],
            "depends_on": [
                {
                    "fact": "panel_moisture",
                    "unit": "%",
                    "suitable_when": {"from": None, "to": 12},
                    "not_suitable_when": {"from": 12, "to": None},
                }
            ],
            "not_stated": [],
        },
        {
            "id": "asked",
            "layers": [
                LAYERS[0],
                LAYERS[1],
                {"role": "membrane", "product": "Quarrybeck Parting 8", "thickness_m": 0.008},
                *LAYERS[3:],
            ],
            "verdict": "not_suitable",
            "exact": True,
            "utilisation": 1.18,
            "governs": "door_clearance",
            "findings": [
                {
                    "limit": "door_clearance",
                    "demand": "added_height",
                    "value": 0.0247,
                    "capacity": 0.021,
                    "unit": "m",
                    "utilisation": 1.18,
                    "status": "exceeds",
                    "reason": "The new floor would stand 1 in high under a door that clears 13/16 in",
                    "source": "common practice, no source",
                }
            ],
            "provided": [],
            "depends_on": [],
            "not_stated": [],
        },
        {
            "id": "calm-5",
            "layers": [{"role": "membrane", "product": "Quarrybeck Calm 5", "thickness_m": 0.005}],
            "verdict": "needs_ruling",
            "exact": False,
            "utilisation": None,
            "governs": None,
            "findings": [],
            "provided": [],
            "depends_on": [],
            "not_stated": ["seam_waterproofness", "wheel_load"],
        },
    ],
    "ask_next": [
        {
            "fact": "panel_moisture",
            "question": "What does a pin meter read in the subfloor panel?",
            "why": "It settles the last open limit",
            "gain": 0.8,
        }
    ],
    "prep": [
        {
            "do": "Patch the two low spots by the window",
            "then": "Flatness is within 1/8 in in 10 ft",
            "cost": 60,
        }
    ],
    "cautions": [
        {
            "text": "The deflection is 91 % of what is allowed: a stone tub on this floor was not counted",
            "about": "joist_total_deflection",
        },
        "Heat mats under this assembly were not judged.",
    ],
    "assumed": [
        {"fact": "live_load", "value": 40, "unit": "psf", "why": "residential room, nobody said otherwise"}
    ],
}

ENTRY: dict[str, Any] = {
    "area": "Entry hall",
    "site": {
        "status": "stop",
        "stops": [
            {
                "why": "A crack in the slab has one edge 1/8 in (3 mm) higher than the other",
                "who_decides": "structural engineer",
                "source": "common practice, no source",
            }
        ],
    },
    "recommended": None,
    "ranking": "",
    "candidates": [
        {
            "id": "bridge-1",
            "layers": [
                {
                    "role": "tile",
                    "product": "Slate, cleft, 16 x 16 in",
                    "thickness_m": {"from": 0.01, "to": 0.014},
                },
                {"role": "mortar above", "product": "Quarrybeck Bedding Mortar M", "thickness_m": 0.006},
                {"role": "crack isolation membrane", "product": "Quarrybeck Bridge 1", "thickness_m": 0.001},
                {"role": "existing", "product": "Concrete slab", "thickness_m": None, "kind": "concrete"},
            ],
            "verdict": "needs_facts",
            "exact": False,
            "utilisation": {"from": 0.4, "to": 2.6},
            "governs": "crack_width",
            "findings": [
                {
                    "limit": "crack_width",
                    "demand": "crack_width",
                    "value": {"from": 0.0005, "to": 0.008},
                    "capacity": 0.003,
                    "unit": "m",
                    "utilisation": {"from": 0.17, "to": 2.6},
                    "status": "open",
                    "reason": "The crack was seen but not measured",
                    "source": "evidence:crack-2026-01",
                },
            ],
            "provided": [],
            "depends_on": [
                {
                    "fact": "crack_width",
                    "unit": "m",
                    "suitable_when": {"from": 0, "to": 0.003},
                    "not_suitable_when": {"from": 0.003, "to": 0.008},
                }
            ],
            "not_stated": [],
        }
    ],
    "ask_next": [],
    "prep": [],
    "cautions": [],
}

ANSWER: dict[str, Any] = {
    "basis": {
        "date": "2026-11-25",
        "line_revision": "2026.3",
        "line": "6f1c7ad09e5b4c21a0d3f4c9aa10b7e2",
        "practice": "c41b22e07d9f4d4d8d58e1a26b0af6d1",
        "vocabulary": "0b9d4e77f3a14a0f9c65c7f1f2d1a3e8",
        "tables": "77aa19c3d2ee4b19b7d6f0b1c2a4e6d8",
        "prices": "e0d1c2b3a4958677f0e1d2c3b4a59687",
        "program": "0.1.0",
    },
    "job": "Alder Lane 14, ground floor",
    "areas": [BATH],
}
TWO_AREAS: dict[str, Any] = {**ANSWER, "areas": [BATH, ENTRY]}

ROOM: dict[str, Any] = {
    "outline": [[0, 0], [3.6, 0], [3.6, 1.6], [2.8, 1.6], [2.8, 2.4], [0, 2.4]],
    "obstacles": [{"name": "Shower", "outline": [[0, 1.5], [0.9, 1.5], [0.9, 2.4], [0, 2.4]]}],
    "entrance": [2.2, 0],
    "north_deg": 20,
}
_GAP = 0.003
STRIPS: list[dict[str, Any]] = [
    {
        "id": "S1",
        "outline": [
            [_GAP, _GAP],
            [0.9985, _GAP],
            [0.9985, 2.4 - _GAP],
            [0.903, 2.4 - _GAP],
            [0.903, 1.497],
            [_GAP, 1.497],
        ],
    },
    {"id": "S2", "outline": [[1.0015, _GAP], [1.9985, _GAP], [1.9985, 2.397], [1.0015, 2.397]]},
    {
        "id": "S3",
        "outline": [
            [2.0015, _GAP],
            [2.9985, _GAP],
            [2.9985, 1.597],
            [2.797, 1.597],
            [2.797, 2.397],
            [2.0015, 2.397],
        ],
    },
    {"id": "S4", "outline": [[3.0015, _GAP], [3.597, _GAP], [3.597, 1.597], [3.0015, 1.597]]},
]
LAYOUT: dict[str, Any] = {
    "areas": [
        {
            "name": "Bath",
            "net_area_m2": 7.19,
            "strips": STRIPS,
            "seam_length_m": 6.39,
            "edge_length_m": 12.0,
            "inside_corners": 6,
            "outside_corners": 2,
            "notes": [],
        }
    ],
    "pieces": [
        {
            "id": "B1",
            "area": "Bath",
            "strip": "S1",
            "width_m": 0.9955,
            "length_m": 2.394,
            "roll": 1,
            "at": [0, 0],
        },
        {
            "id": "B2",
            "area": "Bath",
            "strip": "S2",
            "width_m": 0.997,
            "length_m": 2.394,
            "roll": 1,
            "at": [2.394, 0],
        },
        {
            "id": "B3",
            "area": "Bath",
            "strip": "S3",
            "width_m": 0.997,
            "length_m": 2.394,
            "roll": 1,
            "at": [4.788, 0],
        },
        {
            "id": "B4",
            "area": "Bath",
            "strip": "S4",
            "width_m": 0.5955,
            "length_m": 1.594,
            "roll": 1,
            "at": [7.182, 0],
        },
    ],
    "rolls": 1,
    "roll_bound": 1,
    "roll_plan": [{"roll": 1, "length_m": 10.0, "used_m": 8.776, "price": 260}],
    "consumed_area_m2": 8.776,
    "net_area_m2": 7.19,
    "waste": 0.18,
    "objective": 260,
    "bounds": {"any_layout": 1, "these_strips": 1},
}

TAKEOFF: dict[str, Any] = {
    "area": "Bath",
    "lines": [
        {
            "role": "membrane",
            "product": "Quarrybeck Parting 3",
            "item_number": "QB-P3-10",
            "what": "uncoupling sheet",
            "need": 8.78,
            "unit": "m2",
            "packs": 1,
            "pack": "roll 3 ft 3 in x 33 ft (1 x 10 m)",
            "price": 260.0,
            "currency": "USD",
            "price_date": "2026-10-01",
            "cost": 260.0,
            "weight_kg": 6.1,
            "note": "",
        },
        {
            "role": "mortar below",
            "product": "Quarrybeck Keyfast",
            "item_number": "QB-KF-50",
            "what": "mortar under the sheet",
            "need": 18.4,
            "unit": "kg",
            "packs": 1,
            "pack": "bag 50 lb (22.7 kg)",
            "price": 31.5,
            "currency": "USD",
            "price_date": "2026-10-01",
            "cost": 31.5,
            "weight_kg": 22.7,
            "note": "The trowel notch decides the need: weigh the first batch",
        },
        {
            "role": "mortar above",
            "product": "Quarrybeck Bedding Mortar M",
            "item_number": "QB-BM-50",
            "what": "mortar under the tile",
            "need": 41.0,
            "unit": "kg",
            "packs": 2,
            "pack": "bag 50 lb (22.7 kg)",
            "price": 24.0,
            "currency": "USD",
            "price_date": "2026-10-01",
            "cost": 48.0,
            "weight_kg": 45.4,
            "note": "",
        },
        {
            "role": "seam band",
            "product": "Quarrybeck Seam Band 5",
            "item_number": "QB-SB-30",
            "what": "band over seams and edges",
            "need": 18.4,
            "unit": "m",
            "packs": 2,
            "pack": "roll 30 ft (9.14 m)",
            "price": 19.0,
            "currency": "USD",
            "price_date": "2026-10-01",
            "cost": 38.0,
            "weight_kg": 1.9,
            "note": "",
        },
    ],
    "allowance": 0.05,
    "cost": 377.5,
    "currency": "USD",
    "weight_kg": 76.1,
}

STEPS: list[dict[str, Any]] = [
    {
        "step": "Measure the panel's moisture",
        "detail": "Pin meter at five places; go on at 12 % or less and write the readings down",
        "source": "common practice, no source",
        "caution": "",
    },
    {
        "step": "Prime the plywood",
        "detail": "One coat of Quarrybeck Ground Coat, rolled; let it dry to the touch, about one hour",
        "source": "evidence:data-sheet-ground-coat",
        "caution": "",
    },
    {
        "step": "Snap the start line and dry-fit the sheets",
        "detail": "Cut B1 to B4 by the cut map; keep 1/8 in (3 mm) free at walls and at the shower tray",
        "source": "evidence:data-sheet-parting-3",
        "caution": "",
    },
    {
        "step": "Bed the sheet",
        "detail": "Key Quarrybeck Keyfast in with the flat side, comb it one way with a 1/4 x 3/16 in "
        "(6 x 5 mm) V notch, lay the sheet and press it in from the middle outwards",
        "source": "evidence:data-sheet-parting-3",
        "caution": "Lift a corner of every sheet: a fleece that is not wet all over is bedded again at once",
    },
    {
        "step": "Close seams and edges",
        "detail": "Seam band, centered, bedded without hollow spots",
        "source": "evidence:data-sheet-parting-3",
        "caution": "Flood test only after the mortar in the seams has set",
    },
    {
        "step": "Set the tile",
        "detail": "Fill the cavities first, then comb and set; soft joints at all walls",
        "source": "standard:ANSI A108.05#3.3",
        "caution": "",
    },
]
