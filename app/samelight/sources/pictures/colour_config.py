"""Views of an OpenColorIO config: which there are, and a picture through one of them.

Called through `trial.tried` with `trial.VIEW`, since a damaged config, or a LUT of one, may take the library down. The library is
OpenImageIO's, which carries the ACES configs: `ocio://default`, `ocio://cg-config-latest`, `ocio://studio-config-latest`.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Mapping, Set
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.light.rows import inverse
from samelight.light.spaces import FROM_REC709, rec709_matrix
from samelight.sheets.errors import SamelightError
from samelight.sheets.plain_files import UnfitFileError, can_be_named, check_plain, open_plain
from samelight.sheets.stamps import Stamp, stamp_if_there
from samelight.sources.pictures.pictures import Half
from samelight.sources.pictures.view_transform import MOST_STOPS, Codes

BUILT_IN = "ocio://"
LARGEST = 2**30
"""Bytes of a config, which may be an archive with its LUTs."""
MOST_VIEWS = 1000
_STRIP = 2**20
"""Pixels that are taken through a view at a time."""
_LONGEST_WORDS = 300
_MOST_TEXT = 2**24
"""Bytes of a config in which variables are looked for; what is packed as an archive names none that can be read."""
_START = 2**16
"""Bytes within which a config states its version; an archive begins with PK."""
_LUTS = frozenset(
    {
        ".3dl",
        ".cc",
        ".ccc",
        ".cdl",
        ".clf",
        ".csp",
        ".ctf",
        ".cube",
        ".hdl",
        ".icc",
        ".itx",
        ".look",
        ".lut",
        ".m3d",
    }
    | {".mga", ".spi1d", ".spi3d", ".spimtx", ".vf"}
)
"""Endings of the files that a config may take colours through. Source: OpenColorIO's documentation."""
_MOST_LUTS, _MOST_FOLDERS, _DEEPEST = 500, 200, 3
_WORD = re.compile(r"\w+")
_AP0 = ((0.7347, 0.2653), (0.0, 1.0), (0.0001, -0.077)), (0.32168, 0.33767)
"""Primaries and white of ACES2065-1. Source: SMPTE ST 2065-1:2021."""
_PREFIX = re.compile(r"\A(?:Exception from OCIO: |Error reading OCIO config \"[^\"]*\": |Error: )+")
_AND_THEN = re.compile(r"\ALoading the OCIO profile '[^']*' failed\. ")


class ColourConfigError(SamelightError):
    """A config, or a view of it, that cannot be used; the message is the reason, without the config's name."""


@dataclass(frozen=True, slots=True)
class ColourView:
    """A view of a display in an OpenColorIO config: a file, or one that is built in (`ocio://…`).

    `edition` is another where the file, or a LUT of it, was edited, or a variable of the environment that it asks for is another.
    """

    config: str
    display: str
    view: str
    edition: str = ""

    def __str__(self) -> str:
        return f"{self.view}, {self.display}"


@dataclass(frozen=True, slots=True)
class ConfigViews:
    """The displays of a config, each with its views, in the config's order; and which display and view it has by default."""

    config: str
    displays: Mapping[str, tuple[str, ...]]
    default: ColourView

    @property
    def views(self) -> list[ColourView]:
        """All of them, in the config's order."""
        return [
            ColourView(self.config, display, view, self.default.edition)
            for display, views in self.displays.items()
            for view in views
        ]


def config_views(config: str) -> ConfigViews:
    """What a config offers. Raises `ColourConfigError`."""
    opened = _opened(config)
    displays = {display: tuple(opened.getViewNames(display)) for display in opened.getDisplayNames()}
    displays = {display: views for display, views in displays.items() if views}
    count = sum(map(len, displays.values()))
    if not count:
        raise ColourConfigError("it has no display with a view")
    if count > MOST_VIEWS:
        raise ColourConfigError(f"it has {count:,} views; at most {MOST_VIEWS:,} are listed")
    display = opened.getDefaultDisplayName()
    if display not in displays:
        display = next(iter(displays))
    view = opened.getDefaultViewName(display)
    if view not in displays[display]:
        view = displays[display][0]
    return ConfigViews(config, displays, ColourView(config, display, view, _edition(config)))


def _edition(config: str) -> str:
    """What a config is by the stamps of its file and its LUTs, and by the variables of the environment that its text has: those of its
    paths and looks."""
    if config.startswith(BUILT_IN):
        return ""
    asked = sorted({name for name in _WORD.findall(_text_of(config)) if name in os.environ})
    held = repr((stamps_of(config), [(name, os.environ[name]) for name in asked]))
    return hashlib.sha256(held.encode("utf-8", "surrogateescape")).hexdigest()[:16]


def _text_of(config: str) -> str:
    with open_plain(Path(config), LARGEST) as file:
        return file.read(_MOST_TEXT).decode("utf-8", "replace")


def stamps_of(config: str) -> tuple[Stamp | None, ...]:
    """The stamps of a config's file and of its LUTs: those beside it, and below the folders beside it that its text names. Empty for
    one that is built in."""
    if config.startswith(BUILT_IN):
        return ()
    own = stamp_if_there(Path(config))
    return own, *map(stamp_if_there, _luts(Path(config).parent, _named_in(config, own)))


def _luts(beside: Path, named: Set[str]) -> list[Path]:
    """The LUTs in a folder and below those of its folders that are named, in order; at most `_MOST_LUTS`."""
    found: list[Path] = []
    waiting = [(beside, 0)]
    for _ in range(_MOST_FOLDERS):
        if not waiting or len(found) >= _MOST_LUTS:
            break
        folder, deep = waiting.pop()
        folders, luts = _listed(folder, stamp_if_there(folder))
        found += luts
        below = folders if deep else [one for one in folders if set(_WORD.findall(one.name)) <= named]
        waiting += [(one, deep + 1) for one in reversed(below) if deep < _DEEPEST]
    return found[:_MOST_LUTS]


