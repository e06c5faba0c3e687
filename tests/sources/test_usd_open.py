"""Files that are no scene, or only part of one: each gets a message with the file, what was expected and found."""

import json
import os
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pxr import Usd, UsdLux

import trial_work
from known import there
from samelight.sheets.errors import Fault, SamelightError
from samelight.sources.errors import CaptureError
from samelight.sources.limits import ALONE, ALONE_FACTOR, LAYER, LAYER_FACTOR, SCENE
from samelight.sources.request import CaptureRequest
from samelight.sources.trial import tried
from samelight.sources.usd import open
from samelight.sources.usd.capture import capture_usd

LAMP = 'def SphereLight "key"\n{\n    float inputs:intensity = 3\n}\n'


def fault(path: Path) -> Fault:
    with pytest.raises(CaptureError) as caught:
        capture_usd(path)
    assert isinstance(caught.value, SamelightError)
    assert str(caught.value) == str(caught.value.fault)
    assert caught.value.fault.file == str(path)
    return caught.value.fault


@pytest.mark.parametrize(
    ("name", "content", "found"),
    [
        ("scene.usda", b"", "an empty file"),
        ("scene.usda", b"hello", "one that begins with b'hello'"),
        ("scene.usda", b"PXR-USDC" + bytes(100), "one that begins with b'PXR-USDC'"),
        ("scene.usdc", b"#usda 1.0\n", "one that begins with b'#usda 1.'"),
        ("scene.usd", b"PK\x03\x04", "one that begins with b'PK\\x03\\x04'"),
        ("scene.usdz", b"hello", "one that begins with b'hello'"),
        ("scene.txt", b"#usda 1.0\n", "a file named *.txt"),
        ("scene", b"#usda 1.0\n", "a name without a suffix"),
    ],
)
def test_not_a_scene(tmp_path: Path, name: str, content: bytes, found: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    said = fault(path)
    assert said.found == found
    assert said.expected


def test_no_such_file_and_a_folder(tmp_path: Path) -> None:
    assert fault(tmp_path / "gone.usda").found == "no such file"
    assert fault(tmp_path).found == "a folder"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "scene.usda")
    assert fault(tmp_path / "scene.usda").found == "a pipe or a device"


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="this user may read every file")
def test_unreadable(scene: Any) -> None:
    path = scene(LAMP)
    path.chmod(0)
    assert fault(path).expected == "a readable file"


def test_unreadable_for_whoever_may_read_all(
    scene: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: Path, *args: int, **kwargs: Any) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    path = scene(LAMP)
    monkeypatch.setattr(os, "open", refuse)
    said = fault(path)
    assert (said.expected, said.found) == ("a readable file", "Permission denied")


def test_broken_text_has_its_line(scene: Callable[..., Path]) -> None:
    said = fault(scene('def SphereLight "key"\n{\n    float inputs:intensity = \n}\n'))
    assert said.line == 4
    assert "inputs:intensity" in said.found


def test_truncated_text(scene: Callable[..., Path]) -> None:
    assert fault(scene('def SphereLight "key"\n{\n    float inputs:inten')).line is not None
    said = fault(scene('def SphereLight "key"\n{\n    double3 inputs:at = (1, '))
    assert "TupleValueClose" in said.found and "::" not in said.found  # not by the names of USD's C++


@pytest.fixture
def crate(tmp_path: Path) -> Path:
    path = tmp_path / "scene.usdc"
    stage = Usd.Stage.CreateNew(str(path))
    for number in range(40):
        UsdLux.SphereLight.Define(stage, f"/rig/lamp_{number}").CreateIntensityAttr(float(number))
    stage.Save()
    return path


def test_crate(crate: Path) -> None:
    lights = capture_usd(crate)["lights"]
    assert {name: lamp["intensity"] for name, lamp in lights.items()} == {
        f"lamp_{n}": float(n) for n in range(40)
    }


@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.9, 0.99])
def test_truncated_crate(crate: Path, tmp_path: Path, share: float) -> None:
    content = crate.read_bytes()
    path = tmp_path / f"cut_{share}.usdc"
    path.write_bytes(content[: int(len(content) * share)])
    assert fault(path).expected == "a whole USD scene"


