"""A picture as the bytes of a PNG file."""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage, QImageWriter

from samelight.sheets.errors import SamelightError


def png_bytes(picture: QImage) -> bytes:
    """The bytes of a PNG file of a picture. Raises `SamelightError` where Qt cannot make them."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    if not QImageWriter(buffer, QByteArray(b"png")).write(picture):
        raise SamelightError("the picture could not be made")
    return bytes(buffer.data().data())
