"""glTF animation: which property moves, and its value at any frame.

Properties go by JSON pointers, `/nodes/3/rotation`, whether the file says them as node and path or by
KHR_animation_pointer. Keys are told in frames: seconds times the frame rate, on from the first frame.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from samelight.light.rows import lengths, projection
from samelight.sources.gltf.accessors import MissingDataError, read_accessor
from samelight.sources.gltf.file import Asset, Json
from samelight.sources.numbers import as_typed
from samelight.sources.remarks import Remarks

Array = NDArray[np.float64]

STEP, LINEAR, CUBIC = "STEP", "LINEAR", "CUBICSPLINE"
_WIDTHS = {"translation": 3, "rotation": 4, "scale": 3}
_SNAP = 1e-3
"""Frames; a key nearer than this to a whole frame is on it: 32-bit seconds at 24 frames a second miss by a tenth of that."""


@dataclass(frozen=True, slots=True)
class Timing:
    """How seconds become frames: `rate` frames a second, on from the frame `first`."""

    rate: float
    first: float

    def frame(self, second: float) -> float:
        """The frame at a second.

        >>> Timing(24.0, 1001.0).frame(0.0416666679)
        1002.0
        """
        frame = self.first + second * self.rate
        whole = float(round(frame))
        return whole if abs(frame - whole) < _SNAP else round(frame, 6)


@dataclass(frozen=True, slots=True)
class Sampler:
    """One property over time: keys in frames, values of shape (keys, width); for splines also their tangents."""

    frames: Sequence[float]
    values: Array
    interpolation: str
    turns: bool
    arriving: Array
    leaving: Array

    def at(self, frame: float) -> tuple[float, ...]:
        """The value at a frame; before the first and after the last key it stands still."""
        right = bisect.bisect_right(self.frames, frame)
        if right == 0:
            return self._tuple(self.values[0])
        left = right - 1
        if right == len(self.frames) or self.interpolation == STEP or self.frames[left] == frame:
            return self._tuple(self.values[left])
        span = self.frames[right] - self.frames[left]
        share = (frame - self.frames[left]) / span
        a, b = self.values[left], self.values[right]
        if self.interpolation == CUBIC:
            return self._tuple(_spline(a, self.leaving[left] * span, b, self.arriving[right] * span, share))
        return self._tuple(_turned(a, b, share) if self.turns else a + (b - a) * share)

    def _tuple(self, value: Array) -> tuple[float, ...]:
        if self.turns and (length := float(lengths(value))) > 0:
            return tuple((value / length).tolist())
        return tuple(as_typed(number) for number in value.tolist())


def _spline(a: Array, leaving: Array, b: Array, arriving: Array, t: float) -> Array:
    """Cubic Hermite spline, glTF 2.0 specification, appendix C.5."""
    t2, t3 = t * t, t * t * t
    value: Array = (
        (2 * t3 - 3 * t2 + 1) * a + (t3 - 2 * t2 + t) * leaving + (3 * t2 - 2 * t3) * b + (t3 - t2) * arriving
    )
    return value


def _turned(a: Array, b: Array, t: float) -> Array:
    """Spherical interpolation of quaternions the short way round, glTF 2.0 specification, appendix C.4."""
    a, b = a / lengths(a), b / lengths(b)
    cosine = float(projection(a, b))
    if cosine < 0:
        b, cosine = -b, -cosine
    angle = math.acos(min(1.0, cosine))
    near = angle < 1e-6
    before, after = (1 - t, t) if near else (math.sin((1 - t) * angle), math.sin(t * angle))
    value: Array = (before * a + after * b) / (1.0 if near else math.sin(angle))
    return value


@dataclass(slots=True)
class Animations:
    """Every animated property of a file by its pointer; a sampler is read when someone asks for it."""

    asset: Asset
    timing: Timing
    remarks: Remarks
    channels: dict[str, tuple[int, Json]] = field(default_factory=dict)
    missing: bool = False
    _samplers: dict[str, Sampler | None] = field(default_factory=dict)

    def sampler(self, pointer: str, width: int) -> Sampler | None:
        """What moves a property of so many numbers; None where nothing does, or where its data is not to be had."""
        if pointer not in self.channels:
            return None
        if pointer not in self._samplers:
            animation, channel = self.channels[pointer]
            try:
                self._samplers[pointer] = self._read(animation, channel, width, pointer)
            except MissingDataError as error:
                self.missing = True
                self.remarks.about(pointer, f"it is animated, but {error}; it was taken as standing still.")
                self._samplers[pointer] = None
        return self._samplers[pointer]

    def _read(self, animation: int, channel: Json, width: int, pointer: str) -> Sampler:
        owner = self.asset.objects(self.asset.data, "animations")[animation]
        at = f"animations[{animation}]"
        samplers = self.asset.objects(owner, "samplers", f"{at}.")
        number = self.asset.index(channel, "sampler", f"{at}.channels", len(samplers))
        if number is None:
            self.asset.fail(f"{at}.channels", f"a sampler below {len(samplers)}", "none")
        at = f"{at}.samplers[{number}]"
        known = (STEP, LINEAR, CUBIC)
        interpolation = self.asset.one_of(samplers[number], "interpolation", at, known, LINEAR)
        seconds = self._accessor(samplers[number], "input", at)
        values = self._accessor(samplers[number], "output", at)
        if seconds.shape[1] != 1:
            self.asset.fail(f"{at}.input", "one number a key", f"{seconds.shape[1]}")
        frames = [self.timing.frame(second) for second in seconds[:, 0].tolist()]
        each = 3 if interpolation == CUBIC else 1
        if not frames or len(values) != len(frames) * each or values.shape[1] != width:
            expected = f"{len(frames) * each} values of {width} numbers for {len(frames)} keys"
            self.asset.fail(at, expected, f"{len(values)} of {values.shape[1]}")
        if any(b <= a for a, b in zip(seconds[:, 0], seconds[1:, 0], strict=False)):
            self.asset.fail(f"{at}.input", "ascending times", "one that is not after the one before")
        turns = pointer.endswith("/rotation") and width == 4
        tangents = values.reshape(len(frames), each, width)
        if turns and not (lengths(tangents[:, each // 2]) > 0).all():
            self.asset.fail(f"{at}.output", "rotations", "a quaternion of zeros")
        per_frame = 1.0 / self.timing.rate  # tangents are told by the second
        arriving, leaving = tangents[:, 0] * per_frame, tangents[:, -1] * per_frame
        return Sampler(frames, tangents[:, each // 2], interpolation, turns, arriving, leaving)

    def _accessor(self, owner: Json, key: str, at: str) -> Array:
        size = len(self.asset.objects(self.asset.data, "accessors"))
        number = self.asset.index(owner, key, at, size)
        if number is None:
            self.asset.fail(f"{at}.{key}", f"an index below {size}", "none")
        return read_accessor(self.asset, number)


def read_animations(asset: Asset, timing: Timing, remarks: Remarks) -> Animations:
    """The animated properties of a file. Where several animations move one property, the first is taken."""
    found = Animations(asset, timing, remarks)
    size = len(asset.objects(asset.data, "nodes"))
    for number, animation in enumerate(asset.objects(asset.data, "animations")):
        for channel in asset.objects(animation, "channels", f"animations[{number}]."):
            at = f"animations[{number}].channels"
            pointer = _pointer(asset, asset.object(channel, "target", at), at, size)
            if pointer is None:
                continue
            if pointer in found.channels and found.channels[pointer][0] != number:
                remarks.note("Several animations move the same things; the first of them was taken.")
            found.channels.setdefault(pointer, (number, channel))
    return found


def _pointer(asset: Asset, target: Json, at: str, size: int) -> str | None:
    path = target.get("path")
    if not isinstance(path, str):
        asset.fail(f"{at}.target.path", "text", "none" if path is None else "no text")
    if path == "pointer":
        extension = asset.extension(target, "KHR_animation_pointer", f"{at}.target")
        pointer = extension.get("pointer") if extension is not None else None
        return pointer if isinstance(pointer, str) else None
    node = asset.index(target, "node", f"{at}.target", size)
    return f"/nodes/{node}/{path}" if node is not None and path in _WIDTHS else None


def last_second(asset: Asset) -> float | None:
    """The last key of all animations by what their accessors state; None without animation. Reads no buffer."""
    accessors = asset.objects(asset.data, "accessors")
    last: float | None = None
    for number, animation in enumerate(asset.objects(asset.data, "animations")):
        for sampler in asset.objects(animation, "samplers", f"animations[{number}]."):
            index = asset.index(sampler, "input", f"animations[{number}].samplers", len(accessors))
            stated = accessors[index].get("max") if index is not None else None
            if isinstance(stated, list) and len(stated) == 1:
                second = asset.numbers(accessors[index or 0], "max", f"accessors[{index}]", (0.0,))[0]
                last = second if last is None else max(last, second)
    return last
