"""What a lighter is told when a sheet is wrong: file, line, column, path, expected, found, nearest name."""

from typing import Any

import pytest

from samelight.sheets.canonical import ONE_VALUE
from samelight.sheets.errors import MOST_FAULTS, Fault
from sheets.sheet_help import JSON, YAML, faults_of, only_fault, sheet_of

HEAD = "samelight: 2\n"
IN_LIGHT = HEAD + "lights:\n  sun: {type: spot, position: [0, 2, 0], %s}\n"
FIRST = len("  sun: {type: spot, position: [0, 2, 0], ") + 1
"""Column of what is put into `IN_LIGHT`."""


def says(fault: Fault) -> tuple[Any, ...]:
    return fault.line, fault.column, fault.path, fault.expected, fault.found, fault.nearest


@pytest.mark.parametrize(
    ("text", "line", "column", "path", "expected", "found", "nearest"),
    [
        ("lights: {}", 1, 1, "samelight", "the format version, samelight: 2", "none", None),
        ("samelihgt: 1", 1, 1, "samelihgt", "a key of a sheet", "the key samelihgt", "samelight"),
        ("samelight: yes", 1, 1, "samelight", "the format version, samelight: 2", "true", None),
        ("samelight: one", 1, 1, "samelight", "the format version, samelight: 2", "'one'", None),
        ("samelight:", 1, 1, "samelight", "the format version, samelight: 2", "nothing", None),
        ("samelight: 0", 1, 1, "samelight", "the format version, samelight: 2", "0", None),
        ("samelight: 1.5", 1, 1, "samelight", "the format version, samelight: 2", "1.5", None),
        ("a: 1\nsamelight: 3", 2, 1, "samelight", "format version 2", "version 3, of a newer program", None),
        (HEAD + "lighst: {}", 2, 1, "lighst", "a key of a sheet", "the key lighst", "lights"),
        (
            HEAD + "enviroments: {}",
            2,
            1,
            "enviroments",
            "a key of a sheet",
            "the key enviroments",
            "environments",
        ),
        (HEAD + "? |\n  a\n  b\n: 1", 2, 3, r"'a\nb\n'", "a key of a sheet", r"the key 'a\nb\n'", None),
        (HEAD + "version: 1.5", 2, 1, "version", "a version number", "1.5", None),
        (HEAD + "version: -1", 2, 1, "version", "a version number", "-1", None),
        (HEAD + "master: v3", 2, 1, "master", "a version number", "'v3'", None),
        (HEAD + "master: true", 2, 1, "master", "a version number", "true", None),
        (
            HEAD + "frames: 1001",
            2,
            1,
            "frames",
            "the first and the last frame, such as [1001, 1084]",
            "1001",
            None,
        ),
        (
            HEAD + "frames: [1084, 1001]",
            2,
            1,
            "frames",
            "the first and the last frame, such as [1001, 1084]",
            "[1084, 1001]",
            None,
        ),
        (
            HEAD + "frames: [1001, 1084, 1]",
            2,
            1,
            "frames",
            "the first and the last frame, such as [1001, 1084]",
            "[1001, 1084, 1]",
            None,
        ),
        (
            HEAD + "frames: [1001.5, 1084]",
            2,
            1,
            "frames",
            "the first and the last frame, such as [1001, 1084]",
            "[1001.5, 1084]",
            None,
        ),
        (HEAD + "shot: [HB_010]", 2, 1, "shot", "the name of the shot", "['HB_010']", None),
        (HEAD + "shot: ''", 2, 1, "shot", "the name of the shot", "an empty text", None),
        (HEAD + "remarks: late", 2, 1, "remarks", "a list of sentences", "'late'", None),
        (HEAD + "remarks: [1]", 2, 1, "remarks", "a list of sentences", "[1]", None),
        (HEAD + "notes: [a]", 2, 1, "notes", "text", "['a']", None),
        (HEAD + "key_shot: {a: 1}", 2, 1, "key_shot", "text", "a group of 1", None),
        (HEAD + "source: [a]", 2, 1, "source", "text, or values by name", "['a']", None),
        (HEAD + "lights: [sun]", 2, 1, "lights", "lights by name, each with its parameters", "['sun']", None),
        (HEAD + "lights: 3", 2, 1, "lights", "lights by name, each with its parameters", "3", None),
        (HEAD + "lights:\n  sun: 3", 3, 3, "lights.sun", "a group of parameters", "3", None),
        (HEAD + "lights:\n  sun: [1]", 3, 3, "lights.sun", "a group of parameters", "[1]", None),
        (
            HEAD + "lights: {sun: {keys: [[1, 2]]}}",
            2,
            10,
            "lights.sun",
            "a group of parameters",
            "a group of 1",
            None,
        ),
        (HEAD + "passes: {crew: all}", 2, 10, "passes.crew", "a group of parameters", "'all'", None),
        (HEAD + "render: [gi]", 2, 1, "render", "a group of parameters", "['gi']", None),
        (HEAD + "camera: [0, 0, 0]", 2, 1, "camera", "a group of parameters", "[0, 0, 0]", None),
        (HEAD + "cost: 18m20s", 2, 1, "cost", "a group of parameters", "'18m20s'", None),
        (HEAD + "marks: {face: {}}", 2, 9, "marks.face", "a position", "none", None),
        (
            HEAD + "marks: {face: {position: [0, 1]}}",
            2,
            16,
            "marks.face.position",
            "x, y and z, such as [0, 1.6, 0.2]",
            "[0, 1]",
            None,
        ),
        (
            HEAD + "marks: {face: {position: [0, 0, 0], nromal: [0, 0, 1]}}",
            2,
            37,
            "marks.face.nromal",
            "position, normal, radius, in_frame, matte, sees, hidden_by, in_view or covered_by",
            "the key nromal",
            "normal",
        ),
        (
            HEAD + "marks: {face: {position: [0, 0, 0], normal: [0, 0, 0]}}",
            2,
            37,
            "marks.face.normal",
            "a vector longer than 0",
            "[0, 0, 0]",
            None,
        ),
        (HEAD + "up_axis: X", 2, 1, "up_axis", "Y or Z", "'X'", None),
        (HEAD + "up_axis: 1", 2, 1, "up_axis", "Y or Z", "1", None),
        (
            HEAD + "north: [0, 1, 0]",
            2,
            1,
            "north",
            "a horizontal vector, such as [1, 0, 0]",
            "[0, 1, 0]",
            None,
        ),
        (
            HEAD + "north: [0, 0, 0]",
            2,
            1,
            "north",
            "a horizontal vector, such as [1, 0, 0]",
            "[0, 0, 0]",
            None,
        ),
        (HEAD + "north: '123'", 2, 1, "north", "a horizontal vector, such as [1, 0, 0]", "'123'", None),
        (
            HEAD + "north: [true, 0, 0]",
            2,
            1,
            "north",
            "a horizontal vector, such as [1, 0, 0]",
            "[true, 0, 0]",
            None,
        ),
        (
            HEAD + "units: cm",
            2,
            1,
            "units",
            "length, level or area by name, such as {length: cm}",
            "'cm'",
            None,
        ),
        (
            HEAD + "units: {lenght: cm}",
            2,
            9,
            "units.lenght",
            "length, level or area",
            "the key lenght",
            "length",
        ),
        (HEAD + "units: {level: 3}", 2, 9, "units.level", "one of lx, lm, cd, nit, relative", "3", None),
        (
            HEAD + "cost: {test_frame: soon}",
            2,
            8,
            "cost.test_frame",
            "a duration, such as 18m20s, or seconds",
            "'soon'",
            None,
        ),
        (HEAD + "cost: {test_frame: -5}", 2, 8, "cost.test_frame", "0 s or more", "-5", None),
        (HEAD + "passes: {crew: {hides: 3}}", 2, 17, "passes.crew.hides", "a list of names", "3", None),
        (HEAD + "passes: {crew: {hides: [[a]]}}", 2, 25, "passes.crew.hides[0]", "a name", "['a']", None),
        (HEAD + "camera: {moves: maybe}", 2, 10, "camera.moves", "true or false", "'maybe'", None),
        (
            HEAD + "camera: {target: [0, 0, 0]}",
            2,
            10,
            "camera.target",
            "a position beside the target",
            "none",
            None,
        ),
    ],
)
def test_the_rest_of_a_sheet(
    text: str, line: int, column: int, path: str, expected: str, found: str, nearest: str | None
) -> None:
    assert says(only_fault(text)) == (line, column, path, expected, found, nearest)


