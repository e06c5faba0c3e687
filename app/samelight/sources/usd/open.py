"""Opening a USD scene: what can be wrong with the file is found before anything is read from it."""

from __future__ import annotations

import os
import re
import struct
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO, NoReturn

from pxr import Ar, Sdf, Tf, Usd, UsdUtils

from samelight.sources.errors import CaptureError
from samelight.sources.limits import ALONE, ALONE_FACTOR, LAYER, LAYER_FACTOR, SCENE, Limits, limit
from samelight.sources.plain_files import check_plain_file, open_plain_file
from samelight.sources.remarks import Remarks

LARGEST_LAYER = 16 * 2**30
"""Bytes of one file of a scene."""

LARGEST_PACKAGE = 4 * 2**30
"""Bytes of all members of a .usdz: its format cannot address more."""

_TEXT, _CRATE, _PACKAGE = b"#usda ", b"PXR-USDC", b"PK\x03\x04"
_MAGIC = {
    ".usd": (_TEXT, _CRATE),
    ".usda": (_TEXT,),
    ".usdc": (_CRATE,),
    ".usdz": (_PACKAGE,),
}
_CRATE_HEAD = struct.Struct("<8s8sq")
"""How a packed scene begins: its mark, its version, and where its table of contents lies."""
_SECTION = struct.Struct("<16sqq")
"""An entry of that table: name, start and length."""
_MOST_SECTIONS = 64
_PLACE = re.compile(r":(\d+):(\d+): (.*)\Z", re.DOTALL)
_EXPECTED = re.compile(r"Expected (.+?) at ('.*' in <.*>)\Z", re.DOTALL)
_SESSION = re.compile(r",?@anon:[^@]*@")
_INTERNAL = re.compile(r"\bpxrInternal\w*(?:::\w+)*::")
_CYCLES = ("ErrorArcCycle", "ErrorSublayerCycle")


def check_file(scene: Path) -> None:
    """Raise `CaptureError` unless a file can be read and begins as its suffix says."""
    expected = f"a USD scene ({', '.join(_MAGIC)})"
    suffix = scene.suffix.lower()
    try:
        with open_plain_file(scene, expected, LARGEST_LAYER) as stream:
            if suffix not in _MAGIC:
                raise CaptureError(
                    scene, expected, f"a file named *{suffix}" if suffix else "a name without a suffix"
                )
            start = stream.read(_CRATE_HEAD.size)
            if _CRATE in _MAGIC[suffix] and start.startswith(_CRATE):
                _check_crate(scene, stream, start)
    except OSError as error:
        raise CaptureError(scene, "a readable file", error.strerror or str(error)) from None
    if not start:
        raise CaptureError(scene, expected, "an empty file")
    if not start.startswith(_MAGIC[suffix]):
        wanted = " or ".join(repr(magic.decode("latin-1").strip()) for magic in _MAGIC[suffix])
        raise CaptureError(scene, f"a file that begins with {wanted}", f"one that begins with {start[:8]!r}")
    if suffix == ".usdz":
        _check_package(scene)


def _check_crate(scene: Path, stream: BinaryIO, start: bytes) -> None:
    """The sections of a packed scene lie inside it, as its table of contents says."""
    size = os.fstat(stream.fileno()).st_size
    whole = "a whole USD scene"
    if len(start) < _CRATE_HEAD.size:
        raise CaptureError(scene, whole, "the beginning of one")
    table = _CRATE_HEAD.unpack(start)[-1]
    if not _CRATE_HEAD.size <= table <= size - 8:
        raise CaptureError(scene, whole, f"one of {size:,} bytes whose table of contents lies at {table:,}")
    stream.seek(table)
    (sections,) = struct.unpack("<q", stream.read(8))
    if not 0 < sections <= _MOST_SECTIONS:
        raise CaptureError(scene, whole, f"one of {sections:,} sections")
    listed = stream.read(sections * _SECTION.size)
    if len(listed) < sections * _SECTION.size:
        raise CaptureError(scene, whole, "one whose table of contents is cut off")
    for name, at, length in _SECTION.iter_unpack(listed):
        if at < 0 or length < 0 or at + length > size:
            called = name.rstrip(b"\0").decode("ascii", "replace")
            raise CaptureError(
                scene, whole, f"one of {size:,} bytes whose section {called} ends at {at + length:,}"
            )


def _check_package(scene: Path) -> None:
    """A .usdz is a zip archive whose members are stored as they are; one that is compressed is none."""
    try:
        with zipfile.ZipFile(scene) as archive:
            members = archive.infolist()
    except (zipfile.BadZipFile, OSError, ValueError) as error:
        raise CaptureError(scene, "a whole .usdz package", f"a damaged one ({error})") from None
    if not members:
        raise CaptureError(scene, "a .usdz package with a scene in it", "an empty one")
    for member in members:
        if member.compress_type != zipfile.ZIP_STORED or member.file_size != member.compress_size:
            raise CaptureError(
                scene, "a .usdz package with members stored uncompressed", f"{member.filename} compressed"
            )
    total = sum(member.file_size for member in members)
    if total > LARGEST_PACKAGE:
        raise CaptureError(
            scene, f"at most {LARGEST_PACKAGE // 2**30} GiB in a .usdz package", f"{total / 2**30:.1f} GiB"
        )


@contextmanager
def quiet(remarks: Remarks) -> Iterator[None]:
    """Keep what USD would print from the terminal; warnings become remarks, once each."""
    delegate = UsdUtils.CoalescingDiagnosticDelegate()
    try:
        yield
    finally:
        said = {
            _sentence(diagnostic.commentary)
            for diagnostic in delegate.TakeUncoalescedDiagnostics()
            if diagnostic.diagnosticCode == Tf.TF_DIAGNOSTIC_WARNING_TYPE
        }
        for sentence in sorted(text for text in said if not _TOLD_BETTER.search(text)):
            remarks.note(f"USD says: {sentence}")
        del delegate


