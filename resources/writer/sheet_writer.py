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

import json
import math
import os
import re
import tempfile
from pathlib import Path

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


def animated(keys, interpolation="linear"):
    """A value over time.

    keys: pairs of frame and value, frames ascending, such as [(1001, 2.0), (1048, 1.0)].
    interpolation: "linear", or "held" for values that jump at their keys.
    """
    if interpolation not in INTERPOLATIONS:
        _fail("interpolation", "one of " + ", ".join(INTERPOLATIONS), interpolation)
    pairs = []
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

    def __init__(self, shot, frames=None, master=None, units=None, up_axis="Y", north=None, notes=None):
        _check_name("shot", shot)
        self.shot = shot
        self.tree = {"samelight": FORMAT_VERSION, "shot": shot}
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
        name,
        type,
        position=None,
        direction=None,
        target=None,
        azimuth=None,
        elevation=None,
        rotation=None,
        rotation_order=None,
        matrix=None,
        intensity=None,
        exposure=None,
        unit=None,
        normalize=None,
        color=None,
        temperature=None,
        diffuse=None,
        specular=None,
        radius=None,
        width=None,
        height=None,
        length=None,
        angle=None,
        cone=None,
        softness=None,
        focus=None,
        samples=None,
        visible=None,
        seen_by=None,
        light_links=None,
        shadow_links=None,
        filters=None,
        shadow=None,
        **more,
    ):
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
        name,
        texture=None,
        sha256=None,
        format=None,
        rotation=None,
        matrix=None,
        intensity=None,
        exposure=None,
        unit=None,
        color=None,
        temperature=None,
        diffuse=None,
        specular=None,
        visible=None,
        seen_by=None,
        light_links=None,
        **more,
    ):
        """Add an environment: an image, or an even colour, all around.

        texture: path of the image. sha256: the hash of its content; where the file is there it is found by itself with
            texture_hash(path). format: how the image is laid out, such as latlong.
        rotation: degrees clockwise seen from above; or matrix for an environment that does not stand upright.
        The rest as for light().
        """
        given = dict(locals())
        at = self._new("environments", name)
        environment = {}
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

    def render(self, group, **settings):
        """Add a group of render settings.

        group: its name, such as "gi" or "volume".
        settings: on=True, range="3.5 m", bounces=3, rays=192, samples=96, or whatever the renderer has.
        """
        self._group("render", group, settings)
        return self

    def surface(self, name, **settings):
        """Add what matters of a surface: shade_area, reflection_samples, assigned_to and the like."""
        self._group("surfaces", name, settings)
        return self

    def render_pass(self, name, **settings):
        """Add a pass: frames="held" or "all", hides=["crew"] and the like."""
        self._group("passes", name, settings)
        return self

    def mark(self, name, position, normal=None):
        """Add a mark: a place that matters, such as a face.

        position: three lengths. normal: where its surface faces, three numbers.
        """
        at = self._new("marks", name)
        mark = {"position": _place(at + ".position", position)}
        _put(mark, "normal", normal, at, _vector)
        self.tree.setdefault("marks", {})[name] = mark
        return self

    def camera(self, position=None, direction=None, target=None, moves=None, fov=None, **more):
        """Say where the shot's camera is.

        position, direction or target: as for light(). moves: whether it moves in the shot. fov: horizontal, degrees.
        """
        camera = {}
        _put(camera, "position", position, "camera", _place)
        _put(camera, "direction", direction, "camera", _vector)
        _put(camera, "target", target, "camera", _place)
        _put(camera, "moves", moves, "camera", _switch)
        _put(camera, "fov", fov, "camera", _quantity)
        camera.update(_further("camera", camera, more))
        self.tree["camera"] = camera
        return self

    def cost(self, **settings):
        """Say what a frame costs: test_frame="18m20s", resolution=[1920, 804]."""
        self.tree["cost"] = _further("cost", {}, settings)
        return self

    def remark(self, text):
        """Add a sentence that whoever opens the shot should read."""
        self.tree.setdefault("remarks", []).append(_text("remarks", text))
        return self

    def source(self, **facts):
        """Say where the sheet comes from: scene="quay_040", frames_per_second=24."""
        self.tree["source"] = _further("source", {}, facts)
        return self

    def text(self, version=1):
        """The sheet as JSON text."""
        tree = {"samelight": FORMAT_VERSION, "shot": self.shot, "version": _positive("version", version)}
        tree.update((key, value) for key, value in self.tree.items() if key not in tree)
        return json.dumps(tree, indent=2, ensure_ascii=False, allow_nan=False) + "\n"

    def write(self, path, version=None):
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

    def publish(self, folder):
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

    def _new(self, section, name):
        _check_name(section, name)
        if name in self.tree.get(section, {}):
            _fail(f"{section}.{name}", "each name once", "a second one")
        return f"{section}.{name}"

    def _add(self, section, name, group, more):
        group.update(_further(f"{section}.{name}", group, more))
        self.tree.setdefault(section, {})[name] = group

    def _group(self, section, name, settings):
        at = self._new(section, name)
        self.tree.setdefault(section, {})[name] = _further(at, {}, settings)


def latest_version(folder, shot):
    """The highest version of a shot's sheets in a folder, 0 where there is none."""
    try:
        names = [path.name for path in Path(folder).iterdir()]
    except OSError:
        return 0
    matches = [_VERSIONED.match(name) for name in names if not name.startswith(".")]
    return max([int(m.group("version")) for m in matches if m and m.group("name") == shot] or [0])


def texture_hash(path):
    """The SHA-256 of a file, so that the same image under another path is known to be the same."""
    import hashlib

    digest = hashlib.sha256()
    with Path(path).open("rb") as stream:
        for piece in iter(lambda: stream.read(1 << 20), b""):
            digest.update(piece)
    return digest.hexdigest()