@pytest.mark.parametrize(
    ("typed", "path", "expected", "found", "nearest"),
    [
        ("color: [1, 0.5]", "color", "red, green and blue, such as [1, 0.9, 0.8]", "[1, 0.5]", None),
        ("color: red", "color", "red, green and blue, such as [1, 0.9, 0.8]", "'red'", None),
        ("color: [1, -0.1, 0]", "color", "red, green and blue of 0 or more", "[1, -0.1, 0]", None),
        ("temperature: warm", "temperature", "a temperature, such as 4300 or 4300 K", "'warm'", None),
        ("temperature: 350 cm", "temperature", "a temperature, such as 4300 or 4300 K", "'350 cm'", None),
        ("temperature: 3", "temperature", "500 to 100000 K", "3", None),
        ("intensity: -1", "intensity", "an intensity of 0 or more", "-1", None),
        ("intensity: -800 lx", "intensity", "an intensity of 0 or more", "'-800 lx'", None),
        ("intensity: bright", "intensity", "a number, or one with a unit such as 800 lx", "'bright'", None),
        ("intensity: 0.5 st", "intensity", "a number, or one with a unit such as 800 lx", "'0.5 st'", None),
        ("intensity: 800 lxx", "intensity", "a number, or one with a unit such as 800 lx", "'800 lxx'", None),
        ("intensity: ~", "intensity", "a value", "nothing", None),
        ("intensity: true", "intensity", "a number", "true", None),
        ("intensity: 1e101", "intensity", "a number of 1e+100 at most, either way", "1e+101", None),
        (
            "intensity: 1e90, color: [1e90, 0, 0]",
            "intensity",
            "an intensity and an exposure whose product is a number",
            "one too large for a number",
            None,
        ),
        ("exposure: 1 m", "exposure", "a number of stops", "'1 m'", None),
        (
            "exposure: 5000",
            "exposure",
            "an intensity and an exposure whose product is a number",
            "5000 stops on 1",
            None,
        ),
        ("unit: watt", "unit", "one of cd, lm, lx, nit, relative", "'watt'", None),
        ("unit: [lx]", "unit", "one of cd, lm, lx, nit, relative", "['lx']", None),
        ("intensity: 800 lx, unit: cd", "unit", "lx, as the intensity has it", "'cd'", None),
        ("normalize: 1", "normalize", "true or false", "1", None),
        ("normalize: 'yes'", "normalize", "true or false, without quotes", "'yes'", None),
        ("radius: -4 cm", "radius", "0 m or more", "'-4 cm'", None),
        ("radius: -0.04", "radius", "0 m or more", "-0.04", None),
        ("radius: big", "radius", "a length, such as 3.5 or 350 cm", "'big'", None),
        ("radius: 4 kg", "radius", "a length, such as 3.5 or 350 cm", "'4 kg'", None),
        ("width: [1]", "width", "a length, such as 3.5 or 350 cm", "[1]", None),
        ("height: 1e150", "height", "a number of 1e+100 at most, either way", "1e+150", None),
        ("angle: 400", "angle", "0 to 360 degrees", "400", None),
        ("cone: 200", "cone", "0 to 180 degrees", "200", None),
        ("cone: wide", "cone", "an angle in degrees", "'wide'", None),
        ("softness: 20 cm", "softness", "a number or a percentage", "'20 cm'", None),
        ("softness: -0.1", "softness", "0 or more", "-0.1", None),
        ("samples: many", "samples", "a number", "'many'", None),
        ("samples: '64'", "samples", "a number, without quotes", "'64'", None),
        ("samples: -4", "samples", "0 or more", "-4", None),
        ("visible: maybe", "visible", "true or false", "'maybe'", None),
        ("seen_by: 3", "seen_by", "a list of names", "3", None),
        ("seen_by: {camera: true}", "seen_by", ONE_VALUE, "a group of 1", None),
        ("texture: 3", "texture", "a path", "3", None),
        ("sha256: [1]", "sha256", "text", "[1]", None),
        ("diffuse: -1", "diffuse", "0 or more", "-1", None),
        ("focus_tint: [1, 2]", "focus_tint", "red, green and blue, such as [1, 0.9, 0.8]", "[1, 2]", None),
        ("shadow: {enable: 1}", "shadow.enable", "true or false", "1", None),
        (
            "shadow: {color: black}",
            "shadow.color",
            "red, green and blue, such as [1, 0.9, 0.8]",
            "'black'",
            None,
        ),
        ("intensity: {value: 3}", "intensity", ONE_VALUE, "a group of 1", None),
        (
            "direction: {azimuth: 140, elevation: 35}",
            "direction",
            "one value, with azimuth and elevation beside it and not in it",
            "a group of 2",
            None,
        ),
        ("shadow: {enable: {on: true}}", "shadow.enable", ONE_VALUE, "a group of 1", None),
        ("intensity: {key: [[1, 2]]}", "intensity", ONE_VALUE, "a group of 1", "keys"),
        ("direction: [0, 0, 0]", "direction", "a vector longer than 0", "[0, 0, 0]", None),
        ("direction: [0, 1]", "direction", "a vector, such as [0, -1, 0]", "[0, 1]", None),
        ("direction: down", "direction", "a vector, such as [0, -1, 0]", "'down'", None),
        ("azimuth: 131", "elevation", "an elevation beside the azimuth", "none", None),
        ("elevation: 24", "azimuth", "an azimuth beside the elevation", "none", None),
        ("azimuth: 131, elevation: 124", "elevation", "-90 to 90 degrees", "124", None),
        ("azimuth: south, elevation: 24", "azimuth", "an angle in degrees", "'south'", None),
        ("target: [0, 2, 0]", "target", "a target away from the position", "the same place", None),
        ("target: [0, 2]", "target", "x, y and z, such as [0, 1.6, 0.2]", "[0, 2]", None),
        ("rotation: 40", "rotation", "three angles, about x, y and z", "40", None),
        (
            "rotation: [0, 0, 0], rotation_order: XYYZ",
            "rotation_order",
            "one of XYZ, XZY, YXZ, YZX, ZXY, ZYX",
            "'XYYZ'",
            "XYZ",
        ),
        (f"matrix: {[0] * 15}", "matrix", "16 numbers, or four rows of four", "a list of 15", None),
        ("matrix: 3", "matrix", "16 numbers, or four rows of four", "3", None),
        ("matrix: [1, 0, 0, 0]", "matrix", "16 numbers, or four rows of four", "[1, 0, 0, 0]", None),
        (
            "matrix: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 2, 0, 1]",
            "matrix",
            "a matrix whose z axis has a length",
            "one of no length",
            None,
        ),
        (
            "direction: [0, -1, 0], azimuth: 90, elevation: 30",
            "azimuth",
            "the aim that its direction gives",
            "one 60.0° away",
            None,
        ),
        (
            "direction: [0, 0, -1], matrix: [0, 0, -1, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 2, 0, 1]",
            "matrix",
            "the aim that its direction gives",
            "one 90.0° away",
            None,
        ),
        (
            "shadow.enable: true, shadow: {enable: true}",
            "shadow.enable",
            "each parameter once",
            "it inside shadow as well",
            None,
        ),
        ("gel: {interpolation: held}", "gel", "keys beside the interpolation", "none", None),
        ("exposure: {keys: []}", "exposure.keys", "a list of [frame, value]", "an empty list", None),
        ("exposure: {keys: 3}", "exposure.keys", "a list of [frame, value]", "3", None),
        (
            "exposure: {keys: {1001: 2, 1048: 1}}",
            "exposure.keys",
            "a list of [frame, value]",
            "a group of 2",
            None,
        ),
        ("exposure: {keys: [2]}", "exposure.keys[0]", "[frame, value]", "2", None),
        ("exposure: {keys: [[1, 2, 3]]}", "exposure.keys[0]", "[frame, value]", "[1, 2, 3]", None),
        ("exposure: {keys: [[one, 2]]}", "exposure.keys[0][0]", "a number", "'one'", None),
        ("exposure: {keys: [[1, ]]}", "exposure.keys[0]", "[frame, value]", "[1]", None),
        ("exposure: {keys: [[1, ~]]}", "exposure.keys[0][1]", "a value at each key", "nothing", None),
        ("exposure: {keys: [[9, 2], [1, 3]]}", "exposure.keys[1]", "a frame after 9", "1", None),
        ("exposure: {keys: [[9, 2], [9, 3]]}", "exposure.keys[1]", "a frame after 9", "9", None),
        (
            "exposure: {keys: [[1, 2]], interpolation: hold}",
            "exposure.interpolation",
            "one of linear, held",
            "'hold'",
            "held",
        ),
        (
            "exposure: {keys: [[1, 2]], interpolaton: held}",
            "exposure.interpolaton",
            "keys or interpolation",
            "the key interpolaton",
            "interpolation",
        ),
        ("exposure: {keys: [[1, 2], [9, bright]]}", "exposure", "a number of stops", "'bright'", None),
        ("azimuth: 1, elevation: {keys: [[1, 20], [9, 124]]}", "elevation", "-90 to 90 degrees", "124", None),
    ],
)
def test_a_light(typed: str, path: str, expected: str, found: str, nearest: str | None) -> None:
    fault = only_fault(IN_LIGHT % typed)
    assert (fault.path, fault.expected, fault.found, fault.nearest) == (
        f"lights.sun.{path}",
        expected,
        found,
        nearest,
    )
    assert fault.file == "quay.yaml"
    assert fault.line == 3
    assert fault.column is not None
    if typed.startswith(path.split("[", maxsplit=1)[0].split(".", maxsplit=1)[0] + ":"):
        assert fault.column >= FIRST


