"""The exposure of all frames."""

from __future__ import annotations

from PySide6.QtWidgets import QDoubleSpinBox

from samelight.gui.widgets.plain_text import plain

MOST_STOPS = 12.0
"""The largest exposure that can be set, either way."""


class StopsBox(QDoubleSpinBox):
    """Stops, by halves; a typed number counts when it is finished. `tip` says what it does, and its keys."""

    def __init__(self, tip: str) -> None:
        super().__init__()
        self.setRange(-MOST_STOPS, MOST_STOPS)
        self.setSingleStep(0.5)
        self.setDecimals(1)
        self.setSuffix(" stops")
        self.setKeyboardTracking(False)
        self.setToolTip(plain(tip))
        self.setAccessibleName("Exposure of all frames")
