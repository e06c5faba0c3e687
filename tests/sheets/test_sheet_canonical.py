import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sheets.canonical import WHOLE
from samelight.sheets.errors import SheetError
from samelight.sheets.folding import EVERYTHING, is_curve
from samelight.sheets.names import parameter_name
from samelight.sheets.values import Amount, Curve, FileRef, Level
from samelight.sheets.writing import json_text, yaml_text
from sheets.sheet_help import JSON, YAML, light_of, section_of, sheet_of

HASH = "2aac9f36db7680d8d8cf785540c77d35aba239118404b776219ac3c56a748db1"


class TestGroups:
    def test_the_sections_of_a_sheet(self) -> None:
        text = yaml_text(
            {
                "samelight": 2,
                "camera": {"position": [0, 0, 0]},
                "marks": {"face": {"position": [0, 1, 0]}},
                "lights": {"sun": {"type": "distant"}, "off": {}},
                "environments": {"sky": {}},
                "render": {"gi": {"samples": 64}, "engine": "fast", "rate": 0.5},
                "surfaces": {"nets": {"rays": 8}},
                "passes": {"crew": {"frames": "all"}},
                "cost": {"test_frame": "18m20s", "resolution": [1920, 804]},
            }
        )
        sections = sheet_of(text).sections
        assert {section: list(groups) for section, groups in sections.items()} == {
            "lights": ["sun", "off"],
            "environments": ["sky"],
            "render": ["gi", WHOLE],
            "surfaces": ["nets"],
            "passes": ["crew"],
            "cost": [WHOLE],
            "camera": [WHOLE],
            "marks": ["face"],
        }
        assert sections["render"][WHOLE] == {"engine": "fast", "rate": 0.5}
        assert sections["cost"][WHOLE] == {"test_frame": 1100.0, "resolution": (1920.0, 804.0)}

    def test_a_section_that_is_not_there_is_not_there(self) -> None:
        assert sheet_of("samelight: 2\nrender: {}\n").sections == {"render": {}}

    def test_parameters_nest_by_dots(self) -> None:
        light = light_of({"shadow": {"enable": True, "inner": {"bias": 0.1}}, "gel.density": 0.5})
        assert light["shadow.enable"] is True
        assert light["shadow.inner.bias"] == 0.1
        assert light["gel.density"] == 0.5

    def test_a_group_may_be_called_keys(self) -> None:
        surfaces = section_of("surfaces", {"piano": {"keys": {"shade_area": 0.4}}, "keys": {"rays": 3}})
        assert surfaces == {"piano": {"keys.shade_area": 0.4}, "keys": {"rays": 3.0}}

    @pytest.mark.parametrize(
        ("value", "animated"),
        [
            ({"keys": [[1, 2]]}, True),
            ({"keys": []}, True),
            ({"keys": 3}, True),
            ({"keys": None}, True),
            ({"keys": {"1001": 2}}, True),
            ({"keys": {}, "interpolation": "held"}, True),
            ({"keys": {"ivory": 2}}, False),
            ({"values": [[1, 2]]}, False),
            ([[1, 2]], False),
            (3, False),
        ],
    )
    def test_what_is_animated(self, value: Any, animated: bool) -> None:
        assert is_curve(value) is animated

    def test_names(self) -> None:
        assert parameter_name("lights", "sun", "direction") == "lights.sun.direction"
        assert parameter_name("lights", "sun") == "lights.sun"
        assert parameter_name("cost", "", "test_frame") == "cost.test_frame"