def altered(crate: Path, path: Path, place: int, number: int) -> Path:
    """A copy of a packed scene with another number of 64 bits at a place."""
    content = bytearray(crate.read_bytes())
    struct.pack_into("<q", content, place, number)
    path.write_bytes(content)
    return path


def sections(crate: Path) -> Iterator[tuple[str, int, int]]:
    """The name, and the places of entry and content, of each section of a packed scene."""
    content = crate.read_bytes()
    (table,) = struct.unpack_from("<q", content, 16)
    (count,) = struct.unpack_from("<q", content, table)
    for entry in range(table + 8, table + 8 + 32 * count, 32):
        name, start, _ = struct.unpack_from("<16sqq", content, entry)
        yield name.rstrip(b"\0").decode(), entry, start


def test_a_crate_whose_table_of_contents_is_wrong(crate: Path, tmp_path: Path) -> None:
    path = tmp_path / "wrong.usdc"
    for number in (-1, 0, 2**40):
        assert "table of contents lies at" in fault(altered(crate, path, 16, number)).found
    (table,) = struct.unpack_from("<q", crate.read_bytes(), 16)
    for number in (-1, 0, 2**40):
        assert "sections" in fault(altered(crate, path, table, number)).found
    name, entry, _ = next(sections(crate))
    for place, number in ((16, -1), (16, 2**40), (24, -1), (24, 2**62)):
        assert f"whose section {name} ends at" in fault(altered(crate, path, entry + place, number)).found


@pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="this system does not hold to limits of memory"
)
def test_a_crate_that_claims_to_hold_more_than_all_memory(crate: Path, tmp_path: Path) -> None:
    before = trial_work.peak()
    for name, _, start in sections(crate):
        for number in (2**31, 2**62):
            path = altered(crate, tmp_path / f"{name}.usdc", start, number)
            try:
                tried(path, SCENE, capture_usd, path)
            except CaptureError as error:
                assert str(path) in str(error)
            assert tried(path, SCENE, trial_work.peak) < before + 2**30


def test_an_up_axis_that_is_none(scene: Callable[..., Path]) -> None:
    assert "upAxis" in fault(scene('(upAxis = "")\n' + LAMP)).expected


def test_crate_overwritten_in_the_middle(crate: Path, tmp_path: Path) -> None:
    content = bytearray(crate.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 200] = b"\xa5" * 200
    path = tmp_path / "damaged.usdc"
    path.write_bytes(content)
    assert fault(path).file == str(path)


def test_references_in_a_circle(scene: Callable[..., Path]) -> None:
    text = 'def "a" (references = </b>)\n{\n}\ndef "b" (references = </a>)\n{\n}\n' + LAMP
    said = fault(scene(text))
    assert said.expected == "references and layers without a circle"
    assert "</a>" in said.found
    assert "anon:" not in said.found


def test_layers_in_a_circle(scene: Callable[..., Path]) -> None:
    scene('(subLayers = [@scene.usda@])\ndef "a"\n{\n}\n', "below.usda")
    assert (
        fault(scene("(subLayers = [@below.usda@])\n" + LAMP)).expected
        == "references and layers without a circle"
    )


def test_what_is_missing_is_remarked_upon(
    scene: Callable[..., Path], capfd: pytest.CaptureFixture[str]
) -> None:
    path = scene(
        """(metersPerUnit = 1
        subLayers = [@gone_layer.usda@])
        def "a" (references = @gone_reference.usda@)
        {
        }
        def "b" (payload = @gone_payload.usda@)
        {
        }
        def "c" (references = </nothing>)
        {
        }
        """
        + LAMP
    )
    sheet = capture_usd(path)
    assert sheet["lights"]["key"]["intensity"] == 3.0
    for name in ("gone_layer.usda", "gone_reference.usda", "gone_payload.usda", "</nothing>"):
        assert sum(name in remark for remark in sheet["remarks"]) == 1
    said = capfd.readouterr()
    assert (said.out, said.err) == ("", "")


def test_payloads_are_loaded(scene: Callable[..., Path]) -> None:
    scene('(defaultPrim = "lamp")\n' + LAMP.replace("key", "lamp"), "lamp.usda")
    sheet = capture_usd(scene('(metersPerUnit = 1)\ndef "rig" (payload = @lamp.usda@)\n{\n}\n'))
    assert sheet["lights"]["rig"]["intensity"] == 3.0


