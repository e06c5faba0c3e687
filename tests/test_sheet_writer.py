"""The writer that other programs copy: one file, nothing but Python, and sheets that this program reads."""

from __future__ import annotations

import ast
import importlib.util
import json
import math
import os
import subprocess
import sys
import threading
from pathlib import Path
from types import ModuleType
from typing import Any

import jsonschema
import pytest

from samelight.light.directions import from_azimuth_elevation
from samelight.sheets.resources import resource
from samelight.sheets.schema import sheet_schema
from samelight.sheets.sheet import Sheet, read_sheet
from samelight.sheets.values import Level

WRITER = resource("writer", "sheet_writer.py")


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("sheet_writer", WRITER)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


sw = load()


def full() -> Any:
    """A sheet with something in every section."""
    sheet = sw.Sheet("HB_040", frames=(1001, 1084), master=3, notes="keep the lantern low")
    sheet.light(
        "sun",
        "distant",
        azimuth=131,
        elevation=24,
        intensity=3.2,
        exposure=0,
        temperature=4300,
        angle=0.53,
        samples=64,
        seen_by={"camera", "diffuse"},
        light_links=["*"],
    )
    sheet.light(
        "lantern",
        "spot",
        position=(1.2, 2.4, 2.0),
        target=(0.3, 1.62, 0.1),
        intensity=sw.animated([(1001, 2.0), (1048, 1.0)]),
        unit="cd",
        cone=32,
        softness=0.2,
        shadow={"enable": True, "color": (0, 0, 0)},
        flicker=0.3,
    )
    sheet.light(
        "window",
        "rect",
        matrix=[[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 3, -4, 1]],
        width="150 cm",
        height=2,
        normalize=True,
    )
    sheet.environment("dawn_sky", texture="maps/dawn.exr", sha256="A" * 64, rotation=40, intensity=0.8)
    sheet.render("gi", on=True, range="3.5 m", bounces=3, rays=192)
    sheet.surface("nets", shade_area=0.4, assigned_to=["/set/nets"])
    sheet.render_pass("background", frames="held", hides=["crew"])
    sheet.mark("face", position=(0.3, 1.62, 0.1), normal=(0, 0, 1))
    sheet.camera(position=(4.1, 1.7, 9.0), direction=(-0.4, -0.05, -0.91), moves=False)
    sheet.cost(test_frame="18m20s", resolution=[1920, 804])
    sheet.source(scene="quay_040")
    sheet.remark("The nets are not final.")
    return sheet


def read(sheet: Any, tmp_path: Path) -> Sheet:
    return read_sheet(Path(sheet.write(tmp_path / "HB_040.v001.json")))


class TestOnAnyPython:
    def test_its_syntax_is_that_of_3_7(self) -> None:
        ast.parse(WRITER.read_text(encoding="utf-8"), feature_version=(3, 7))

    def test_newer_syntax_would_be_seen(self) -> None:
        with pytest.raises(SyntaxError):
            ast.parse("if (n := 1): pass", feature_version=(3, 7))

    def test_it_imports_the_standard_library_alone(self) -> None:
        tree = ast.parse(WRITER.read_text(encoding="utf-8"))
        imports = [node for node in ast.walk(tree) if isinstance(node, ast.Import | ast.ImportFrom)]
        names = {alias.name for node in imports if isinstance(node, ast.Import) for alias in node.names}
        names |= {
            (node.module or "").partition(".")[0] for node in imports if isinstance(node, ast.ImportFrom)
        }
        assert names <= set(sys.stdlib_module_names)

    def test_without_site_packages(self, tmp_path: Path) -> None:
        code = (
            f"import sys; sys.path.insert(0, {str(WRITER.parent)!r}); import sheet_writer as sw; "
            "s = sw.Sheet('HB_010'); s.light('sun', 'distant', azimuth=131, elevation=24, intensity=3.2); "
            "print(s.publish(sys.argv[1])); print('yaml' in sys.modules, 'numpy' in sys.modules)"
        )
        command = [sys.executable, "-I", "-S", "-c", code, str(tmp_path)]
        run = subprocess.run(command, capture_output=True, text=True, check=True, timeout=600)
        path, modules = run.stdout.splitlines()
        assert Path(path) == tmp_path / "shots" / "HB_010" / "HB_010.v001.json"
        assert modules == "False False"
        assert read_sheet(Path(path)).shot == "HB_010"

    def test_every_function_says_what_it_does(self) -> None:
        public = [sw, sw.Sheet, sw.animated, sw.latest_version, sw.texture_hash]
        public += [getattr(sw.Sheet, name) for name in vars(sw.Sheet) if not name.startswith("_")]
        assert all(thing.__doc__ for thing in public)