def _write_whole(path, text, new=False):
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


def _place_new(temporary, path):
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


def _umask():
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _fail(at, expected, found):
    shown = found if isinstance(found, str) else repr(found)
    raise SheetError(f"{at}: expected {expected}, found {shown[:80]}")


def _check_name(at, name):
    sound = isinstance(name, str) and name.strip() and name not in (".", "..")
    if not sound or any(c in "/\\" or not c.isprintable() for c in name):
        _fail(at, "a name that a folder can have", name)
    if len(name.encode("utf-8", "replace")) > _LONGEST_NAME:
        _fail(at, f"a name of at most {_LONGEST_NAME} bytes", f"one of {len(name)} characters")


def _put(group, key, value, at, check):
    """Add a value where it is given; what is animated is checked key by key."""
    if value is None:
        return
    where = f"{at}.{key}"
    if isinstance(value, dict) and "keys" in value:
        pairs = [[frame, check(where, item)] for frame, item in value["keys"]]
        group[key] = {"keys": pairs, "interpolation": value.get("interpolation", "linear")}
    else:
        group[key] = check(where, value)


def _emission(group, given, at):
    _put(group, "intensity", given["intensity"], at, _strength)
    _put(group, "exposure", given["exposure"], at, _quantity)
    _put(group, "unit", given["unit"], at, _one_of(INTENSITY_UNITS))
    _put(group, "normalize", given["normalize"], at, _switch)
    _put(group, "color", given["color"], at, _color)
    _put(group, "temperature", given["temperature"], at, _kelvin)
    _put(group, "diffuse", given["diffuse"], at, _strength)
    _put(group, "specular", given["specular"], at, _strength)


def _seen(group, given, at):
    _put(group, "visible", given["visible"], at, _switch)
    _put(group, "seen_by", given["seen_by"], at, _names)
    _put(group, "light_links", given["light_links"], at, _names)


def _further(at, group, more):
    """Parameters by their own names, as plain data."""
    result = {}
    for name, value in more.items():
        if name in group:
            _fail(f"{at}.{name}", "each name once", "a second one")
        if value is not None:
            result[name] = _plain(f"{at}.{name}", value)
    return result


def _plain(at, value, depth=0):
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


def _number(at, value):
    if isinstance(value, (bool, str)) or not (isinstance(value, (int, float)) or hasattr(value, "__float__")):
        _fail(at, "a number", value)
    number = value if isinstance(value, int) else float(value)
    if isinstance(number, float) and not math.isfinite(number):
        _fail(at, "a finite number", value)
    return number


def _whole(at, value):
    number = _number(at, value)
    if number != int(number):
        _fail(at, "a whole number", value)
    return int(number)


def _positive(at, value):
    number = _whole(at, value)
    if number < 1:
        _fail(at, "a version number", value)
    return number


def _count(at, value):
    number = _number(at, value)
    if number < 0:
        _fail(at, "0 or more", value)
    return number


def _quantity(at, value):
    """A number, or a text with a unit, which the program that reads the sheet knows."""
    if isinstance(value, str):
        if not re.match(r"\s*[-+.0-9]", value):
            _fail(at, "a number, or one with a unit such as 350 cm", value)
        return value
    return _number(at, value)


def _strength(at, value):
    quantity = _quantity(at, value)
    if not isinstance(quantity, str) and quantity < 0:
        _fail(at, "0 or more", value)
    return quantity


_size = _strength


def _share(at, value):
    quantity = _quantity(at, value)
    if not isinstance(quantity, str) and not 0 <= quantity <= 1:
        _fail(at, "a share from 0 to 1", value)
    return quantity


def _kelvin(at, value):
    quantity = _quantity(at, value)
    if not isinstance(quantity, str) and not 500 <= quantity <= 100000:
        _fail(at, "kelvin from 500 to 100000", value)
    return quantity


def _sized(at, value, size):
    try:
        items = list(value)
    except TypeError:
        items = []
    if isinstance(value, (str, dict)) or len(items) != size:
        _fail(at, f"{size} values", value)
    return items


def _sized_numbers(at, value, size):
    return [_number(at, item) for item in _sized(at, value, size)]


def _place(at, value):
    return [_quantity(at, item) for item in _sized(at, value, 3)]


def _vector(at, value):
    vector = _sized_numbers(at, value, 3)
    if not any(vector):
        _fail(at, "a vector longer than 0", vector)
    return vector


def _color(at, value):
    color = _sized_numbers(at, value, 3)
    if min(color) < 0:
        _fail(at, "red, green and blue of 0 or more", color)
    return color


def _matrix(at, value):
    try:
        rows = list(value)
    except TypeError:
        rows = []
    if len(rows) == 4:
        return [number for row in rows for number in _sized_numbers(at, row, 4)]
    return _sized_numbers(at, rows, 16)


def _switch(at, value):
    if not isinstance(value, bool):
        _fail(at, "True or False", value)
    return value


def _text(at, value):
    if not isinstance(value, str) or not value.strip():
        _fail(at, "text", value)
    return value


def _hash(at, value):
    if not isinstance(value, str) or not re.match(r"[0-9a-fA-F]{64}\Z", value):
        _fail(at, "64 hexadecimal digits", value)
    return value.lower()


def _names(at, value):
    items = [value] if isinstance(value, str) else list(value)
    return [_text(at, item) for item in (items if not isinstance(value, (set, frozenset)) else sorted(items))]


def _mapping(at, value):
    if not isinstance(value, dict):
        _fail(at, "a dict", value)
    return _plain(at, value)


def _one_of(allowed):
    def check(at, value):
        if value not in allowed:
            _fail(at, "one of " + ", ".join(allowed), value)
        return value

    return check


def _checked_units(units):
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