def package(path: Path, members: dict[str, str], compression: int = zipfile.ZIP_STORED) -> Path:
    """A .usdz; its members are aligned to 64 bytes, as the format asks."""
    with zipfile.ZipFile(path, "w", compression) as archive:
        for name, content in members.items():
            member = zipfile.ZipInfo(name)
            member.compress_type = compression
            here = there(archive.fp).tell() + 30 + len(name)
            padding = -(here + 4) % 64
            member.extra = b"\x86\x19" + padding.to_bytes(2, "little") + bytes(padding)
            archive.writestr(member, content)
    return path


SKY = """#usda 1.0
(metersPerUnit = 1)
def DomeLight "sky"
{
    asset inputs:texture:file = @maps/dawn.exr@
}
"""


def test_package(tmp_path: Path) -> None:
    path = package(tmp_path / "scene.usdz", {"scene.usda": SKY, "maps/dawn.exr": "dawn"})
    sheet = capture_usd(path)
    dome = sheet["environments"]["sky"]
    # printf dawn | sha256sum
    assert dome["sha256"] == "8326e09ce4e90a419a510ed74895cf6713f2fb42b0b3ffc126527ec2b9e95872"
    assert dome["texture"].endswith("maps/dawn.exr")
    assert sheet["remarks"] == [
        "/sky: what its texture maps/dawn.exr looks like is not known: it lies inside a package."
    ]


def test_compressed_package(tmp_path: Path) -> None:
    path = package(tmp_path / "bomb.usdz", {"scene.usda": SKY + "\n" * 10_000_000}, zipfile.ZIP_DEFLATED)
    assert path.stat().st_size < 100_000
    said = fault(path)
    assert said.expected == "a .usdz package with members stored uncompressed"
    assert said.found == "scene.usda compressed"