@pytest.mark.parametrize(
    ("typed", "path", "expected"),
    [
        ("rotation: up", "rotation", "an angle in degrees"),
        ("rotation: [1, 2]", "rotation", "three angles, about x, y and z"),
        (
            "matrix: [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]",
            "matrix",
            "a matrix whose y axis has a length",
        ),
        ("texture: 3", "texture", "a path"),
        ("seen_by: 3", "seen_by", "a list of names"),
    ],
)
def test_an_environment(typed: str, path: str, expected: str) -> None:
    fault = only_fault(HEAD + f"environments: {{sky: {{{typed}}}}}")
    assert (fault.path, fault.expected, fault.line) == (f"environments.sky.{path}", expected, 2)


def test_a_sheet_for_another_shot() -> None:
    fault = only_fault(HEAD + "shot: HB_050", shot="HB_040")
    assert says(fault) == (2, 1, "shot", "the shot HB_040", "a sheet of HB_050", None)


def test_a_bad_matrix_is_told_once_though_it_gives_a_position_and_a_direction() -> None:
    only_fault(HEAD + f"lights: {{sun: {{type: spot, matrix: {[1] * 15}}}}}")
    only_fault(HEAD + f"lights: {{sun: {{type: spot, target: [0, 0, 0], matrix: {[1] * 15}}}}}")


