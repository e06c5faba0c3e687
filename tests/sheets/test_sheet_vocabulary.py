import pytest

from samelight.sheets import vocabulary
from samelight.sheets.folding import FOLDED_AWAY, FOLDS
from samelight.sheets.parameters import LIGHT, OF_SECTION, Parameter
from samelight.sheets.vocabulary import (
    COMPARED_SECTIONS,
    FOLDED,
    KINDS,
    SHEET_KEYS,
    SUN_INPUTS,
    bearing_names,
    kind_by_name,
    kind_by_pattern,
    typed_names,
)


@pytest.mark.parametrize(
    ("leaf", "kind"),
    [
        ("reflection_samples", "count"),
        ("rays", "count"),
        ("bounces", "count"),
        ("samples_per_pixel", "count"),
        ("ray_depth", "count"),
        ("range", "length"),
        ("shadow.distance", "length"),
        ("step", "length"),
        ("step_size", "length"),
        ("tile_size", None),
        ("cone", "angle"),
        ("softness", "fraction"),
        ("shade_area", "fraction"),
        ("light_links", "set"),
        ("shadow_links", "set"),
        ("seen_by", "set"),
        ("on", "switch"),
        ("treat_as_point", "switch"),
        ("test_frame", "duration"),
        ("temperature", "temperature"),
        ("shadow.color", "colour"),
        ("focus_tint", "colour"),
        ("texture", "file"),
        ("frames", "choice"),
        ("mood", None),
        ("", None),
    ],
)
def test_the_kind_of_a_name(leaf: str, kind: str | None) -> None:
    assert kind_by_name(leaf) == kind


def test_every_kind_by_name_is_a_kind() -> None:
    assert {kind for _, kind in vocabulary.BY_NAME} <= set(KINDS)


def test_a_policy_says_the_kind_and_its_last_word_counts() -> None:
    kinds = (("render.*.range", "choice"), ("render.gi.*", "number"), ("lights.*.mood", "text"))
    assert kind_by_pattern("render.gi.range", kinds) == "number"
    assert kind_by_pattern("render.fog.range", kinds) == "choice"
    assert kind_by_pattern("lights.sun.range", kinds) is None
    assert kind_by_pattern("lights.sun.range", ()) is None


def test_the_typed_names_of_what_folds() -> None:
    assert typed_names("lights", "colour") == ("color", "temperature")
    assert typed_names("lights", "shadow.color_level") == ("shadow.color_level", "shadow.color")
    assert typed_names("environments", "rotation") == ("rotation", "rotation_order", "matrix")
    assert typed_names("environments", "tilt") == ("rotation", "rotation_order", "matrix")
    assert typed_names("lights", "rotation") == ("rotation",)
    assert typed_names("surfaces", "level") == ("level",)
    assert typed_names("surfaces", "texture") == ("texture", "sha256", "pixels")


def test_a_level_also_bears_on_the_sizes_and_a_direction_on_the_position() -> None:
    assert set(bearing_names("lights", "level")) > {"intensity", "exposure", "radius", "type", "cone"}
    assert "position" in bearing_names("lights", "direction")
    assert "position" in bearing_names("camera", "direction")
    assert bearing_names("render", "range") == ("range",)


def test_what_folds_away_has_a_place_to_fold_to() -> None:
    folded = {name for names in FOLDED.values() for name in names}
    assert FOLDED_AWAY["lights"] - set(SUN_INPUTS) <= folded


def test_the_tables_speak_of_the_same_sections() -> None:
    assert set(FOLDS) == {*COMPARED_SECTIONS, "camera", "marks"}
    assert set(FOLDS) <= SHEET_KEYS
    assert set(OF_SECTION) <= set(FOLDS)


@pytest.mark.parametrize(("name", "parameter"), sorted(LIGHT.items()))
def test_a_parameter_of_fixed_meaning_is_of_a_kind_and_says_what_it_means(
    name: str, parameter: Parameter
) -> None:
    assert parameter.kind in KINDS
    assert parameter.means
    assert parameter.least is None or parameter.most is None or parameter.least < parameter.most


@pytest.mark.parametrize("name", sorted(set(LIGHT) - FOLDED_AWAY["lights"]))
def test_names_and_fixed_meanings_agree_on_the_kind(name: str) -> None:
    # The drift table goes by the name alone; a parameter of another kind there would be compared in the wrong terms.
    by_name = kind_by_name(name)
    assert by_name in (None, LIGHT[name].kind)