@lru_cache(maxsize=8)
def _named_in(config: str, own: Stamp | None) -> Set[str]:  # noqa: ARG001 - a key of the cache
    """The words in the text of a config as it is now."""
    try:
        return frozenset(_WORD.findall(_text_of(config)))
    except (OSError, SamelightError):
        return frozenset()


@lru_cache(maxsize=2 * _MOST_FOLDERS)
def _listed(folder: Path, stamp: Stamp | None) -> tuple[list[Path], list[Path]]:  # noqa: ARG001 - a key of the cache
    """The folders and the LUTs in a folder as it is now, each in order."""
    try:
        with os.scandir(folder) as entries:
            inside = sorted(entries, key=lambda one: one.name)
    except OSError:
        return [], []
    folders = [Path(one.path) for one in inside if one.is_dir(follow_symlinks=False)]
    return folders, [Path(one.path) for one in inside if Path(one.name).suffix.lower() in _LUTS]


def check_config(config: str) -> None:
    """Raise `ColourConfigError` where it shows without OpenColorIO that a config is none: a file that is not there, or another one."""
    _check(config)
    if config.startswith(BUILT_IN):
        return
    with open_plain(Path(config), LARGEST) as file:
        start = file.read(_START)
    if not start.startswith(b"PK") and b"ocio_profile_version" not in start:
        raise ColourConfigError("it is no OpenColorIO config: it does not state its ocio_profile_version")


def viewed(linear: Half, stops: float, view: ColourView, space: str = "rec709") -> Codes:
    """Codes of linear Rec.709 of shape (height, width, 3), exposed by `stops`, through a view. Same shape.

    Where the config does not say which of its spaces is linear Rec.709 or ACES2065-1, its role scene_linear is taken as the working
    `space`. Raises `ColourConfigError`.
    """
    import OpenImageIO  # only where a view is used

    opened = _opened(view.config)
    if view.view not in opened.getViewNames(view.display):
        raise ColourConfigError(f"it has no view {view.view} of a display {view.display}")
    source, matrix = _source(opened, space)
    gain = np.float32(2.0 ** min(max(stops, -MOST_STOPS), MOST_STOPS))
    flat = linear.reshape(-1, 3)
    codes: Codes = np.empty(flat.shape, np.uint8)
    for start in range(0, len(flat), _STRIP):
        part = np.nan_to_num(flat[start : start + _STRIP], nan=0.0).astype(np.float32) * gain
        pixels = OpenImageIO.ImageBuf(_mixed(part, matrix)[None])
        seen = OpenImageIO.ImageBufAlgo.ociodisplay(
            pixels, view.display, view.view, source, unpremult=False, colorconfig=view.config
        )
        if seen.has_error:
            raise ColourConfigError(_words(seen.geterror()))
        numbers = np.nan_to_num(np.asarray(seen.get_pixels("float"))[0, :, :3], nan=0.0)
        codes[start : start + _STRIP] = (255.0 * np.clip(numbers, 0.0, 1.0) + 0.5).astype(np.uint8)
    return codes.reshape(linear.shape)


def _opened(config: str) -> Any:
    import OpenImageIO  # only where a view is used

    _check(config)
    opened = OpenImageIO.ColorConfig(config)
    wrong = opened.geterror()
    if wrong:
        raise ColourConfigError(_words(wrong))
    return opened


def _check(config: str) -> None:
    """Raise `ColourConfigError` unless a config is built in, or a plain file."""
    if config.startswith(BUILT_IN):
        if not can_be_named(config):
            raise ColourConfigError("no config can have this name")
        return
    try:
        check_plain(Path(config), LARGEST)
    except UnfitFileError as error:
        raise ColourConfigError(str(error) if error.expected else f"it is {error.found}") from None
    except FileNotFoundError:
        raise ColourConfigError("it is not there") from None
    except OSError as error:
        raise ColourConfigError(f"it cannot be read: {error.strerror or error}") from None


def _source(opened: Any, space: str) -> tuple[str, NDArray[np.float32] | None]:
    """The space of a config that pictures are taken from, and the matrix from linear Rec.709 to it; None where it is that itself."""
    names = opened.getColorSpaceNames()
    found = opened.resolve("lin_rec709_scene")
    if found in names:
        return found, None
    exchange = opened.getColorSpaceNameByRole("aces_interchange")
    if exchange in names:
        return exchange, _to_ap0()
    linear = opened.getColorSpaceNameByRole("scene_linear")
    if linear in names:
        return linear, FROM_REC709[space].astype(np.float32)
    raise ColourConfigError("it names no space for scene_linear")


@cache
def _to_ap0() -> NDArray[np.float32]:
    return inverse(rec709_matrix(*_AP0)).astype(np.float32)


def _mixed(rgb: NDArray[np.float32], matrix: NDArray[np.float32] | None) -> NDArray[np.float32]:
    if matrix is None:
        return rgb
    return np.stack([row[0] * rgb[:, 0] + row[1] * rgb[:, 1] + row[2] * rgb[:, 2] for row in matrix], axis=-1)


def _words(said: str) -> str:
    """What the library says of a config, without what it says around it."""
    words = _AND_THEN.sub("", _PREFIX.sub("", said)).split()
    return " ".join(words).rstrip(".")[:_LONGEST_WORDS]
