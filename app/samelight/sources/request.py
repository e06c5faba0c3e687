"""What is asked of a scene that is captured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from samelight.sheets.vocabulary import FORMAT_VERSION

FRAME_RATE = 24.0


class Known(NamedTuple):  # as `dataclasses` takes a tenth of the time in which a capture starts
    """The lights that a scene's names are to follow: the path of each by its name, and what a sheet types of it."""

    paths: Mapping[str, str] = {}
    groups: Mapping[str, Mapping[str, Any]] = {}


NOBODY = Known()


class CaptureRequest(NamedTuple):
    """For which sheet a scene is captured, and what of it.

    `shot` is the scene's own name by default, `master` the version of the master setup that it was built on. `frames` are
    the first and the last, `camera` and `marks` paths in the scene; `lights` are names, paths, or paths of groups, and all
    are taken by default. `frame_rate` counts for scenes whose time is in seconds. Of the files that a scene names,
    textures, profiles and buffers, those in its own folder are read, in `home`, the folder of its sequence, and in
    `roots`, which may be told from there. `reads_pictures` says whether it is looked at what textures hold.
    """

    shot: str | None = None
    version: int = 1
    master: int | None = None
    frames: tuple[int, int] | None = None
    camera: str | None = None
    lights: Sequence[str] = ()
    marks: Sequence[str] = ()
    frame_rate: float = FRAME_RATE
    keeps_rate: bool = False
    """Whether the times of a USD scene, which counts time codes, are told in frames of `frame_rate` too."""
    roots: Sequence[str] = ()
    home: Path | None = None
    reads_pictures: bool = True
    variants: Sequence[tuple[str, str]] = ()
    """Names of variant sets of a USD scene, and the variant of each that is selected wherever the set is."""
    master_layers: str = ""
    """How the layers of master setups are called, such as `light.v{version}.usda`; they say by their names which one it is."""
    known: Known = NOBODY
    """The lights whose names those of the scene follow."""

    def head(self, scene: Path) -> dict[str, Any]:
        """The first keys of the sheet."""
        head = {"samelight": FORMAT_VERSION, "shot": self.shot or scene.stem, "version": self.version}
        return head if self.master is None else {**head, "master": self.master}

    def readable(self, scene: Path) -> tuple[Path, ...]:
        """The folders in which files are read."""
        above = self.home or Path()
        home = () if self.home is None else (self.home,)
        return (scene.parent, *home, *(above / root for root in self.roots))

    def stated(self) -> dict[str, Any]:
        """What was asked for beside the scene itself, as a sheet's `source` keeps it."""
        asked = {
            "frames": list(self.frames or ()),
            "camera": self.camera,
            "lights": list(self.lights),
            "marks": list(self.marks),
            "roots": list(self.roots),
            "variants": dict(self.variants),
            "master_layers": self.master_layers,
            "frame_rate": self.frame_rate if self.keeps_rate and self.frame_rate != FRAME_RATE else None,
        }
        return {name: value for name, value in asked.items() if value}

    def as_stated(self, asked: Mapping[str, Any]) -> CaptureRequest:
        """The same, asking for what a sheet's `source` says that it was captured with."""
        frames, variants = asked.get("frames"), asked.get("variants")
        is_pair = isinstance(frames, list) and list(map(type, frames)) == [int, int]
        pair = frames if is_pair else None
        camera = asked.get("camera")
        return self._replace(
            frames=(pair[0], pair[1]) if pair else None,
            camera=camera if isinstance(camera, str) else None,
            lights=_texts(asked.get("lights")),
            marks=_texts(asked.get("marks")),
            variants=tuple((str(name), str(one)) for name, one in variants.items())
            if isinstance(variants, dict)
            else (),
        )


def _texts(value: Any) -> tuple[str, ...]:
    return tuple(str(one) for one in value) if isinstance(value, list) else ()


WITHOUT_PICTURES = "A texture of the scene takes its reader down; what its textures look like is not known."
"""What is said of a scene that was captured without looking at what its textures hold."""

THE_WHOLE = CaptureRequest()
"""All of a scene, for a sheet of its own name."""


def variants_of(asked: Sequence[tuple[str, str]], shot: str) -> tuple[tuple[str, str], ...]:
    """The variants that are asked for, for one shot.

    >>> variants_of([("shot", "{shot}"), ("time", "night")], "HB_010")
    (('shot', 'HB_010'), ('time', 'night'))
    """
    return tuple((name, variant.replace("{shot}", shot)) for name, variant in asked)