def test_a_position_that_its_matrix_contradicts() -> None:
    matrix = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 2.5, 0, 1]
    fault = only_fault(IN_LIGHT % f"matrix: {matrix}")
    assert (fault.path, fault.expected) == ("lights.sun.position", "the place that its matrix gives")
    assert fault.found == "one 0.5 m away"


def test_quoted_text_that_is_no_finite_number_either() -> None:
    assert only_fault(IN_LIGHT % "samples: 'nan'").expected == "a number"


def test_one_light_of_nothing_but_faults_is_not_read_to_its_end() -> None:
    wrong = ", ".join(f"w{number}_tint: [0, -1, 0]" for number in range(MOST_FAULTS + 500))
    faults = faults_of(IN_LIGHT % wrong)
    assert len(faults) == MOST_FAULTS + 1
    assert faults[-1].expected == "at most 1,000 faults in one file"


def test_a_number_that_is_not_finite_is_told_once() -> None:
    fault = only_fault(IN_LIGHT % "intensity: .inf")
    assert says(fault)[2:] == (
        "lights.sun.intensity",
        "a finite number, or text in quotes",
        "'.inf'",
        None,
    )
    assert only_fault(IN_LIGHT % "exposure: {keys: [[1, 1e999], [2, 3]]}").found == "'1e999'"


