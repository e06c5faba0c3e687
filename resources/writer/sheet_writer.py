"""Writes lighting sheets from inside any program that has a Python 3.7 or newer and nothing else.

Copy this one file to wherever the program looks for scripts. It needs no package beside Python itself.

    import sheet_writer as sw

    sheet = sw.Sheet("HB_040", frames=(1001, 1084))
    sheet.light("sun", "distant", azimuth=131, elevation=24, intensity=3.2, temperature=4300, angle=0.53)
    sheet.light("lantern", "spot", position=(1.2, 2.4, 2.0), target=(0.3, 1.62, 0.1), intensity=2.4, cone=32, softness=0.2)
    sheet.environment("dawn_sky", texture="maps/dawn.exr", rotation=40, intensity=0.8)
    sheet.render("gi", on=True, range="3.5 m", bounces=3, rays=192)
    sheet.mark("face", position=(0.3, 1.62, 0.1), normal=(0, 0, 1))
    sheet.camera(position=(4.1, 1.7, 9.0), direction=(-0.4, -0.05, -0.91), moves=False)
    sheet.publish("harbour")    # harbour/shots/HB_040/HB_040.v001.json, or the next version

Numbers are checked as they are given: a `SheetError` says which value of which light is wrong, what was expected and
what was found. Files are written whole to a temporary name and then renamed, so that nobody ever reads half of one.

Lengths are in metres unless `units` say otherwise, angles in degrees. Any value may be a text with a unit ("350 cm",
"4300 K", "0.5 st", "800 lx"), and any may be animated: `animated([(1001, 2.0), (1048, 1.0)])`. Parameters that are not
named here, a renderer's own, are welcome: give them as further keyword arguments.
"""

from __future__ import annotations

import json
import math
import os
import re
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    Group = dict[str, Any]
    Quantity = float | str
    """A number, or a text with a unit."""
    Check = Callable[[str, Any], Any]
    """From the name of a value, which a fault tells, and the value to what the sheet holds."""

FORMAT_VERSION = 2

LIGHT_TYPES = ("distant", "point", "sphere", "disk", "rect", "cylinder", "spot", "mesh", "portal")
"""Types of lights that have a meaning of their own; any other text is kept and compared as text."""

INTENSITY_UNITS = ("relative", "nit", "cd/m2", "cd", "lx", "lm")
LENGTH_UNITS = ("m", "cm", "mm", "dm", "km", "in", "ft", "yd")
ROTATION_ORDERS = ("XYZ", "XZY", "YXZ", "YZX", "ZXY", "ZYX")
INTERPOLATIONS = ("linear", "held")

_VERSIONED = re.compile(r"(?P<name>.+)\.v(?P<version>[0-9]+)\.(?:ya?ml|json)\Z")
_LONGEST_NAME = 200
_DEEPEST = 20


class SheetError(ValueError):
    """A value that a sheet cannot hold; the text says which one, what was expected and what was found."""


def animated(keys: Any, interpolation: str = "linear") -> Group:
    """A value over time.

    keys: pairs of frame and value, frames ascending, such as [(1001, 2.0), (1048, 1.0)].
    interpolation: "linear", or "held" for values that jump at their keys.
    """
    if interpolation not in INTERPOLATIONS:
        _fail("interpolation", "one of " + ", ".join(INTERPOLATIONS), interpolation)
    pairs: list[list[Any]] = []
    for pair in keys:
        if len(pair) != 2:
            _fail("keys", "pairs of frame and value", pair)
        frame = _number("keys", pair[0])
        if pairs and frame <= pairs[-1][0]:
            _fail("keys", f"a frame after {pairs[-1][0]:g}", frame)
        pairs.append([frame, _plain("keys", pair[1])])
    if not pairs:
        _fail("keys", "at least one pair of frame and value", keys)
    return {"keys": pairs, "interpolation": interpolation}