_TOLD_BETTER = re.compile(
    r"instantiating stage on stage|Sublayer hierarchy|Could not load sublayer|cannot include its collection"
)
"""Warnings of what `open_stage` and the links tell in words of their own, with the prims concerned."""


def _sentence(text: str) -> str:
    """USD's words on one line, without the anonymous layer of the session and the names of its own C++."""
    return " ".join(_INTERNAL.sub("", _SESSION.sub("", text)).split())


_MOST_QUOTED = 300
"""Characters of what USD says of an error in a text: it quotes the whole line, and a line may hold a whole scene."""


def _short(text: str) -> str:
    """USD's words with their beginning and end, where it says in which prim it was."""
    said = _sentence(text)
    half = _MOST_QUOTED // 2
    return said if len(said) <= _MOST_QUOTED else f"{said[:half]} … {said[-half:]}"


def open_stage(scene: Path) -> Any:
    """The stage of a scene with everything loaded.

    Raises `CaptureError` for a file that USD cannot read and for references, payloads or layers in a circle.
    """
    check_file(scene)
    try:
        size = scene.stat().st_size
        limit(_for_layers(size))
        root = Sdf.Layer.FindOrOpen(str(scene))
        layers, whole = _opened(root, size) if root else ([], None)
        limit(SCENE if whole is None else Limits(ALONE.memory + ALONE_FACTOR * whole, ALONE.seconds))
        stage = Usd.Stage.Open(root if root else str(scene), Usd.Stage.LoadAll)
        del layers  # the stage holds those that it is made of
    except Tf.ErrorException as error:
        _fail(scene, error)
    faults = stage.GetCompositionErrors()
    circles = sorted(_sentence(str(fault)) for fault in faults if type(fault).__name__ in _CYCLES)
    if circles:
        raise CaptureError(scene, "references and layers without a circle", circles[0])
    return stage


def _for_layers(size: int) -> Limits:
    """What reading layers of so many bytes may take, before they are put together."""
    return Limits(LAYER.memory + LAYER_FACTOR * size, LAYER.seconds)


def _opened(root: Any, size: int) -> tuple[list[Any], int | None]:
    """A layer of so many bytes and those below it, of which each file is looked at before USD opens it, as far as they name
    them plainly; and the bytes of all, None where the scene is made of more than these: what is referenced may stand in it
    any number of times."""
    layers, seen, whole = [root], {root.identifier}, True
    sizes: dict[Path, int] = {}
    for layer in layers:
        below = set(layer.subLayerPaths)
        for name in layer.GetCompositionAssetDependencies():
            path = Path(Ar.SplitPackageRelativePathOuter(layer.ComputeAbsolutePath(name))[0])
            if name and path.exists() and not path.is_dir():
                check_plain_file(path, f"a layer of {root.GetDisplayName()}", LARGEST_LAYER)
            whole = whole and (name in below or not name)
            if name not in below or not path.is_file():
                continue
            sizes[path] = path.stat().st_size
            limit(_for_layers(size + sum(sizes.values())))
            found = Sdf.Layer.FindOrOpenRelativeToLayer(layer, name)
            if found and found.identifier not in seen:
                seen.add(found.identifier)
                layers.append(found)
    return layers, size + sum(sizes.values()) if whole else None


def _fail(scene: Path, error: Tf.ErrorException) -> NoReturn:
    told = says(error)
    if any("bad_alloc" in one for one in told):
        raise MemoryError  # in C, where the limit was met
    for one in told:
        place = _PLACE.search(one)
        if place:
            line, column = int(place[1]), int(place[2])
            parsed = _EXPECTED.match(place[3])
            expected, found = (parsed[1], parsed[2]) if parsed else ("a well-formed USD scene", place[3])
            raise CaptureError(scene, expected, _short(found), line=line, column=column) from None
    raise CaptureError(scene, "a whole USD scene", _sentence(told[0])) from None


@contextmanager
def reading(scene: Path, remarks: Remarks) -> Iterator[None]:
    """`quiet`, in which a scene that opened but cannot be read on raises `CaptureError`."""
    try:
        with quiet(remarks):
            yield
    except Tf.ErrorException as error:
        raise _damaged(scene, error) from None
    except UnicodeDecodeError as error:
        raise _not_utf8(scene, error) from None


def _damaged(scene: Path, error: Tf.ErrorException) -> CaptureError:
    """The error for a scene that opened but whose values cannot be read."""
    return CaptureError(scene, "a whole USD scene", _sentence(says(error)[0]))


def _not_utf8(scene: Path, error: UnicodeDecodeError) -> CaptureError:
    """The error for a scene that holds a text which is none, with its line where the scene itself is text."""
    byte, whole = f"the byte 0x{error.object[error.start]:02X}", "UTF-8 text"
    with scene.open("rb") as stream:
        is_text = stream.read(len(_TEXT)) == _TEXT
        stream.seek(0)
        for number, line in enumerate(stream if is_text else (), 1):
            try:
                line.decode("utf-8")
            except UnicodeDecodeError as here:
                found = f"the byte 0x{line[here.start]:02X}"
                return CaptureError(scene, whole, found, line=number, column=here.start + 1)
    return CaptureError(scene, whole, f"{byte} in a name or text of it, or of a file that it names")


def says(error: Tf.ErrorException) -> list[str]:
    """What USD says of an error, one text or more."""
    return [str(getattr(one, "commentary", one)).strip() for one in error.args] or [
        "one that USD cannot read"
    ]