def test_a_bad_position_is_not_told_again_by_the_target() -> None:
    text = HEAD + "lights: {sun: {type: spot, position: [0, 2], target: [0, 0, 0]}}"
    assert only_fault(text).path == "lights.sun.position"


def test_a_newer_format_is_told_alone_since_its_rules_are_not_known() -> None:
    fault = only_fault("samelight: 3\nlighst: {}\nlights: 3\n")
    assert fault.found == "version 3, of a newer program"


ALL_AT_ONCE = """\
samelihgt: 1
lighst: {}
version: x
lights:
  sun: {azimuth: 131, elevation: 124,
        color: [1, 2],
        samples: 64, samples: 32}
  rim: 3
  fill: {intensity: .inf, exposure: {keys: []}}
environments: {sky: {rotation: up}}
marks: {face: {}}
units: {lenght: cm}
"""


def test_all_faults_of_a_file_are_told_together_in_the_order_of_its_lines() -> None:
    faults = faults_of(ALL_AT_ONCE)
    assert [(fault.line, fault.path) for fault in faults] == [
        (1, "samelihgt"),
        (2, "lighst"),
        (3, "version"),
        (5, "lights.sun.elevation"),
        (6, "lights.sun.color"),
        (7, "lights.sun.samples"),
        (8, "lights.rim"),
        (9, "lights.fill.intensity"),
        (9, "lights.fill.exposure.keys"),
        (10, "environments.sky.rotation"),
        (11, "marks.face"),
        (12, "units.lenght"),
    ]