class Sheet:
    """One shot's lighting.

    shot: its name; it becomes the name of a folder.
    frames: first and last frame.
    master: the version of the master setup that the shot was built on, where that is known.
    units: what bare numbers mean, such as {"length": "cm", "level": "nit"}.
    up_axis: "Y" or "Z".
    north: a horizontal vector that azimuths count from; (0, 0, -1) unless given.
    notes: free text.
    """

    def __init__(
        self,
        shot: str,
        frames: Any = None,
        master: int | None = None,
        units: Group | None = None,
        up_axis: str = "Y",
        north: Any = None,
        notes: str | None = None,
    ) -> None:
        _check_name("shot", shot)
        self.shot = shot
        self.tree: Group = {"samelight": FORMAT_VERSION, "shot": shot}
        if frames is not None:
            first, last = (_whole("frames", frame) for frame in _sized("frames", frames, 2))
            if first > last:
                _fail("frames", "first and last frame", [first, last])
            self.tree["frames"] = [first, last]
        if master is not None:
            self.tree["master"] = _positive("master", master)
        if units is not None:
            self.tree["units"] = _checked_units(units)
        if up_axis not in ("Y", "Z"):
            _fail("up_axis", "Y or Z", up_axis)
        self.tree["up_axis"] = up_axis
        if north is not None:
            self.tree["north"] = _vector("north", north)
        if notes is not None:
            self.tree["notes"] = _text("notes", notes)

    def light(
        self,
        name: str,
        type: str,
        position: Any = None,
        direction: Any = None,
        target: Any = None,
        azimuth: Any = None,
        elevation: Any = None,
        rotation: Any = None,
        rotation_order: str | None = None,
        matrix: Any = None,
        intensity: Any = None,
        exposure: Any = None,
        unit: str | None = None,
        normalize: bool | None = None,
        color: Any = None,
        temperature: Any = None,
        diffuse: Any = None,
        specular: Any = None,
        radius: Any = None,
        width: Any = None,
        height: Any = None,
        length: Any = None,
        angle: Any = None,
        cone: Any = None,
        softness: Any = None,
        focus: Any = None,
        samples: Any = None,
        visible: bool | None = None,
        seen_by: Any = None,
        light_links: Any = None,
        shadow_links: Any = None,
        filters: Any = None,
        shadow: Group | None = None,
        **more: Any,
    ) -> Sheet:
        """Add a light.

        name: its name, the same in every shot and in the master setup.
        type: distant, point, sphere, disk, rect, cylinder, spot, mesh or portal; any other text is kept.
        position: where it stands, three lengths.
        direction: where it shines to, three numbers; or instead of it one of
            target: a place that it shines at,
            azimuth and elevation: where it comes from, degrees, azimuth clockwise from north seen from above,
            rotation: degrees about x, y and z, in rotation_order, of a light that shines along its own -Z,
            matrix: 16 numbers, or four rows of four, for row vectors, the translation in the last four.
        intensity, exposure: how strong it is; exposure in stops.
        unit: what the intensity counts: relative, nit, cd/m2, cd, lx or lm.
        normalize: whether its power is independent of its size, as UsdLux defines it.
        color: linear red, green and blue. temperature: kelvin, only where it is in use.
        diffuse, specular: multipliers of what materials answer.
        radius, width, height, length: sizes. angle: full apparent diameter of a distant light, degrees.
        cone: half angle of a spot, degrees. softness: share of the cone that fades, 0 to 1. focus: exponent off the axis.
        samples: how many the renderer takes.
        visible: whether it is on. seen_by: kinds of rays that see it, such as ["camera", "diffuse"].
        light_links, shadow_links: scene paths that it lights, or that shadow it; ["*"] is everything.
        filters: names or paths of its light filters. shadow: a dict such as {"enable": True, "color": (0, 0, 0)}.
        more: a renderer's own parameters, by their names.
        """
        given = dict(locals())
        at = self._new("lights", name)
        light = {"type": _text(at + ".type", type)}
        for key in ("position", "target"):
            _put(light, key, given[key], at, _place)
        for key in ("direction",):
            _put(light, key, given[key], at, _vector)
        for key in ("azimuth", "elevation", "angle", "cone"):
            _put(light, key, given[key], at, _quantity)
        if (azimuth is None) != (elevation is None):
            _fail(at, "azimuth and elevation together", "one of them")
        _put(light, "rotation", rotation, at, lambda where, value: _sized_numbers(where, value, 3))
        _put(light, "rotation_order", rotation_order, at, _one_of(ROTATION_ORDERS))
        _put(light, "matrix", matrix, at, _matrix)
        _emission(light, given, at)
        for key in ("radius", "width", "height", "length"):
            _put(light, key, given[key], at, _size)
        _put(light, "softness", softness, at, _share)
        _put(light, "focus", focus, at, _quantity)
        _put(light, "samples", samples, at, _count)
        _seen(light, given, at)
        _put(light, "shadow_links", shadow_links, at, _names)
        _put(light, "filters", filters, at, _names)
        _put(light, "shadow", shadow, at, _mapping)
        self._add("lights", name, light, more)
        return self

    def environment(
        self,
        name: str,
        texture: str | None = None,
        sha256: str | None = None,
        format: str | None = None,
        rotation: Any = None,
        matrix: Any = None,
        intensity: Any = None,
        exposure: Any = None,
        unit: str | None = None,
        color: Any = None,
        temperature: Any = None,
        diffuse: Any = None,
        specular: Any = None,
        visible: bool | None = None,
        seen_by: Any = None,
        light_links: Any = None,
        **more: Any,
    ) -> Sheet:
        """Add an environment: an image, or an even colour, all around.

        texture: path of the image. sha256: the hash of its content; where the file is there it is found by itself with
            texture_hash(path). format: how the image is laid out, such as latlong.
        rotation: degrees clockwise seen from above; or matrix for an environment that does not stand upright.
        The rest as for light().
        """
        given = dict(locals())
        at = self._new("environments", name)
        environment: Group = {}
        _put(environment, "texture", texture, at, _text)
        _put(environment, "sha256", sha256, at, _hash)
        _put(environment, "format", format, at, _text)
        _put(environment, "rotation", rotation, at, _quantity)
        _put(environment, "matrix", matrix, at, _matrix)
        given["normalize"] = None
        _emission(environment, given, at)
        _seen(environment, given, at)
        self._add("environments", name, environment, more)
        return self

    def render(self, group: str, **settings: Any) -> Sheet:
        """Add a group of render settings.

        group: its name, such as "gi" or "volume".
        settings: on=True, range="3.5 m", bounces=3, rays=192, samples=96, or whatever the renderer has.
        """
        self._group("render", group, settings)
        return self

    def surface(self, name: str, **settings: Any) -> Sheet:
        """Add what matters of a surface: shade_area, reflection_samples, assigned_to and the like."""
        self._group("surfaces", name, settings)
        return self

    def render_pass(self, name: str, **settings: Any) -> Sheet:
        """Add a pass: frames="held" or "all", hides=["crew"] and the like."""
        self._group("passes", name, settings)
        return self

    def mark(self, name: str, position: Any, normal: Any = None) -> Sheet:
        """Add a mark: a place that matters, such as a face.

        position: three lengths. normal: where its surface faces, three numbers.
        """
        at = self._new("marks", name)
        mark = {"position": _place(at + ".position", position)}
        _put(mark, "normal", normal, at, _vector)
        self.tree.setdefault("marks", {})[name] = mark
        return self

    def camera(
        self,
        position: Any = None,
        direction: Any = None,
        target: Any = None,
        moves: bool | None = None,
        fov: Any = None,
        **more: Any,
    ) -> Sheet:
        """Say where the shot's camera is.

        position, direction or target: as for light(). moves: whether it moves in the shot. fov: horizontal, degrees.
        """
        camera: Group = {}
        _put(camera, "position", position, "camera", _place)
        _put(camera, "direction", direction, "camera", _vector)
        _put(camera, "target", target, "camera", _place)
        _put(camera, "moves", moves, "camera", _switch)
        _put(camera, "fov", fov, "camera", _quantity)
        camera.update(_further("camera", camera, more))
        self.tree["camera"] = camera
        return self

    def cost(self, **settings: Any) -> Sheet:
        """Say what a frame costs: test_frame="18m20s", resolution=[1920, 804]."""
        self.tree["cost"] = _further("cost", {}, settings)
        return self

    def remark(self, text: str) -> Sheet:
        """Add a sentence that whoever opens the shot should read."""
        self.tree.setdefault("remarks", []).append(_text("remarks", text))
        return self

    def source(self, **facts: Any) -> Sheet:
        """Say where the sheet comes from: scene="quay_040", frames_per_second=24."""
        self.tree["source"] = _further("source", {}, facts)
        return self

    def text(self, version: int = 1) -> str:
        """The sheet as JSON text."""
        tree = {"samelight": FORMAT_VERSION, "shot": self.shot, "version": _positive("version", version)}
        tree.update((key, value) for key, value in self.tree.items() if key not in tree)
        return json.dumps(tree, indent=2, ensure_ascii=False, allow_nan=False) + "\n"

    def write(self, path: str | os.PathLike[str], version: int | None = None) -> Path:
        """Write the sheet to a .json file and return its path.

        version: by default what the name says, as in HB_040.v003.json, or 1.
        """
        path = Path(path)
        if path.suffix != ".json":
            _fail("path", "a name that ends in .json", str(path))
        if version is None:
            match = _VERSIONED.match(path.name)
            version = int(match.group("version")) if match else 1
        _write_whole(path, self.text(version))
        return path

    def publish(self, folder: str | os.PathLike[str]) -> Path:
        """Write the next version of the shot's sheet into a sequence folder and return its path."""
        into = Path(folder) / "shots" / self.shot
        while True:
            version = latest_version(into, self.shot) + 1
            path = into / f"{self.shot}.v{version:03d}.json"
            try:
                _write_whole(path, self.text(version), new=True)
            except FileExistsError:  # somebody else published that version meanwhile
                continue
            return path

    def _new(self, section: str, name: str) -> str:
        _check_name(section, name)
        if name in self.tree.get(section, {}):
            _fail(f"{section}.{name}", "each name once", "a second one")
        return f"{section}.{name}"

    def _add(self, section: str, name: str, group: Group, more: Group) -> None:
        group.update(_further(f"{section}.{name}", group, more))
        self.tree.setdefault(section, {})[name] = group

    def _group(self, section: str, name: str, settings: Group) -> None:
        at = self._new(section, name)
        self.tree.setdefault(section, {})[name] = _further(at, {}, settings)


