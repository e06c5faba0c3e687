"""Text for painting in which no line breaks within a path, as long as the path fits a line."""

from __future__ import annotations

import re

from PySide6.QtGui import QFont, QFontMetricsF

JOINER = "\u2060"
"""WORD JOINER: no line break on either side of it, and no width (Unicode Standard Annex 14, class WJ)."""

_PATH = re.compile(r"\S*/\S+")
_BREAKS = re.compile(r"(?<=[/-])(?=\S)")


def with_whole_paths(text: str, face: QFont, width: float) -> str:
    """The text with its paths held together where each fits in a width (pixels). For painting and measuring only: what is
    copied or read aloud is the text itself."""
    if "/" not in text:
        return text
    metrics = QFontMetricsF(face)

    def joined(found: re.Match[str]) -> str:
        path = found.group()
        return _BREAKS.sub(JOINER, path) if metrics.horizontalAdvance(path) <= width else path

    return _PATH.sub(joined, text)