def test_json_is_told_the_same_with_its_own_lines() -> None:
    text = (
        '{"samelight": 2,\n "lighst": {},\n "lights": {"sun": {"elevation": 24,\n   "cone": 200, "cone": 3}}}'
    )
    assert [says(fault)[:3] for fault in faults_of(text, JSON)] == [
        (2, 2, "lighst"),
        (3, 13, "lights.sun.azimuth"),
        (4, 4, "lights.sun.cone"),
        (4, 17, "lights.sun.cone"),
    ]


def test_every_fault_is_one_line_of_text() -> None:
    for fault in faults_of(ALL_AT_ONCE):
        assert isinstance(fault, Fault)
        assert str(fault).isprintable()
        assert str(fault).startswith(f"{YAML}:{fault.line}:{fault.column}: ")


@pytest.mark.parametrize(
    ("typed", "path", "nearest"),
    [
        ("gi: {range: '3,5 m'}", "render.gi.range", "3.5 m"),
        ("gi: {range: '3,5'}", "render.gi.range", "3.5"),
        ("gi: {offset: '3,5 cm'}", "render.gi.offset", "3.5 cm"),
        ("gi: {span: ['1 m', '3,5 m']}", "render.gi.span[1]", "3.5 m"),
        ("gi: {range: {keys: [[1001, '3,5 m'], [1010, '4 m']]}}", "render.gi.range", "3.5 m"),
    ],
)
def test_a_decimal_comma_in_quotes(typed: str, path: str, nearest: str) -> None:
    fault = only_fault(HEAD + f"render:\n  {typed}\n", YAML)
    assert (fault.line, fault.path, fault.nearest) == (3, path, nearest)
    assert fault.expected == "a number with a decimal point"


@pytest.mark.parametrize("typed", ["'path, two-sided'", "'1,2'", "'1,2,3'", "[a, 'b,c']", "'4,x'"])
def test_a_comma_in_other_text(typed: str) -> None:
    sheet = sheet_of(HEAD + f"render:\n  gi: {{mood: {typed}}}\n", YAML)
    assert sheet.value("render", "gi", "mood") is not None


@pytest.mark.parametrize(("typed", "nearest"), [("Held", "held"), ("hedl", "held"), ("ALL", "all")])
def test_a_slip_for_a_word_that_means_something(typed: str, nearest: str) -> None:
    fault = only_fault(HEAD + f"passes:\n  fog: {{frames: {typed}}}\n", YAML)
    assert (fault.line, fault.path, fault.nearest) == (3, "passes.fog.frames", nearest)