class TestWhatItWrites:
    def test_the_program_reads_it(self, tmp_path: Path) -> None:
        sheet = read(full(), tmp_path)
        assert (sheet.shot, sheet.version, sheet.master, sheet.frames) == ("HB_040", 1, 3, (1001, 1084))
        direction = sheet.value("lights", "sun", "direction")
        assert isinstance(direction, tuple)
        assert direction == pytest.approx(from_azimuth_elevation(131, 24))
        assert sheet.value("lights", "sun", "level") == Level(3.2)
        assert sheet.value("lights", "lantern", "flicker") == 0.3
        assert sheet.value("lights", "window", "width") == 1.5
        assert sheet.value("lights", "sun", "seen_by") == frozenset({"camera", "diffuse"})
        assert sheet.value("render", "gi", "range") == 3.5
        assert sheet.value("cost", "", "test_frame") == 1100.0
        assert sheet.remarks == ("The nets are not final.",)

    def test_it_is_valid_by_the_schema(self) -> None:
        jsonschema.validate(json.loads(full().text()), sheet_schema())

    def test_the_same_sheet_gives_the_same_bytes(self) -> None:
        assert full().text() == full().text()
        assert full().text().endswith("}\n")

    def test_vectors_of_other_programs_become_lists(self) -> None:
        class Vector:
            def __iter__(self) -> Any:
                return iter((Number(1), Number(2), Number(3)))

        class Number:
            def __init__(self, value: float) -> None:
                self.value = value

            def __float__(self) -> float:
                return self.value + 0.5

        sheet = sw.Sheet("A").light("key", "point", position=Vector(), tags={"b", "a"}, pivot=Vector())
        light = sheet.tree["lights"]["key"]
        assert light["position"] == [1.5, 2.5, 3.5]
        assert light["pivot"] == [1.5, 2.5, 3.5]
        assert light["tags"] == ["a", "b"]

    def test_a_texture_by_its_content(self, tmp_path: Path) -> None:
        (tmp_path / "dawn.exr").write_bytes(b"dawn")
        # printf dawn | sha256sum
        assert sw.texture_hash(tmp_path / "dawn.exr").startswith("8326e09ce4e90a41")


WRONG: list[tuple[str, dict[str, Any], str]] = [
    ("position", {"position": (1, 2)}, "3 values"),
    ("position", {"position": "here"}, "3 values"),
    ("position", {"position": (1, 2, "three")}, "a number, or one with a unit"),
    ("direction", {"direction": (0, 0, 0)}, "longer than 0"),
    ("direction", {"direction": (0, math.nan, 1)}, "a finite number"),
    ("azimuth and elevation", {"azimuth": 30}, "together"),
    ("rotation_order", {"rotation": (1, 2, 3), "rotation_order": "ABC"}, "one of XYZ"),
    ("matrix", {"matrix": [1] * 15}, "16 values"),
    ("matrix", {"matrix": 3}, "16 values"),
    ("intensity", {"intensity": -1}, "0 or more"),
    ("intensity", {"intensity": True}, "a number"),
    ("unit", {"unit": "candles"}, "one of relative"),
    ("normalize", {"normalize": 1}, "True or False"),
    ("color", {"color": (1, 1, -1)}, "0 or more"),
    ("temperature", {"temperature": 43}, "kelvin from 500"),
    ("radius", {"radius": math.inf}, "a finite number"),
    ("softness", {"softness": 20}, "a share from 0 to 1"),
    ("samples", {"samples": -1}, "0 or more"),
    ("visible", {"visible": "yes"}, "True or False"),
    ("light_links", {"light_links": ["/a", ""]}, "text"),
    ("shadow", {"shadow": "soft"}, "a dict"),
    ("glow", {"glow": object()}, "a number, a text"),
    ("glow", {"glow": {1: 2}}, "names as keys"),
    ("glow", {"glow": math.nan}, "a finite number"),
]


