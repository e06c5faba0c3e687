"""Small OpenEXR pictures for tests."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR

SCANLINES = {"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage}


def plane(value: float, size: tuple[int, int] = (40, 20), kind: Any = np.float16) -> Any:
    """A channel of one value, `size` wide and high."""
    return np.full((size[1], size[0]), value, kind)


def write_exr(path: Path, channels: dict[str, Any], **header: Any) -> Path:
    """Write channels of shape (height, width) as scan lines and return the path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    OpenEXR.File({**SCANLINES, **header}, channels).write(str(path))
    return path


def write_grey(path: Path, value: float, size: tuple[int, int] = (40, 20)) -> Path:
    """Write R, G and B of one value."""
    return write_exr(path, {name: plane(value, size) for name in "RGB"})


def claim_size(path: Path, width: int, height: int) -> Path:
    """Make the header of an EXR claim another size than its pixels have."""
    data = path.read_bytes()
    for key in (b"dataWindow\0box2i\0", b"displayWindow\0box2i\0"):
        start = data.index(key) + len(key) + 4
        data = data[:start] + struct.pack("<4i", 0, 0, width - 1, height - 1) + data[start + 16 :]
    path.write_bytes(data)
    return path
