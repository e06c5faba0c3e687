"""Names that nobody meant: slips for known ones, numbers, names that would stand for two things, and nothing behind them."""

from pathlib import Path

import pytest

from samelight.sheets.errors import Fault
from samelight.sheets.parameters import LIGHT_TYPES
from sheets.sheet_help import faults_of, light_of, only_fault, section_of, sheet_of

HEAD = "samelight: 2\n"


def says(fault: Fault) -> tuple[int | None, int | None, str, str, str, str | None]:
    return fault.line, fault.column, fault.path, fault.expected, fault.found, fault.nearest


NAME = "a name as key"
KNOWN = "a name that is known here, or one unlike them"
PLAIN = "a name without dots, quotes, line breaks and spaces at its ends"


@pytest.mark.parametrize(
    ("typed", "path", "found", "nearest"),
    [
        ("exposure: -0,5", "5", "the number 5", "exposure: -0.5"),
        ("exposure: -1,25, samples: 4", "25", "the number 25", "exposure: -1.25"),
        ("samples: 4, intensity: 3,050", "050", "the number 050", "intensity: 3.050"),
        ("type: spot, 5", "5", "the number 5", None),
        ("5: 3", "5", "the number 5", None),
        ("1e3: 3", "1e3", "the number 1e3", None),
        ("'5': 3", "5", "the number 5", None),
    ],
)
def test_a_decimal_comma_and_other_numbers_as_keys(
    typed: str, path: str, found: str, nearest: str | None
) -> None:
    line = f"  s: {{{typed}}}"
    fault = only_fault(HEAD + f"lights:\n{line}\n")
    column = max(line.rfind(f"{before}{path}") + len(before) for before in ("'", " ", ",", "{")) + 1
    assert (fault.line, fault.path) == (3, f"lights.s.{path}")
    assert (fault.expected, fault.found, fault.nearest) == (NAME, found, nearest)
    assert fault.column in (column, column - 1)  # a quote belongs to the key


def test_a_decimal_comma_before_a_unit() -> None:
    fault = only_fault(HEAD + "render: {gi: {range: 3,5 m}}\n")
    assert says(fault) == (2, 24, "render.gi.5 m", "a value", "nothing", "range: 3.5 m")


def test_the_file_of_a_sky_is_its_texture() -> None:
    fault = only_fault(HEAD + "environments: {sky: {file: maps/dawn.exr}}\n")
    assert says(fault) == (2, 22, "environments.sky.file", KNOWN, "the key file", "texture")


@pytest.mark.parametrize(
    ("text", "line", "column", "path"),
    [
        ("lights:\n", 2, 1, "lights"),
        ("lights:\n  sun:\n", 3, 3, "lights.sun"),
        ("lights:\n  sun:\n    exposure:\n", 4, 5, "lights.sun.exposure"),
        ("lights: {sun: {shadow: {enable: }}}\n", 2, 25, "lights.sun.shadow.enable"),
        ("lights: {sun: {mood: ~}}\n", 2, 16, "lights.sun.mood"),
        ("lights: {sun: {mood: [a, [~]]}}\n", 2, 27, "lights.sun.mood[1][0]"),
        ("render:\n  gi:\n", 3, 3, "render.gi"),
        ("render: {gi: {samples: null}}\n", 2, 15, "render.gi.samples"),
        ("environments: {sky: }\n", 2, 16, "environments.sky"),
        ("passes: {crew: {frames: }}\n", 2, 17, "passes.crew.frames"),
        ("camera: {moves: }\n", 2, 10, "camera.moves"),
        ("cost: {test_frame: }\n", 2, 8, "cost.test_frame"),
        ("marks: {face: }\n", 2, 9, "marks.face"),
        ("marks: {face: {position: [0, 0, 0], normal: }}\n", 2, 37, "marks.face.normal"),
        ("units: {length: }\n", 2, 9, "units.length"),
        ("source: {scene: }\n", 2, 10, "source.scene"),
    ],
)
def test_nothing_behind_a_name(text: str, line: int, column: int, path: str) -> None:
    fault = only_fault(HEAD + text)
    assert (fault.line, fault.column, fault.path) == (line, column, path)
    assert fault.found == "nothing"


@pytest.mark.parametrize("section", ["lights", "environments", "surfaces", "passes", "render"])
def test_an_empty_group_that_is_written_out_is_one(section: str) -> None:
    assert section_of(section, {"off": {}}).keys() == {"off"}