class TestLights:
    def test_a_light_without_a_word_lights_everything(self) -> None:
        assert light_of({"type": "spot"})["light_links"] == EVERYTHING
        assert light_of({"light_links": []})["light_links"] == frozenset()

    def test_sets_ignore_order_and_repetition(self) -> None:
        one = light_of({"seen_by": ["camera", "volume"], "light_links": ["/b", "/a"]})
        other = light_of({"seen_by": ["volume", "camera", "camera"], "light_links": ["/a", "/b"]})
        assert one == other

    def test_whole_numbers_are_numbers(self) -> None:
        assert light_of({"samples": 64, "mood": 3}) == light_of({"samples": 64.0, "mood": 3.0})

    def test_the_order_of_parameters_is_that_of_the_eye(self) -> None:
        light = light_of(
            {"light_links": ["/a"], "mood": 1, "intensity": 3, "direction": [0, -1, 0], "type": "spot"}
        )
        assert list(light) == ["type", "direction", "level", "colour", "light_links", "mood"]

    def test_unknown_parameters_are_kept_with_the_kind_that_shows(self) -> None:
        light = light_of(
            {
                "gel": "CTO half",
                "hung": True,
                "pan": 12.5,
                "throw": "4 m",
                "barn_doors": [1, 2, 3, 4],
                "crew": ["a", "b"],
                "presets": [{"a": 1}],
                "ramp": {"keys": [[1, 0], [9, 1]]},
            }
        )
        assert light["gel"] == "CTO half"
        assert light["hung"] is True
        assert light["pan"] == 12.5
        assert light["throw"] == Amount(4.0, "length")
        assert light["barn_doors"] == (1.0, 2.0, 3.0, 4.0)
        assert light["crew"] == frozenset({"a", "b"})
        assert light["presets"] == '[{"a": 1}]'
        assert isinstance(light["ramp"], Curve)

    def test_a_type_that_is_not_known_is_kept(self) -> None:
        assert light_of({"type": "LaserLight", "intensity": 3}) == {
            **light_of({"type": "mesh", "intensity": 3}),
            "type": "LaserLight",
        }

    def test_a_texture_and_its_hash_are_one(self) -> None:
        light = light_of({"type": "rect", "texture": "a.exr", "sha256": HASH.upper()})
        assert light["texture"] == FileRef("a.exr", HASH)
        assert "sha256" not in light

    def test_a_hash_without_a_texture_is_kept(self) -> None:
        for section in ("lights", "environments", "surfaces"):
            assert section_of(section, {"a": {"sha256": HASH}})["a"]["sha256"] == HASH

    def test_a_texture_of_a_surface(self) -> None:
        group = section_of("surfaces", {"water": {"texture": "a.exr", "sha256": HASH}})["water"]
        assert group == {"texture": FileRef("a.exr", HASH)}

    @given(st.floats(0.1, 10), st.sampled_from(["cm", "mm", "in", "ft"]))
    def test_scaling_the_unit_of_a_whole_sheet_changes_nothing(self, size: float, unit: str) -> None:
        metres = {"cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048}[unit]
        lamp = {
            "type": "rect",
            "position": [size, 2 * size, 0],
            "target": [0, 0, size],
            "width": size,
            "height": size,
            "normalize": False,
            "shadow": {"distance": size},
        }
        one = light_of(lamp, units={"length": unit, "area": "m"})

        def scaled(value: Any) -> Any:
            if isinstance(value, list):
                return [scaled(item) for item in value]
            return value * metres if isinstance(value, float) else value

        inner = {name: scaled(value) for name, value in lamp.items() if name != "shadow"}
        other = light_of({**inner, "shadow": {"distance": size * metres}})
        assert one.keys() == other.keys()
        for name in one:
            a, b = one[name], other[name]
            if isinstance(a, tuple | float):
                assert a == pytest.approx(b)
            elif isinstance(a, Level):
                assert a.value == pytest.approx(b.value)
            else:
                assert a == b


class TestRenderSettings:
    def test_pixels_are_no_lengths(self) -> None:
        render = section_of(
            "render",
            {"resolution": {"width": 1920, "height": 804}, "gi": {"range": 350}},
            units={"length": "cm"},
        )
        assert render["resolution"] == {"width": 1920.0, "height": 804.0}
        assert render["gi"] == {"range": 3.5}

    def test_an_exposure_is_in_stops_wherever_it_stands(self) -> None:
        render = section_of("render", {"film": {"exposure": -1, "exposure_time": 0.02}})
        assert render["film"]["exposure"] == Level(0.5)
        assert render["film"]["exposure_time"] == 0.02

    def test_a_policy_says_what_a_parameter_is(self) -> None:
        text = "samelight: 2\nrender: {gi: {range: 3}}\nlights: {sun: {samples: 4}}\n"
        kinds = (("render.gi.range", "choice"), ("lights.*.samples", "length"))
        sheet = sheet_of(text, kinds=kinds)
        assert sheet.value("render", "gi", "range") == "3"
        assert sheet.value("lights", "sun", "samples") == 4.0
        assert sheet_of(text).value("render", "gi", "range") == 3.0

    def test_a_sheet_read_before_with_another_policy_does_not_matter(self) -> None:
        text = "samelight: 2\nrender: {gi: {mood: 3}}\n"
        values = [
            sheet_of(text, kinds=kinds).value("render", "gi", "mood")
            for kinds in ((), (("*.mood", "text"),), ())
        ]
        assert values == [3.0, "3", 3.0]

    def test_groups_that_are_typed_alike_are_read_once(self) -> None:
        text = "samelight: 2\nlights: {sun: {type: distant}, rim: {type: distant}}\n"
        one, other = sheet_of(text), sheet_of(text)
        assert one.sections["lights"]["sun"] is other.sections["lights"]["sun"]
        assert one.sections is not other.sections
        cm = sheet_of(text + "units: {length: cm}\n")
        assert one.sections["lights"]["sun"] is not cm.sections["lights"]["sun"]

    def test_types_that_only_look_equal_are_told_apart(self) -> None:
        for typed, value in ((1, 1.0), (True, True), (1.0, 1.0), ("1", "1")):
            got = section_of("render", {"x": {"mood": typed}})["x"]["mood"]
            assert got == value
            assert type(got) is type(value)


PLAIN = st.recursive(
    st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.from_regex(r"[a-z]{5,9}_[a-z]", fullmatch=True), inner, max_size=4)
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.from_regex(r"[a-z]{5,9}_[a-z]", fullmatch=True), PLAIN, max_size=5))
def test_whatever_a_render_setting_is_it_is_kept_whole(settings: dict[str, Any]) -> None:
    """No unknown parameter vanishes."""
    typed = {name: value for name, value in settings.items() if "keys" not in json.dumps(value)}
    read = section_of("render", {"extra": typed})["extra"]

    def leaves(value: Any, name: str) -> list[str]:
        if isinstance(value, dict):
            return [leaf for step, item in value.items() for leaf in leaves(item, f"{name}.{step}")]
        return [name]

    names = [leaf for name, value in typed.items() for leaf in leaves(value, name)]
    assert set(names) <= set(read)


@given(st.dictionaries(st.from_regex(r"[a-z]{1,6}", fullmatch=True), PLAIN, max_size=3))
def test_yaml_and_json_are_read_alike(settings: dict[str, Any]) -> None:
    tree = {"samelight": 2, "render": {"extra": settings}}
    read: list[str | list[tuple[str, str, str]]] = []
    for text, path in ((yaml_text(tree), YAML), (json_text(tree), JSON)):
        try:
            read.append(repr(sheet_of(text, path).sections))
        except SheetError as error:
            read.append([(fault.path, fault.expected, fault.found) for fault in error.faults])
    assert read[0] == read[1]
