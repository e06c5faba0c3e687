"""Files that a scene names: where they are, and what they hold."""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import IO, Any

from pxr import Ar

from samelight.sheets.plain_files import UnfitFileError, is_within, open_plain
from samelight.sources.pictures.reduced import UnreadablePictureError, reduced_text
from samelight.sources.profiles.files import read_profile
from samelight.sources.profiles.numbers import UnreadableProfileError
from samelight.sources.provenance import LARGEST, OUTSIDE, digest_of
from samelight.sources.remarks import Remarks

_CHUNK = 1024 * 1024


def sha256_of(stream: IO[bytes]) -> str:
    """The SHA-256 of a stream, read piece by piece."""
    digest = hashlib.sha256()
    for piece in iter(lambda: stream.read(_CHUNK), b""):
        digest.update(piece)
    return digest.hexdigest()


class Files:
    """Hashes of the files that assets resolve to, where they lie in one of some folders; each file is read once."""

    def __init__(self, remarks: Remarks, readable: Sequence[Path]) -> None:
        self._remarks, self._readable = remarks, readable
        self._hashes: dict[str, str | None] = {}
        self.missing: set[Path] = set()
        """Where the files would be that the scene names and that were not to be had."""

    @property
    def read(self) -> set[Path]:
        """The files that were read, a package for what is in it."""
        return {_file_of(resolved) for resolved, digest in self._hashes.items() if digest is not None}

    def hash_of(self, prim: Any, name: str, time: Any, what: str) -> str | None:
        """SHA-256 of the file that an asset attribute names; None, with a remark, where it cannot be read."""
        asset = prim.GetAttribute(name).Get(time)
        resolved = asset.resolvedPath
        if resolved and not is_within(_file_of(resolved), *self._readable):
            self._remarks.about(str(prim.GetPath()), f"{what} {asset.path} {OUTSIDE}")
            return None
        digest = self._hash(resolved) if resolved else None
        # The tiles of a texture in parts have no file of that very name.
        if digest is None and "<UDIM>" not in asset.path:
            self.missing.add(_where(prim.GetAttribute(name), asset))
            why = "could not be read" if resolved else "was not found"
            self._remarks.about(
                str(prim.GetPath()), f"{what} {asset.path} {why}; it is compared by its path."
            )
        return digest

    def picture(self, digest: str, *, latlong: bool) -> str:
        """A picture whose hash was asked for, reduced, as text for a sheet. Raises `UnreadablePictureError`."""
        resolved = next(path for path, known in self._hashes.items() if known == digest)
        package, member = Ar.SplitPackageRelativePathOuter(resolved)
        if member:
            raise UnreadablePictureError("it lies inside a package")
        return reduced_text(Path(package), digest, latlong=latlong)

    def profile(self, digest: str) -> str:
        """A photometric profile whose hash was asked for, as text for a sheet. Raises `UnreadableProfileError`."""
        resolved = next(path for path, known in self._hashes.items() if known == digest)
        package, member = Ar.SplitPackageRelativePathOuter(resolved)
        if member:
            raise UnreadableProfileError("it lies inside a package")
        return read_profile(Path(package))

    def _hash(self, resolved: str) -> str | None:
        if resolved not in self._hashes:
            self._hashes[resolved] = _hash_of(resolved)
        return self._hashes[resolved]


def layer_files(stage: Any) -> set[Path]:
    """The files of every layer that a stage is put together of, a package for the layers in it."""
    return {_file_of(layer.realPath) for layer in stage.GetUsedLayers() if layer.realPath}


def _where(attribute: Any, asset: Any) -> Path:
    """Where a file is, or would be: beside the layer that names it."""
    if asset.resolvedPath:
        return _file_of(asset.resolvedPath)
    layers = [spec.layer for spec in attribute.GetPropertyStack() if spec.layer.realPath]
    return Path(layers[0].ComputeAbsolutePath(asset.path) if layers else asset.path)


def _file_of(resolved: str) -> Path:
    return Path(Ar.SplitPackageRelativePathOuter(resolved)[0])


def _hash_of(resolved: str) -> str | None:
    """The hash of a file or of a member of a package; None where it cannot be read."""
    package, member = Ar.SplitPackageRelativePathOuter(resolved)
    try:
        if not member:
            return digest_of(Path(package))
        with (
            open_plain(Path(package), LARGEST) as whole,
            zipfile.ZipFile(whole) as archive,
            archive.open(member) as stream,
        ):
            return sha256_of(stream)
    except (
        UnfitFileError,
        OSError,
        ValueError,
        KeyError,
        NotImplementedError,
        RuntimeError,
        zipfile.BadZipFile,
    ):
        return None
