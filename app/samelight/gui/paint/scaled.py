"""Pictures at the size in which they are drawn, kept between one drawing and the next."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage, QPixmap, QPixmapCache


def scaled(image: QImage, size: QSize) -> QPixmap:
    """A picture at a size in pixels of the screen; Qt keeps those that were drawn last."""
    key = f"scaled {image.cacheKey()} {size.width()} {size.height()}"
    found = QPixmap()
    if not QPixmapCache.find(key, found):
        modes = Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
        found = QPixmap.fromImage(image.scaled(size, *modes))
        QPixmapCache.insert(key, found)
    return found
