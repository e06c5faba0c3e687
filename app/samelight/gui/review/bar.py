"""The controls of the review window, for the person at the keys."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QHBoxLayout,
    QLineEdit,
    QMenu,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from samelight.gui.review.review_data import Compare, Other
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.plain_text import PlainLabel, plain

MOST_STOPS = 12.0
"""The largest exposure that can be set, either way."""


class ReviewBar(QWidget):
    """Comparison, exposure, what is done to the picture, the link to the grid, the screen, and who speaks."""

    def __init__(self, actions: Mapping[str, QAction], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.compare_box = _box([str(one) for one in Compare], "How the frame is compared (C)")
        self.other_box = _box([str(one) for one in Other], "The frame to compare with (O)")
        self.stops_box = QDoubleSpinBox()
        self.stops_box.setRange(-MOST_STOPS, MOST_STOPS)
        self.stops_box.setSingleStep(0.5)
        self.stops_box.setDecimals(1)
        self.stops_box.setSuffix(" stops")
        self.stops_box.setKeyboardTracking(False)
        _name(self.stops_box, "Exposure of all frames (+, -, 0 for none)")
        self.marks_button = _button(actions["marks"])
        self.marks_button.setCheckable(True)
        self.lights_button = _button(actions["lights"])
        self.lights_button.setCheckable(True)
        self.view_label = ElidedLabel("What is done to the picture before it is on the screen")
        self.view_label.setAccessibleName("What is done to the picture")
        self.view_label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.who_edit = QLineEdit()
        self.who_edit.setPlaceholderText("Who")
        _name(self.who_edit, "The name under your notes and decisions")
        self.lead_button = _button(actions["lead"])
        self.lead_button.setCheckable(True)
        self.screen_menu = QMenu("Screen", self)
        self.screen_button = QToolButton()
        self.screen_button.setText("Screen")
        self.screen_button.setMenu(self.screen_menu)
        self.screen_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.show_distance(None)
        self.full_button = _button(actions["full"])
        export_menu = QMenu("Export", self)
        export_menu.addActions([actions["export"], actions["export_all"]])
        self.export_button = QToolButton()
        self.export_button.setText("Export")
        self.export_button.setMenu(export_menu)
        self.export_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        _name(self.export_button, "Save notes and verdicts as Markdown or CSV (Ctrl+E)")
        self.row = layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for text, widget in (
            ("Compare", self.compare_box),
            ("with", self.other_box),
            ("Exposure", self.stops_box),
        ):
            label = PlainLabel(text)
            label.setBuddy(widget)
            layout.addWidget(label)
            layout.addWidget(widget)
        layout.addWidget(self.marks_button)
        layout.addWidget(self.lights_button)
        layout.addWidget(self.view_label, 1)
        for button in (self.lead_button, self.screen_button, self.full_button, self.export_button):
            layout.addWidget(button)
        layout.addWidget(_button(actions["keys"]))
        layout.addWidget(self.who_edit)

    def show_distance(self, metres: float | None) -> None:
        """Say from how far the type on this screen is read, where the screen tells how large it is."""
        read = f"; its words are read from {metres:.1f} m" if metres is not None else ""
        _name(self.screen_button, f"Which screen this window is on{read} (M for the next)")

    def show_leading(self, leading: bool) -> None:
        """Say whether this window leads the grid or follows it."""
        self.lead_button.setChecked(leading)
        self.lead_button.setText("Leads the grid" if leading else "Follows the grid")
        self.lead_button.setAccessibleName(self.lead_button.text())


def _box(texts: list[str], said: str) -> QComboBox:
    box = QComboBox()
    box.addItems(texts)
    _name(box, said)
    return box


def _button(action: QAction) -> QToolButton:
    button = QToolButton()
    button.setText(action.text())
    button.clicked.connect(action.trigger)
    _name(button, action.toolTip())
    return button


def _name(widget: QWidget, said: str) -> None:
    widget.setToolTip(plain(said))
    widget.setAccessibleName(said.partition(" (")[0])
