"""The controls of the review window, for the person at the keys."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QTimer
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLineEdit,
    QMenu,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from samelight.gui.review.review_state import Compare, Other
from samelight.gui.review.type_size import TypeSizes, pixel_font, spread_font
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.gui.widgets.settings import Settings
from samelight.gui.widgets.stops_box import StopsBox
from samelight.gui.widgets.view_box import ViewBox
from samelight.sequence.session import account_name

_SAID_FOR = 4000
_NARROWEST = 60
"""Pixels that a choice may be cut to where a screen has no room for all of the bar."""


class ReviewBar(QWidget):
    """Comparison, exposure, what is done to the picture, the link to the grid, the screen, and who speaks.

    What is set here holds for the window, and is remembered.
    """

    def __init__(
        self, actions: Mapping[str, QAction], settings: Settings, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._settings = settings
        self._marks = actions["marks"]
        self.compare_box = _box([str(one) for one in Compare], "How the frame is compared (C)")
        self.other_box = _box([str(one) for one in Other], "The frame to compare with (O)")
        self.shot_edit = QLineEdit()
        self.shot_edit.setPlaceholderText("Shot")
        _name(
            self.shot_edit, "The shot to compare with: its name, a part of it, or its number in the cut (A)"
        )
        self.shot_edit.hide()
        self.other_box.currentTextChanged.connect(
            lambda text: self.shot_edit.setVisible(text == str(Other.CHOSEN))
        )
        self.stops_box = StopsBox("Exposure of all frames (+, -, 0 for none)")
        self.view_box = ViewBox(named=False)
        self.marks_button = _switch(self._marks)
        self.lights_button = _switch(actions["lights"])
        self.view_label = ElidedLabel("What is done to the picture before it is on the screen")
        self.view_label.setAccessibleName("What is done to the picture")
        self.view_label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._view = ""
        self._quiet = QTimer(self, singleShot=True)
        self._quiet.timeout.connect(lambda: self.view_label.setText(self._view))
        self.who_edit = QLineEdit()
        self.who_edit.setPlaceholderText("Who")
        self.who_edit.editingFinished.connect(self._keep_who)
        _name(self.who_edit, "The name under your notes and decisions")
        self.lead_button = _button(actions["lead"])
        self.lead_button.setCheckable(True)
        self.screen_menu = QMenu("Screen", self)
        self.screen_button = _menu_button(self.screen_menu)
        self.show_distance(None)
        export_menu = QMenu("Export", self)
        export_menu.addActions([actions["export"], actions["export_all"]])
        self.export_button = _menu_button(export_menu)
        _name(self.export_button, "Save notes and verdicts as Markdown or CSV (Ctrl+E)")
        self.full_button, self.keys_button = _button(actions["full"]), _button(actions["keys"])
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._fill()
        self._recall()

    def _fill(self) -> None:
        for text, widget in (
            ("Compare", self.compare_box),
            ("with", self.other_box),
            ("Exposure", self.stops_box),
        ):
            label = PlainLabel(text)
            label.setBuddy(widget)
            self._row.addWidget(label)
            self._row.addWidget(widget)
            if widget is self.other_box:
                self._row.addWidget(self.shot_edit)
        self._row.addWidget(self.view_box)
        self._row.addWidget(self.marks_button)
        self._row.addWidget(self.lights_button)
        self._row.addWidget(self.view_label, 1)
        for button in (
            self.lead_button,
            self.screen_button,
            self.full_button,
            self.export_button,
            self.keys_button,
            self.who_edit,
        ):
            self._row.addWidget(button)

    @property
    def view_text(self) -> str:
        """What is done to the picture, in words."""
        return self._view

    @property
    def compare(self) -> Compare:
        """How the frame is compared."""
        return Compare(self.compare_box.currentText())

    @property
    def other(self) -> Other:
        """What the frame is compared with."""
        return Other(self.other_box.currentText())

    @property
    def leading(self) -> bool:
        """Whether the grid follows this window; else this window follows the grid."""
        return self.lead_button.isChecked()

    def compare_with(self, shot: str) -> None:
        """Compare with a shot that was chosen: in a wipe, unless the frames stand side by side already."""
        self.shot_edit.setText(shot)
        self.other_box.setCurrentText(str(Other.CHOSEN))
        if self.compare is Compare.ALONE:
            self.compare_box.setCurrentText(str(Compare.WIPE))

    def show_leading(self, leading: bool) -> None:
        """Say whether this window leads the grid or follows it."""
        self.lead_button.setChecked(leading)
        self.lead_button.setText("Leads the grid" if leading else "Follows the grid")
        self.lead_button.setAccessibleName(self.lead_button.text())

    def show_distance(self, metres: float | None) -> None:
        """Say from how far the type on this screen is read, where the screen tells how large it is."""
        read = f"; its words are read from {metres:.1f} m" if metres is not None else ""
        _name(self.screen_button, f"Which screen this window is on{read} (M for the next)")

    def show_view(self, text: str) -> None:
        """Say what is done to the picture, once what was said for a moment was read."""
        self._view = text
        if not self._quiet.isActive():
            self.view_label.setText(text)

    def say(self, text: str) -> None:
        """Tell the person at the keys something, for a moment."""
        self.view_label.setText(text)
        self._quiet.start(_SAID_FOR)

    @property
    def who(self) -> str:
        """Whose notes and decisions these are."""
        return self.who_edit.text().strip() or account_name()

    def _keep_who(self) -> None:
        self._settings.keep("who", self.who if self.who != account_name() else "")

    def set_type(self, sizes: TypeSizes) -> None:
        """Set the sizes of type."""
        spread_font(self, pixel_font(sizes.keys))
        self._row.setSpacing(sizes.gap)
        self.who_edit.setMinimumWidth(4 * sizes.keys)
        self.who_edit.setMaximumWidth(7 * sizes.keys)
        self.shot_edit.setFixedWidth(4 * sizes.keys)

    def _recall(self) -> None:
        self.compare_box.setCurrentText(self._settings.text("review_compare", str(Compare.ALONE)))
        self.other_box.setCurrentText(self._settings.text("review_other", str(Other.KEY)))
        self.who_edit.setText(self._settings.text("who") or account_name())
        self.show_leading(bool(self._settings.number("review_leads", 1)))
        self._marks.setChecked(bool(self._settings.number("review_marks", 1)))

    def keep(self) -> None:
        """Remember what is set."""
        self._settings.keep("review_compare", str(self.compare))
        self._settings.keep("review_other", str(self.other))
        self._settings.keep("review_leads", int(self.leading))
        self._settings.keep("review_marks", int(self._marks.isChecked()))


def _box(texts: list[str], said: str) -> QComboBox:
    box = QComboBox()
    box.addItems(texts)
    box.setMinimumWidth(_NARROWEST)
    _name(box, said)
    return box


def _button(action: QAction) -> QToolButton:
    button = QToolButton()
    button.setText(action.text())
    button.clicked.connect(action.trigger)
    _name(button, action.toolTip())
    return button


def _switch(action: QAction) -> QToolButton:
    """A button that is on while its command is."""
    button = QToolButton()
    button.setDefaultAction(action)
    button.setAccessibleName(action.statusTip())
    return button


def _menu_button(menu: QMenu) -> QToolButton:
    button = QToolButton()
    button.setText(menu.title())
    button.setMenu(menu)
    button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
    return button


def _name(widget: QWidget, said: str) -> None:
    widget.setToolTip(plain(said))
    widget.setAccessibleName(said.partition(" (")[0])
