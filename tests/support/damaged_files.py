"""Damaged files of every kind that is read, made from sound ones by a seed, and what became of reading each in a child process."""

from __future__ import annotations

import json
import random
import resource
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR

from exr_help import plane, write_exr
from gltf_files import Animated, carried, glb, scene_of, walled_with_everything
from samelight.light.framing import Region
from samelight.sheets.errors import SamelightError
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sheet import read_sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources.cut.cuts import read_cut
from samelight.sources.errors import CaptureError
from samelight.sources.limits import CUT, PICTURE, SCENE, Limits
from samelight.sources.pictures.measuring import frame_figures, frame_header
from samelight.sources.pictures.pictures import read_exr
from samelight.sources.scenes import capture_scene
from samelight.sources.trial import tried

EDL = """TITLE: quay
FCM: NON-DROP FRAME

001  QU_010   V     C        01:00:04:05 01:00:05:12 01:00:00:00 01:00:01:07
* FROM CLIP NAME: QU_010_comp_v003.mov
002  QU_020   V     D    012 01:00:04:05 01:00:05:05 01:00:01:07 01:00:02:07
* FROM CLIP NAME: QU_010_comp_v003.mov
* TO CLIP NAME: QU_020.mov
003  QU_030   AA/V  C        01:00:04:05 01:00:05:05 01:00:02:07 01:00:03:07
M2   QU_030       048.0                01:00:04:05
"""


# How a file is damaged


def damaged(raw: bytes, chance: random.Random) -> bytes:
    """The file with one to three faults in it: cut off, flipped, written over, something put in or moved."""
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        raw = chance.choice((_cut_off, _flipped, _flipped, _written_over, _with_more, _moved))(raw, chance)
    return raw


def _place(raw: bytes, chance: random.Random) -> int:
    return chance.randrange(len(raw) + 1)


def _cut_off(raw: bytes, chance: random.Random) -> bytes:
    return raw[: _place(raw, chance)]