@pytest.mark.parametrize(
    ("section", "typed", "wrong", "right"),
    [
        ("lights", "intensty: 3", "intensty", "intensity"),
        ("lights", "temprature: 4300", "temprature", "temperature"),
        ("lights", "sample: 4", "sample", "samples"),
        ("lights", "colour: [1, 1, 1]", "colour", "color"),
        ("lights", "Exposure: 1", "Exposure", "exposure"),
        ("lights", "exopsure: 1", "exopsure", "exposure"),
        ("lights", "intesnit: 1", "intesnit", "intensity"),
        ("lights", "light_link: [a]", "light_link", "light_links"),
        ("lights", "seen_byy: [camera]", "seen_byy", "seen_by"),
        ("lights", "level: 3", "level", "intensity"),
        ("lights", "shadwo: {enable: true}", "shadwo", "shadow"),
        ("lights", "shadwo.enable: true", "shadwo.enable", "shadow.enable"),
        ("lights", "shadow: {colour: [0, 0, 0]}", "shadow.colour", "color"),
        ("environments", "rotatoin: 3", "rotatoin", "rotation"),
        ("environments", "textrue: a.exr", "textrue", "texture"),
        ("passes", "frame: one", "frame", "frames"),
        ("passes", "hide: [crew]", "hide", "hides"),
        ("surfaces", "shade_areas: 1", "shade_areas", "shade_area"),
        ("render", "sample: 4", "sample", "samples"),
        ("render", "bounce: 3", "bounce", "bounces"),
    ],
)
def test_a_slip_for_a_known_name(section: str, typed: str, wrong: str, right: str) -> None:
    fault = only_fault(HEAD + f"{section}:\n  a: {{{typed}}}\n")
    assert (fault.line, fault.path, fault.expected) == (3, f"{section}.a.{wrong}", KNOWN)
    assert fault.nearest == right
    assert fault.found.startswith("the key ")
    assert fault.column is not None and fault.column >= 7


def test_a_slip_in_a_camera_and_in_the_cost() -> None:
    assert only_fault(HEAD + "camera: {move: true}").nearest == "moves"
    assert only_fault(HEAD + "cost: {test_frames: 18m}").nearest == "test_frame"


@pytest.mark.parametrize(
    "name",
    [
        "sampler",
        "width2",
        "weight",
        "lines",
        "location",
        "diffuser",
        "gel",
        "density",
        "mood",
        "samples_2",
        "unity",
        "angled",
        "grain",
        "ray_depth",
        "gi",
        "on",
    ],
)
def test_other_words_are_welcome(name: str) -> None:
    assert light_of({"type": "spot", name: 3})[name] is not None


def test_a_name_that_the_policy_knows_is_welcome() -> None:
    text = HEAD + "lights: {sun: {sample: 3}}\n"
    assert only_fault(text).nearest == "samples"
    assert sheet_of(text, kinds=(("lights.*.sample", "number"),)).value("lights", "sun", "sample") == 3.0


def test_below_an_unknown_name_every_name_is_welcome() -> None:
    assert light_of({"type": "spot", "custom": {"sample": 3}})["custom.sample"] == 3.0


@pytest.mark.parametrize(
    ("typed", "nearest"),
    [
        ("softbox", None),
        ("distnat", "distant"),
        ("Spot", "spot"),
        ("discs", "disk"),
        ("RECT", "rect"),
        ("sun", None),
    ],
)
def test_an_unknown_type_of_light(typed: str, nearest: str | None) -> None:
    fault = only_fault(HEAD + f"lights:\n  sun: {{type: {typed}}}\n")
    assert (fault.line, fault.column, fault.path, fault.found) == (3, 9, "lights.sun.type", repr(typed))
    assert fault.expected.startswith(f"one of {', '.join(LIGHT_TYPES)}")
    assert fault.nearest == nearest


@pytest.mark.parametrize("typed", [*LIGHT_TYPES, "StudioLight", "PluginLight", "Area"])
def test_types_that_are_understood_and_a_scenes_own(typed: str) -> None:
    assert light_of({"type": typed})["type"] == typed


ODD = [
    ("sun.direction", "sun_direction"),
    ("a'b", "ab"),
    ('a"b', "ab"),
    (" sun", "sun"),
    ("sun ", "sun"),
    ("a\nb", "a_b"),
    ("a\tb", "a_b"),
    ("a\x7fb", "a_b"),
    (".", "_"),
]


@pytest.mark.parametrize("section", ["lights", "environments", "surfaces", "passes", "marks", "render"])
@pytest.mark.parametrize(("name", "nearest"), ODD)
def test_a_name_that_would_not_be_told_apart(section: str, name: str, nearest: str) -> None:
    inside = "position: [0, 0, 0]" if section == "marks" else ""
    escaped = name.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
    escaped = escaped.replace("\x7f", "\\x7f")
    fault = only_fault(HEAD + f'{section}:\n  "{escaped}": {{{inside}}}\n')
    assert (fault.line, fault.column, fault.expected, fault.nearest) == (3, 3, PLAIN, nearest)


def test_a_number_is_no_name_of_a_light() -> None:
    assert only_fault(HEAD + "lights: {5: {type: spot}}").found == "the number 5"
    assert only_fault('{"samelight": 2, "lights": {"5": {}}}', Path("a.json")).found == "the number 5"


@pytest.mark.parametrize("name", ["a..b", ".a", "a.", " a", "a'"])
def test_parameters_may_have_steps_and_nothing_odd(name: str) -> None:
    (fault,) = faults_of(HEAD + f'lights: {{sun: {{"{name}": 3}}}}')
    assert fault.nearest is not None


def test_a_setting_of_the_render_is_stated_in_its_group() -> None:
    assert only_fault(HEAD + "render: {gi.samples: 3}").nearest == "gi_samples"