class TestWhatItRefuses:
    @pytest.mark.parametrize(("where", "given", "says"), WRONG)
    def test_a_light(self, where: str, given: dict[str, Any], says: str) -> None:
        sheet = sw.Sheet("A")
        with pytest.raises(sw.SheetError, match=says) as caught:
            sheet.light("key", "spot", **given)
        assert str(caught.value).startswith("lights.key")
        assert where.split(maxsplit=1)[0] in str(caught.value)
        assert "lights" not in sheet.tree  # nothing half-made is left

    @pytest.mark.parametrize(
        ("make", "says"),
        [
            (lambda: sw.Sheet("../A"), "a name that a folder can have"),
            (lambda: sw.Sheet(""), "a name that a folder can have"),
            (lambda: sw.Sheet("A" * 300), "at most 200 bytes"),
            (lambda: sw.Sheet("A", frames=(9, 1)), "first and last frame"),
            (lambda: sw.Sheet("A", frames=(1.5, 2)), "a whole number"),
            (lambda: sw.Sheet("A", master=0), "a version number"),
            (lambda: sw.Sheet("A", up_axis="X"), "Y or Z"),
            (lambda: sw.Sheet("A", units={"length": "league"}), "one of m, cm"),
            (lambda: sw.Sheet("A", units={"lenght": "m"}), "length, level or area"),
            (lambda: sw.Sheet("A", units={"level": "bright"}), "one of relative"),
            (lambda: sw.Sheet("A").light("a", "point").light("a", "point"), "each name once"),
            (lambda: sw.Sheet("A").light("a/b", "point"), "a name that a folder can have"),
            (lambda: sw.Sheet("A").light("a", ""), "text"),
            (lambda: sw.Sheet("A").environment("a", sha256="12"), "64 hexadecimal digits"),
            (lambda: sw.Sheet("A").write("a.yaml"), r"ends in \.json"),
            (lambda: sw.Sheet("A").text(0), "a version number"),
            (lambda: sw.animated([]), "at least one pair"),
            (lambda: sw.animated([(2, 1), (1, 1)]), "a frame after 2"),
            (lambda: sw.animated([(1, 2, 3)]), "pairs of frame and value"),
            (lambda: sw.animated([(1, 2)], "smooth"), "one of linear"),
        ],
    )
    def test_other_things(self, make: Any, says: str) -> None:
        with pytest.raises(sw.SheetError, match=says):
            make()

    def test_what_holds_itself(self) -> None:
        endless: list[Any] = []
        endless.append(endless)
        with pytest.raises(sw.SheetError, match="levels of nesting"):
            sw.Sheet("A").render("gi", deep=endless)


class TestFiles:
    def test_versions_go_on(self, tmp_path: Path) -> None:
        paths = [full().publish(tmp_path) for _ in range(3)]
        assert [Path(path).name for path in paths] == [f"HB_040.v00{number}.json" for number in (1, 2, 3)]
        (tmp_path / "shots/HB_040/HB_040.v007.yaml").write_text("samelight: 2\n")
        assert Path(full().publish(tmp_path)).name == "HB_040.v008.json"
        assert json.loads((tmp_path / "shots/HB_040/HB_040.v008.json").read_text())["version"] == 8

    def test_nobody_overwrites_anybody(self, tmp_path: Path) -> None:
        made: list[str] = []
        threads = [threading.Thread(target=lambda: made.append(full().publish(tmp_path))) for _ in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len({str(path) for path in made}) == 8

    def test_a_write_that_fails_leaves_the_old_file_and_no_other(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path = tmp_path / "HB_040.v001.json"
        full().write(path)
        before = path.read_bytes()

        def full_disk(_: int) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "fsync", full_disk)
        with pytest.raises(OSError, match="No space"):
            sw.Sheet("HB_040").write(path)
        assert path.read_bytes() == before
        assert list(tmp_path.iterdir()) == [path]

    @pytest.mark.skipif(os.name != "posix", reason="there are no such permissions")
    def test_others_may_read_it(self, tmp_path: Path) -> None:
        path = Path(full().write(tmp_path / "A.json"))
        mask = os.umask(0)
        os.umask(mask)
        assert path.stat().st_mode & 0o777 == 0o666 & ~mask