def test_package_beyond_what_its_format_can_address(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(open, "LARGEST_PACKAGE", 100)
    assert "0 GiB" in fault(package(tmp_path / "scene.usdz", {"scene.usda": SKY})).expected


def test_truncated_package(tmp_path: Path) -> None:
    path = package(tmp_path / "scene.usdz", {"scene.usda": SKY})
    path.write_bytes(path.read_bytes()[:-30])
    assert fault(path).expected == "a whole .usdz package"


def test_package_without_a_scene(tmp_path: Path) -> None:
    path = package(tmp_path / "scene.usdz", {"maps/dawn.exr": "dawn"})
    assert fault(path).file == str(path)


def test_empty_package(tmp_path: Path) -> None:
    path = package(tmp_path / "scene.usdz", {"scene.usda": SKY})
    with zipfile.ZipFile(path, "w"):
        pass
    assert fault(path).found.startswith("one that begins with b'PK")


def test_scene_without_lights(scene: Callable[..., Path]) -> None:
    sheet = capture_usd(scene('(metersPerUnit = 1)\ndef Xform "set"\n{\n}\n', "HB_010.usda"))
    assert (sheet["samelight"], sheet["shot"], sheet["version"], sheet["lights"]) == (2, "HB_010", 1, {})
    assert sheet["remarks"] == ["The scene has no lights."]


def test_frames_the_wrong_way_round(scene: Callable[..., Path]) -> None:
    with pytest.raises(CaptureError, match="expected frames from first to last, found 20 to 10"):
        capture_usd(scene(LAMP), CaptureRequest(frames=(20, 10)))


def test_a_very_deep_scene(scene: Callable[..., Path]) -> None:
    depth = 3000
    text = "".join(f'def Xform "a{n}"\n{{\n' for n in range(depth)) + LAMP + "}\n" * depth
    assert capture_usd(scene(text))["lights"]["key"]["intensity"] == 3.0


def test_a_device_is_no_texture(scene: Callable[..., Path]) -> None:
    text = '(metersPerUnit = 1)\ndef DomeLight "sky"\n{\nasset inputs:texture:file = @/dev/zero@\n}\n'
    if not Path("/dev/zero").exists():
        pytest.skip("this system has no /dev/zero")
    sheet = capture_usd(scene(text), CaptureRequest(roots=("/dev",)))
    assert "sha256" not in sheet["environments"]["sky"]
    assert sheet["remarks"] == ["/sky: its texture /dev/zero could not be read; it is compared by its path."]


def test_usd_is_imported_only_when_a_scene_is_read() -> None:
    code = "import sys, samelight.sources, samelight.sources.errors, samelight.sources.usd.attributes; print('pxr' in sys.modules)"
    ran = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    assert ran.stdout.strip() == "False"


def test_of_a_long_line_that_is_at_fault_only_its_ends_are_quoted(tmp_path: Path) -> None:
    path = tmp_path / "scene.usda"
    points = ",".join(["(0,0,0)"] * 50_000)
    path.write_text(
        f'#usda 1.0\ndef Scope "s"\n{{\n  def Points "p" {{ point3f[] points = [{points}] }}\n}}\n'
    )
    said = fault(path)
    assert said.line == 4
    assert len(str(said)) < 1_000


def test_layers_may_take_what_their_size_gives_them_and_only_references_any_number_of_times(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = []
    monkeypatch.setattr(open, "limit", lambda limits: given.append(limits.memory))
    small, large = tmp_path / "small.usda", tmp_path / "large.usda"
    large.write_text(f"#usda 1.0\n(\n subLayers = [@./small.usda@]\n)\n{LAMP}#{'.' * 100_000}\n")
    small.write_text(f"#usda 1.0\n{LAMP}")
    top = tmp_path / "top.usda"
    top.write_text("#usda 1.0\n(\n subLayers = [@./large.usda@, @./small.usda@, @./gone.usda@]\n)\n")
    capture_usd(top)
    sizes = [path.stat().st_size for path in (top, large, small)]
    so_far = [sizes[0], sum(sizes[:2]), sum(sizes), sum(sizes)]
    assert given == [
        *(LAYER.memory + LAYER_FACTOR * size for size in so_far),
        ALONE.memory + ALONE_FACTOR * sum(sizes),
    ]
    assert given[-1] < SCENE.memory / 10
    given.clear()
    top.write_text('#usda 1.0\ndef "a" (references = @./large.usda@</key>)\n{\n}\n')
    capture_usd(top)
    assert given[-1] == SCENE.memory


@pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="this system does not hold to limits of memory"
)
def test_a_layer_that_takes_more_than_its_size_explains_is_said_to_take_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from pxr import Sdf, Tf

    def runs_out(_: str) -> None:
        raise Tf.ErrorException("Exception thrown while opening layer: std::bad_alloc")

    path = tmp_path / "scene.usda"
    path.write_text(f"#usda 1.0\n{LAMP}")
    monkeypatch.setattr(Sdf.Layer, "FindOrOpen", staticmethod(runs_out))
    with pytest.raises(MemoryError):
        capture_usd(path)


@pytest.mark.skipif(sys.platform != "linux", reason="memory is counted as Linux does")
def test_a_small_scene_that_doubles_itself_takes_little_memory(tmp_path: Path) -> None:
    path = tmp_path / "scene.usda"
    prims = "".join(
        f'def "p{i}"\n{{\n  def "a" (references = </p{i + 1}>)\n  {{\n  }}\n'
        f'  def "b" (references = </p{i + 1}>)\n  {{\n  }}\n}}\n'
        for i in range(30)
    )
    path.write_text(f'#usda 1.0\n{prims}def SphereLight "p30"\n{{\n}}\n')
    # Measured from a small process: what starts another one counts as memory of that one, and the tests have become large.
    measuring = (
        "import json, resource, subprocess, sys\n"
        "done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)\n"
        "spent = resource.getrusage(resource.RUSAGE_CHILDREN)\n"
        "print(json.dumps([done.returncode, done.stderr, spent.ru_maxrss]))\n"
    )
    command = [sys.executable, "-c", measuring, sys.executable, "-m", "samelight", "capture", str(path)]
    told = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True).stdout
    status, said, largest = json.loads(told)
    assert status == 2
    assert "expected a file that can be read to its end" in said
    threads = 16 * (os.cpu_count() or 1)  # MiB that a thread of the library may take for itself
    assert largest < (300 + threads) * 1024
