"""Sections: every layer in order, named, in both systems, to scale except where the sheet says not."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawings.marks import extent, outside, overlaps, paths, words
from papers.fixtures import LAYERS
from undercourse.drawings import draw_section, total_thickness_text
from undercourse.drawings.materials import choose_hatches
from undercourse.drawings.measures import length_text

SCREED = [
    {"role": "tile", "product": "Tile", "thickness_m": 0.010},
    {"role": "mortar above", "product": "Mortar", "thickness_m": 0.005},
    {"role": "membrane", "product": "Quarrybeck Parting 8", "thickness_m": 0.008},
    {"role": "mortar below", "product": "Mortar", "thickness_m": 0.004},
    {"role": "existing", "product": "Screed", "thickness_m": 0.030},
]


def test_thick_layers_measure_back_to_their_thickness() -> None:
    """A setter may lay a rule on the sheet."""
    sheet = draw_section(SCREED)
    drawn = [extent(path) for path in paths(sheet, "layer")]
    assert sheet.scale is not None
    for box, layer in zip(drawn, SCREED, strict=True):
        assert (box[3] - box[1]) * sheet.scale / 1000 == pytest.approx(layer["thickness_m"])
    for upper, lower in itertools.pairwise(drawn):
        assert upper[3] == pytest.approx(lower[1])  # top down, no gap


def test_thin_layers_are_drawn_three_times_and_the_sheet_says_so() -> None:
    """Nothing is exaggerated in silence."""
    layers = [
        *SCREED[:2],
        {"role": "membrane", "product": "Quarrybeck Bridge 1", "thickness_m": 0.0008},
        *SCREED[3:],
    ]
    sheet = draw_section(layers)
    assert sheet.scale is not None
    box = extent(paths(sheet, "layer")[2])
    assert (box[3] - box[1]) * sheet.scale / 1000 == pytest.approx(3 * 0.0008)
    text = " ".join(words(sheet))
    assert "Layers below 1/8 in (3 mm) are not to scale: drawn 3x" in text
    assert "drawn thicker" in text
    assert "not to scale" not in " ".join(words(draw_section(SCREED)))


def test_a_thin_layer_never_looks_thicker_than_a_thick_one() -> None:
    """2.9 mm beside 3.0 mm."""
    layers = [{"role": "mortar", "product": "A", "thickness_m": t} for t in (0.0029, 0.003, 0.001)]
    heights = [b[3] - b[1] for b in map(extent, paths(draw_section(layers), "layer"))]
    assert heights[0] <= heights[1] + 1e-6
    assert heights[2] <= heights[0] + 1e-6


def test_every_layer_has_a_leader_with_name_and_both_systems() -> None:
    """The contract of the drawing."""
    sheet = draw_section(LAYERS)
    assert len(paths(sheet, "leader")) == len(LAYERS)
    text = " ".join(words(sheet))
    for layer in LAYERS:
        assert layer["product"] in text
        assert length_text(layer["thickness_m"]) in text


def test_heights_add_up_as_on_a_tape() -> None:
    """9.5 + 4.8 + 3 + 2.4 + 0.1 = 19.8 mm of new work, 273.1 mm in all (kind = derived)."""
    assert total_thickness_text(LAYERS[:5]) == "3/4 in (20 mm)"
    assert total_thickness_text(LAYERS) == "10-3/4 in (273 mm)"
    text = words(draw_section(LAYERS))
    assert "new work" in text
    assert "3/4 in" in text
    assert "(20 mm)" in text
    assert any("10-3/4 in (273 mm)" in line for line in text)


def test_unknown_thickness_is_said_and_not_invented() -> None:
    """Structure apart, a layer without a thickness is named as such."""
    layers = [*SCREED[:2], {"role": "membrane", "product": "Quarrybeck Calm 5", "thickness_m": None}]
    text = " ".join(words(draw_section(layers)))
    assert "thickness not stated" in text
    assert total_thickness_text(layers) == f"over {length_text(0.015)}"


def test_goods_without_height_are_listed_not_drawn() -> None:
    """Grout and band belong to the assembly but are no layer."""
    goods = [
        {"role": "grout", "name": "Grout"},
        {"role": "seam tape", "name": "Seam Band 5", "thickness_m": 0.0},
    ]
    sheet = draw_section([*SCREED, *goods])
    assert len(paths(sheet, "leader")) == len(SCREED)
    assert "Not drawn, but part of it: Grout, Seam Band 5." in " ".join(words(sheet))


def test_membranes_of_one_section_differ_by_hatch() -> None:
    """Never by a color."""
    sheets = [{"role": "membrane", "product": f"Quarrybeck {n}", "thickness_m": 0.003} for n in range(6)]
    hatches = choose_hatches(sheets)
    assert len(set(hatches)) == len(sheets)
    assert choose_hatches([sheets[0], sheets[0]]) == [hatches[0]] * 2
    assert "none" not in hatches


names = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "Zs", "S")), min_size=0, max_size=60)
thicknesses = st.one_of(
    st.none(),
    st.floats(0.00005, 0.3),
    st.tuples(st.floats(0.001, 0.01), st.floats(0.01, 0.05)).map(lambda t: {"from": t[0], "to": t[1]}),
)
layer_lists = st.lists(
    st.fixed_dictionaries(
        {
            "role": st.sampled_from(["tile", "mortar above", "membrane", "primer", "existing", "structure"]),
            "product": names,
            "thickness_m": thicknesses,
        }
    ),
    min_size=1,
    max_size=12,
)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(layer_lists)
def test_any_stack_is_drawn_without_overlap(layers: list[dict[str, Any]]) -> None:
    """Whatever the layers, no two words touch and none leaves the sheet."""
    sheet = draw_section(layers)
    assert overlaps(sheet) == []
    assert outside(sheet) == []
    assert len(paths(sheet, "leader")) == len(layers)