def _flipped(raw: bytes, chance: random.Random) -> bytes:
    changed = bytearray(raw)
    for _ in range(chance.choice((1, 1, 4, 32)) if raw else 0):
        changed[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
    return bytes(changed)


def _written_over(raw: bytes, chance: random.Random) -> bytes:
    at, length = _place(raw, chance), chance.choice((1, 4, 8, 64, 500))
    return raw[:at] + _run(length, chance) + raw[at + length :]


def _with_more(raw: bytes, chance: random.Random) -> bytes:
    at = _place(raw, chance)
    return raw[:at] + _run(chance.choice((1, 2, 16, 300)), chance) + raw[at:]


def _moved(raw: bytes, chance: random.Random) -> bytes:
    a, b, c = sorted(_place(raw, chance) for _ in range(3))
    return raw[:a] + raw[b:c] + raw[a:b] + raw[c:]


def _run(length: int, chance: random.Random) -> bytes:
    kind = chance.randrange(4)
    return (b"\0", b"\xff", b"9")[kind] * length if kind < 3 else chance.randbytes(length)


# Sound files to begin with


def _sheet(folder: Path) -> list[Path]:
    return [*sorted((sample_sequence("harbour") / "shots/HB_040").glob("*.yaml"))[-1:]]


def _json_sheet(folder: Path) -> list[Path]:
    return [sample_sequence("first_steps") / "shots/FS_030/FS_030.v001.json"]


def _text_scenes(folder: Path) -> list[Path]:
    scenes = sorted((sample_sequence("quay_usd") / "scenes").rglob("*.usda"))
    made = folder / "wide.usda"
    made.write_text(_WIDE)
    return [*scenes[:2], made]


def _packed_scenes(folder: Path) -> list[Path]:
    from pxr import Usd

    made = []
    for number, scene in enumerate(_text_scenes(folder)):
        made.append(folder / f"sound{number}.usdc")
        Usd.Stage.Open(str(scene)).Export(str(made[-1]))
    return made


def _packages(folder: Path) -> list[Path]:
    from pxr import Sdf

    made = []
    for number, scene in enumerate(_packed_scenes(folder)):
        made.append(folder / f"sound{number}.usdz")
        archive = Sdf.ZipFileWriter.CreateNew(str(made[-1]))
        archive.AddFile(str(scene), "scene.usdc")
        archive.Save()
    return made


def _animated() -> tuple[Animated, dict[str, Any]]:
    moving = Animated().move((0, "translation"), [0.0, 1.0, 2.0], [[0, 0, 0], [1, 0, 0], [2, 0, 0]])
    moving.move((0, "rotation"), [0.0, 1.0], [[0, 0, 0, 1], [0, 1, 0, 0]], "STEP")
    lamps = [
        {"type": "spot", "spot": {"outerConeAngle": 0.7}, "color": [1, 0.5, 0.2]},
        {"type": "directional"},
    ]
    nodes = [carried(0, name="lamp"), carried(1, name="sun", children=[0]), {"name": "camera", "camera": 0}]
    scene = scene_of(nodes, lamps)
    scene["cameras"] = [{"type": "perspective", "perspective": {"yfov": 0.7, "znear": 0.1}}]
    return moving, scene


def _gltf(folder: Path) -> list[Path]:
    moving, scene = _animated()
    walls, walled = walled_with_everything()
    made = [folder / "sound.gltf", folder / "walls.gltf"]
    for path, data in zip(made, (moving.into(scene), walls.into(walled)), strict=True):
        path.write_text(json.dumps(data, indent=1))
    return made


def _glb(folder: Path) -> list[Path]:
    moving, scene = _animated()
    walls, walled = walled_with_everything()
    made = [folder / "sound.glb", folder / "walls.glb"]
    made[0].write_bytes(glb(moving.into(scene, None), moving.raw))
    made[1].write_bytes(glb(walls.into(walled, None), walls.raw))
    return made


def _otio(folder: Path) -> list[Path]:
    return [sample_sequence("quay_usd") / "edit/quay.otio"]


def _edl(folder: Path) -> list[Path]:
    made = folder / "sound.edl"
    made.write_text(EDL)
    return [made]


def _exr(folder: Path) -> list[Path]:
    noise = np.random.default_rng(1).random((20, 40)).astype(np.float16)
    channels = dict.fromkeys("RGB", noise)
    plain = write_exr(folder / "sound.exr", channels)
    layered = write_exr(
        folder / "layers.exr",
        {**channels, "depth.Z": plane(1.0, kind=np.float32)},
        compression=OpenEXR.PIZ_COMPRESSION,
    )
    deep = np.empty((20, 40), object)
    for y, x in np.ndindex(deep.shape):
        deep[y, x] = np.ones((x + y) % 4, np.float32) if (x + y) % 4 else None
    parts = [
        OpenEXR.Part(
            {"type": OpenEXR.scanlineimage, "compression": OpenEXR.ZIP_COMPRESSION}, channels, "beauty"
        ),
        OpenEXR.Part(
            {"type": OpenEXR.deepscanline, "compression": OpenEXR.ZIPS_COMPRESSION}, {"Z": deep}, "deep"
        ),
    ]
    several = folder / "parts.exr"
    OpenEXR.File(parts).write(str(several))
    return [plain, layered, several, sample_sequence("harbour") / "frames/HB_040.exr"]


MEASURED = "measured.exr"


def _measured(folder: Path) -> list[Path]:
    """Frames that are measured: by lines and by tiles, with a header that says much."""
    tiles = OpenEXR.TileDescription()
    tiles.xSize = tiles.ySize = 16
    channels = {name: np.random.default_rng(2).random((40, 60)).astype(np.float32) for name in "RGB"}
    ids = {f"things00.{one}": channels["R"] for one in "RGBA"}
    mattes = {"cryptomatte/ab12345/name": "things", "cryptomatte/ab12345/manifest": '{"head": "3f800000"}'}
    header = {
        "samelight:version": 2,
        "samelight:sheet": "ab",
        "chromaticities": (0.64, 0.33, 0.3, 0.6, 0.15, 0.06, 0.31, 0.33),
    }
    return [
        write_exr(folder / "lines.exr", channels, **header),
        write_exr(folder / "tiles.exr", channels, type=OpenEXR.tiledimage, tiles=tiles),
        write_exr(folder / "mattes.exr", {**channels, **ids}, **mattes),
        *_exr(folder)[:3],
    ]


def _frame(ending: str) -> Callable[[Path], list[Path]]:
    return lambda folder: sorted((sample_sequence("harbour") / "frames").glob(f"*{ending}"))[:2]


def _sky(ending: str) -> Callable[[Path], list[Path]]:
    """A map that a dome of a scene has."""

    def make(folder: Path) -> list[Path]:
        import numpy as np
        import OpenImageIO

        made = folder / f"sound_sky{ending}"
        out = OpenImageIO.ImageOutput.create(str(made))
        assert out is not None
        out.open(str(made), OpenImageIO.ImageSpec(64, 32, 3, "float"))
        out.write_image(np.random.default_rng(1).random((32, 64, 3)).astype(np.float32))
        out.close()
        return [made]

    return make


def _profile(folder: Path) -> list[Path]:
    made = folder / "sound.ies"
    made.write_text(
        "IESNA:LM-63-2002\n[TEST] made up\nTILT=NONE\n1 -1 1 5 3 1 2 0 0 0\n1 1 40\n0 20 40 60 90\n0 90 180\n"
        "100 90 60 20 0\n100 80 50 10 0\n100 70 40 0 0\n"
    )
    flood = folder / "flood.ies"
    flood.write_text("TILT=NONE\n1 -1 1 3 2 2 2 0 0 0\n1 1 40\n-20 0 20\n0 10\n5 9 5\n1 2 1\n")
    return [made, flood]


def _eulumdat(folder: Path) -> list[Path]:
    head = ["made up", "1", "3", "4", "90", "3", "45", "", "lamp", "", "", "", *["0"] * 11, "1", "0", "1"]
    lamps = ["1", "halogen", "2000", "3000 K", "1A", "50", *["0.5"] * 10]
    made = folder / "sound.ldt"
    made.write_text(
        "\r\n".join([*head, *lamps, "0", "90", "180", "270", "0", "45", "90", *["9", "5", "0"] * 3])
    )
    return [made]


_WIDE = """#usda 1.0
(
    metersPerUnit = 0.01
    startTimeCode = 1
    endTimeCode = 24
)
def Xform "set"
{
    double3 xformOp:translate.timeSamples = { 1: (0, 0, 0), 24: (10, 0, 0) }
    uniform token[] xformOpOrder = ["xformOp:translate"]
    def SphereLight "lamp"
    {
        float inputs:intensity.timeSamples = { 1: 3, 12: 4, 24: 5 }
        half3 inputs:odd = (1, 2, 3)
        float[] inputs:many = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20]
    }
    def Mesh "floor"
    {
        int[] faceVertexCounts = [4]
        int[] faceVertexIndices = [0, 1, 2, 3]
        point3f[] points = [(0, 0, 0), (1, 0, 0), (1, 0, 1), (0, 0, 1)]
    }
    def DomeLight "sky" (
        variants = { string hour = "noon" }
        prepend variantSets = "hour"
    )
    {
        asset inputs:texture:file = @sky.exr@
        variantSet "hour" = {
            "noon" {
                float inputs:exposure = 1
            }
            "dusk" {
                float inputs:exposure = -2
            }
        }
    }
    def Camera "view"
    {
        float focalLength = 35
    }
}
"""


# Reading one, in the child


def read(kind: str, path: Path) -> None:
    """Read a file as the program does. Raises what the reader raises."""
    if kind in ("yaml", "json"):
        read_sheet(path)
    elif kind in ("otio", "edl"):
        read_cut(path)
    elif kind == "exr":
        read_exr(path, 640)
    elif kind in BY_QT:
        from samelight.gui.background.frames import read_frame

        read_frame(path, 640)
    elif kind == MEASURED:
        header = frame_header(path)
        assert header.shape.width > 0
        whole = Region(0, 0, *header.shape[:2], False)
        frame_figures(path, {"all": whole, "head": whole}, "rec709", {"head": "head"})
    elif kind in ("sky", "hdr", "ies", "ldt"):
        is_profile = kind in ("ies", "ldt")
        attribute = "inputs:shaping:ies:file" if is_profile else "inputs:texture:file"
        light = "SphereLight" if is_profile else "DomeLight"
        scene = path.with_suffix(".usda")
        scene.write_text(f'#usda 1.0\ndef {light} "key"\n{{\n    asset {attribute} = @./{path.name}@\n}}\n')
        capture_scene(scene)
    else:
        tree = capture_scene(path)
        sheet_from_document(parse_document(path.with_suffix(".yaml"), yaml_text(tree)))


@dataclass(frozen=True, slots=True)
class Read:
    """What became of a file in the child: a sentence where it could not be read, seconds of a processor, MB at most."""

    sentence: str
    seconds: float
    megabytes: float
    unforeseen: bool = False


def read_and_measure(kind: str, path: Path) -> Read:
    """Read a file and measure it."""
    _forget_the_peak()
    begun = time.process_time()
    sentence, unforeseen = "", False
    try:
        read(kind, path)
    except SamelightError as error:
        sentence = str(error)
    except MemoryError:
        raise
    except Exception as error:  # noqa: BLE001 - what a test is to find
        sentence, unforeseen = f"{type(error).__name__}: {error}", True
    return Read(sentence, time.process_time() - begun, _peak(), unforeseen)


ON_LINUX = sys.platform.startswith("linux")


def _forget_the_peak() -> None:
    if ON_LINUX:
        Path("/proc/self/clear_refs").write_text("5")


def _peak() -> float:
    if ON_LINUX:
        lines = Path("/proc/self/status").read_text().splitlines()
        return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20


# All of a kind

KINDS: dict[str, tuple[Callable[[Path], list[Path]], Limits]] = {
    "yaml": (_sheet, SCENE),
    "json": (_json_sheet, SCENE),
    "usda": (_text_scenes, SCENE),
    "usdc": (_packed_scenes, SCENE),
    "usdz": (_packages, SCENE),
    "gltf": (_gltf, SCENE),
    "glb": (_glb, SCENE),
    "otio": (_otio, CUT),
    "edl": (_edl, CUT),
    "exr": (_exr, PICTURE),
    MEASURED: (_measured, PICTURE),
    "png": (_frame(".png"), PICTURE),
    "jpg": (_frame(".jpg"), PICTURE),
    "sky": (_sky(".exr"), SCENE),
    "hdr": (_sky(".hdr"), SCENE),
    "ies": (_profile, SCENE),
    "ldt": (_eulumdat, SCENE),
}
"""What is read, from which sound files damaged ones are made, and within which limits. The last four are what a scene
names."""


BY_QT = ("png", "jpg")
"""Of these, what only the window reads."""


@dataclass(slots=True)
class Tally:
    """What became of the files of a kind."""

    kind: str
    files: int = 0
    sentences: int = 0
    sound: int = 0
    died: int = 0
    slowest: float = 0.0
    largest: float = 0.0
    unforeseen: list[str] = field(default_factory=list)
    without_words: list[str] = field(default_factory=list)
    deaths: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        return (
            f"{self.kind:5} {self.files:5} files {self.sentences:5} sentences ({self.died} by a child's end) "
            f"{self.sound:5} read, slowest {self.slowest:5.2f} s, largest {self.largest:4.0f} MB, "
            f"{len(self.unforeseen)} unforeseen"
        )


def files_of(kind: str, folder: Path, count: int, seed: int = 1) -> Iterator[Path]:
    """Damaged files of a kind, one after another under names of their own."""
    chance = random.Random(f"{kind} {seed}")
    sound = [path.read_bytes() for path in KINDS[kind][0](folder)]
    for number in range(count):
        path = folder / f"damaged_{number}.{kind}"
        path.write_bytes(damaged(chance.choice(sound), chance))
        yield path


def try_all(kind: str, folder: Path, count: int, seed: int = 1) -> Tally:
    """Read so many damaged files of a kind, each in a child process."""
    tally = Tally(kind)
    for path in files_of(kind, folder, count, seed):
        tally.files += 1
        begun = time.monotonic()
        try:
            one = tried(path, KINDS[kind][1], read_and_measure, kind, path)
        except CaptureError as error:
            # What it took is not known: the system counts its parent's memory in. Its limit held it.
            one = Read(str(error), time.monotonic() - begun, 0.0)
            tally.died += 1
            tally.deaths.append(one.sentence)
        tally.slowest, tally.largest = max(tally.slowest, one.seconds), max(tally.largest, one.megabytes)
        tally.sentences += bool(one.sentence)
        tally.sound += not one.sentence
        if one.unforeseen:
            tally.unforeseen.append(f"{path.name}: {one.sentence}")
            continue
        if one.sentence and (kind not in ("exr", "png", "jpg", MEASURED) and path.stem not in one.sentence):
            tally.without_words.append(one.sentence)
        path.unlink()
    return tally