def latest_version(folder: str | os.PathLike[str], shot: str) -> int:
    """The highest version of a shot's sheets in a folder, 0 where there is none."""
    try:
        names = [path.name for path in Path(folder).iterdir()]
    except OSError:
        return 0
    matches = [_VERSIONED.match(name) for name in names if not name.startswith(".")]
    return max([int(m.group("version")) for m in matches if m and m.group("name") == shot] or [0])


def texture_hash(path: str | os.PathLike[str]) -> str:
    """The SHA-256 of a file, so that the same image under another path is known to be the same."""
    import hashlib

    digest = hashlib.sha256()
    with Path(path).open("rb") as stream:
        for piece in iter(lambda: stream.read(1 << 20), b""):
            digest.update(piece)
    return digest.hexdigest()


def _write_whole(path: Path, text: str, new: bool = False) -> None:
    """Write to a temporary name beside it, sync, rename. With new, an existing file raises FileExistsError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".", suffix=".tmp", dir=str(path.parent))
    temporary = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.chmod(0o666 & ~_umask())
        if new:
            _place_new(temporary, path)
        else:
            temporary.replace(path)
    finally:
        if temporary.exists():
            temporary.unlink()


def _place_new(temporary: Path, path: Path) -> None:
    try:
        os.link(str(temporary), str(path))
        return
    except FileExistsError:
        raise
    except (OSError, AttributeError):  # a file system without hard links
        pass
    if path.exists():
        raise FileExistsError(str(path))
    temporary.rename(path)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _fail(at: str, expected: str, found: Any) -> NoReturn:
    shown = found if isinstance(found, str) else repr(found)
    raise SheetError(f"{at}: expected {expected}, found {shown[:80]}")


def _check_name(at: str, name: Any) -> None:
    sound = isinstance(name, str) and name.strip() and name not in (".", "..")
    if not sound or any(c in "/\\" or not c.isprintable() for c in name):
        _fail(at, "a name that a folder can have", name)
    if len(name.encode("utf-8", "replace")) > _LONGEST_NAME:
        _fail(at, f"a name of at most {_LONGEST_NAME} bytes", f"one of {len(name)} characters")


def _put(group: Group, key: str, value: Any, at: str, check: Check) -> None:
    """Add a value where it is given; what is animated is checked key by key."""
    if value is None:
        return
    where = f"{at}.{key}"
    if isinstance(value, dict) and "keys" in value:
        pairs = [[frame, check(where, item)] for frame, item in value["keys"]]
        group[key] = {"keys": pairs, "interpolation": value.get("interpolation", "linear")}
    else:
        group[key] = check(where, value)


def _emission(group: Group, given: Group, at: str) -> None:
    _put(group, "intensity", given["intensity"], at, _strength)
    _put(group, "exposure", given["exposure"], at, _quantity)
    _put(group, "unit", given["unit"], at, _one_of(INTENSITY_UNITS))
    _put(group, "normalize", given["normalize"], at, _switch)
    _put(group, "color", given["color"], at, _color)
    _put(group, "temperature", given["temperature"], at, _kelvin)
    _put(group, "diffuse", given["diffuse"], at, _strength)
    _put(group, "specular", given["specular"], at, _strength)


def _seen(group: Group, given: Group, at: str) -> None:
    _put(group, "visible", given["visible"], at, _switch)
    _put(group, "seen_by", given["seen_by"], at, _names)
    _put(group, "light_links", given["light_links"], at, _names)


def _further(at: str, group: Group, more: Group) -> Group:
    """Parameters by their own names, as plain data."""
    result = {}
    for name, value in more.items():
        if name in group:
            _fail(f"{at}.{name}", "each name once", "a second one")
        if value is not None:
            result[name] = _plain(f"{at}.{name}", value)
    return result


def _plain(at: str, value: Any, depth: int = 0) -> Any:
    """Numbers, text, switches, and lists and dicts of them; vectors and tuples of other programs become lists."""
    if depth > _DEEPEST:
        _fail(at, f"at most {_DEEPEST} levels of nesting", "more")
    if value is None or isinstance(value, (bool, str)):
        return value
    if isinstance(value, int):
        return int(value)
    if isinstance(value, dict):
        for key in value:
            if not isinstance(key, str) or not key:
                _fail(at, "names as keys", key)
        return {key: _plain(f"{at}.{key}", item, depth + 1) for key, item in value.items()}
    if isinstance(value, (set, frozenset)):
        return sorted(_plain(at, item, depth + 1) for item in value)
    if hasattr(value, "__float__"):
        return _number(at, value)
    try:
        items = list(value)
    except TypeError:
        return _fail(at, "a number, a text, a switch, or a list or dict of them", value)
    return [_plain(at, item, depth + 1) for item in items]


def _number(at: str, value: Any) -> float:
    if isinstance(value, (bool, str)) or not (isinstance(value, (int, float)) or hasattr(value, "__float__")):
        _fail(at, "a number", value)
    number = value if isinstance(value, int) else float(value)
    if isinstance(number, float) and not math.isfinite(number):
        _fail(at, "a finite number", value)
    return number


def _whole(at: str, value: Any) -> int:
    number = _number(at, value)
    if number != int(number):
        _fail(at, "a whole number", value)
    return int(number)


def _positive(at: str, value: Any) -> int:
    number = _whole(at, value)
    if number < 1:
        _fail(at, "a version number", value)
    return number


def _count(at: str, value: Any) -> float:
    number = _number(at, value)
    if number < 0:
        _fail(at, "0 or more", value)
    return number


def _quantity(at: str, value: Any) -> Quantity:
    """A number, or a text with a unit, which the program that reads the sheet knows."""
    if isinstance(value, str):
        if not re.match(r"\s*[-+.0-9]", value):
            _fail(at, "a number, or one with a unit such as 350 cm", value)
        return value
    return _number(at, value)


def _strength(at: str, value: Any) -> Quantity:
    quantity = _quantity(at, value)
    if not isinstance(quantity, str) and quantity < 0:
        _fail(at, "0 or more", value)
    return quantity


_size = _strength


def _share(at: str, value: Any) -> Quantity:
    quantity = _quantity(at, value)
    if not isinstance(quantity, str) and not 0 <= quantity <= 1:
        _fail(at, "a share from 0 to 1", value)
    return quantity


def _kelvin(at: str, value: Any) -> Quantity:
    quantity = _quantity(at, value)
    if not isinstance(quantity, str) and not 500 <= quantity <= 100000:
        _fail(at, "kelvin from 500 to 100000", value)
    return quantity


def _sized(at: str, value: Any, size: int) -> list[Any]:
    try:
        items = list(value)
    except TypeError:
        items = []
    if isinstance(value, (str, dict)) or len(items) != size:
        _fail(at, f"{size} values", value)
    return items


def _sized_numbers(at: str, value: Any, size: int) -> list[float]:
    return [_number(at, item) for item in _sized(at, value, size)]


def _place(at: str, value: Any) -> list[Quantity]:
    return [_quantity(at, item) for item in _sized(at, value, 3)]


def _vector(at: str, value: Any) -> list[float]:
    vector = _sized_numbers(at, value, 3)
    if not any(vector):
        _fail(at, "a vector longer than 0", vector)
    return vector


def _color(at: str, value: Any) -> list[float]:
    color = _sized_numbers(at, value, 3)
    if min(color) < 0:
        _fail(at, "red, green and blue of 0 or more", color)
    return color


def _matrix(at: str, value: Any) -> list[float]:
    try:
        rows = list(value)
    except TypeError:
        rows = []
    if len(rows) == 4:
        return [number for row in rows for number in _sized_numbers(at, row, 4)]
    return _sized_numbers(at, rows, 16)


def _switch(at: str, value: Any) -> bool:
    if not isinstance(value, bool):
        _fail(at, "True or False", value)
    return value


def _text(at: str, value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        _fail(at, "text", value)
    return value


def _hash(at: str, value: Any) -> str:
    if not isinstance(value, str) or not re.match(r"[0-9a-fA-F]{64}\Z", value):
        _fail(at, "64 hexadecimal digits", value)
    return value.lower()


def _names(at: str, value: Any) -> list[str]:
    items = [value] if isinstance(value, str) else list(value)
    return [_text(at, item) for item in (items if not isinstance(value, (set, frozenset)) else sorted(items))]


def _mapping(at: str, value: Any) -> Group:
    if not isinstance(value, dict):
        _fail(at, "a dict", value)
    plain: Group = _plain(at, value)
    return plain


def _one_of(allowed: Sequence[str]) -> Check:
    def check(at: str, value: Any) -> Any:
        if value not in allowed:
            _fail(at, "one of " + ", ".join(allowed), value)
        return value

    return check


def _checked_units(units: Any) -> Group:
    checked = {}
    for name, value in _mapping("units", units).items():
        at = f"units.{name}"
        if name in ("length", "area"):
            known = value in LENGTH_UNITS if isinstance(value, str) else _number(at, value) > 0
            if not known:
                _fail(at, f"one of {', '.join(LENGTH_UNITS)}, or metres above 0", value)
        elif name == "level":
            _one_of(INTENSITY_UNITS)(at, value)
        else:
            _fail(at, "length, level or area", name)
        checked[name] = value
    return checked
