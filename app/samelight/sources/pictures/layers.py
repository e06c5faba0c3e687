"""Which channels of an OpenEXR picture are the picture."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

_RGB = (("r", "g", "b"), ("red", "green", "blue"))
_BEAUTY = "beauty"


@dataclass(frozen=True, slots=True)
class Layer:
    """The part of the file, its channels (three, or one that is shown grey), and what to say of the choice."""

    part: int
    channels: tuple[str, ...]
    remarks: tuple[str, ...] = ()


def choose_layer(headers: Sequence[Mapping[str, Any]]) -> Layer | None:
    """The picture among all parts of a file, by their headers; None where nothing can be shown.

    Colour comes before luminance, that before any other channel; what bears no name of a layer or part before what
    does; of names the one called beauty, then the first. Deep parts and channels of fewer samples are passed over.
    """
    found: list[tuple[tuple[int, int], Layer]] = []
    for part, header in enumerate(headers):
        if "deep" in str(header.get("type", "")).lower():
            continue
        whole = [channel.name for channel in header.get("channels", ()) if _is_whole(channel)]
        called = str(header.get("name") or "")
        for prefix, names in _layers(whole).items():
            rank, channels, remark = _picture_of(names)
            title = prefix or (called if len(headers) > 1 else "")
            remarks = tuple(text for text in (f"layer {title}" if title else "", remark) if text)
            named = 0 if not title else 1 if _BEAUTY in title.lower() else 2
            found.append(((rank, named), Layer(part, channels, remarks)))
    # The first of equals, which is the first in the file.
    return min(found, key=lambda pair: pair[0])[1] if found else None


def _is_whole(channel: Any) -> bool:
    return int(channel.xSampling) == 1 and int(channel.ySampling) == 1


def _layers(names: Iterable[str]) -> dict[str, list[str]]:
    layers: dict[str, list[str]] = {}
    for name in names:
        layers.setdefault(name.rpartition(".")[0], []).append(name)
    return layers


def _picture_of(names: Sequence[str]) -> tuple[int, tuple[str, ...], str]:
    """How well a layer's channels make a picture (0 best), those channels, and what to say of them."""
    last = {name.rpartition(".")[2].lower(): name for name in names}
    for rgb in _RGB:
        if all(one in last for one in rgb):
            return 0, tuple(last[one] for one in rgb), ""
    if "y" in last:
        return 1, (last["y"],), "luminance alone, shown grey"
    return 2, (names[0],), f"channel {names[0]} alone, shown grey"
