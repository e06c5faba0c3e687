"""What is wrong with a window in the eyes of who reads it, hears it or has no mouse."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QAbstractSpinBox,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QProgressBar,
    QScrollBar,
    QTabBar,
    QTextEdit,
    QToolButton,
    QWidget,
)

from samelight.gui.widgets.elided_label import ElidedLabel

_CONTROLS = (
    QAbstractButton,
    QComboBox,
    QAbstractSpinBox,
    QLineEdit,
    QAbstractItemView,
    QTextEdit,
    QProgressBar,
    QTabBar,
)
_INSIDE = (QComboBox, QAbstractSpinBox, QLineEdit, QTabBar)


def unsaid(window: QWidget) -> list[str]:
    """The controls that do not say what they are, to the eye or the ear, or that no key leads to."""
    faults = []
    for widget in controls(window):
        words = plain(widget.text()) if isinstance(widget, QAbstractButton) else ""
        if not widget.toolTip():
            faults.append(f"{_named(widget)} has no tool tip")
        if not (widget.accessibleName() or words):
            faults.append(f"{_named(widget)} has no accessible name")
        if not (widget.focusPolicy() & Qt.FocusPolicy.TabFocus or _has_key(widget)):
            faults.append(f"no key leads to {_named(widget)}")
    return faults


def clipped(window: QWidget) -> list[str]:
    """The labels and controls that are smaller than what is written in them."""
    faults = []
    for widget in window.findChildren(QWidget):
        if not widget.isVisible() or widget.window() is not window or _is_part(widget):
            continue
        if isinstance(widget, QLabel) and not isinstance(widget, ElidedLabel) and widget.text():
            hint = widget.sizeHint()
            if widget.wordWrap():
                hint.setWidth(0)
                hint.setHeight(widget.heightForWidth(widget.width()))
        elif isinstance(widget, QAbstractButton) and widget.text():
            text = widget.fontMetrics().size(Qt.TextFlag.TextShowMnemonic, widget.text())
            hint = text.boundedTo(widget.sizeHint())
        elif isinstance(widget, QComboBox):
            hint = widget.minimumSizeHint()
        elif isinstance(widget, QLineEdit | QAbstractSpinBox | ElidedLabel):
            hint = widget.sizeHint()
            hint.setWidth(0)
        else:
            continue
        if hint.expandedTo(widget.size()) != widget.size():
            found = f"{widget.width()} x {widget.height()} of {hint.width()} x {hint.height()}"
            faults.append(f"{_named(widget)}: {found}")
    return faults


def tab_order(window: QWidget) -> list[QWidget]:
    """The controls in the order in which Tab leads to them."""
    order: list[QWidget] = []
    here = window.nextInFocusChain()
    while here is not None and here is not window:
        if here in controls(window) and here.isVisible() and here.isEnabled():
            order.append(here)
        here = here.nextInFocusChain()
    return [each for each in order if each.focusPolicy() & Qt.FocusPolicy.TabFocus]


def controls(window: QWidget) -> list[QWidget]:
    """What a window is worked with, without the parts that Qt itself makes controls of."""
    return [
        widget
        for widget in window.findChildren(QWidget)
        if isinstance(widget, _CONTROLS) and widget.window() is window and not _is_part(widget)
    ]


def plain(text: str) -> str:
    """A title without its mark of a key."""
    return text.replace("&", "").rstrip("…")


def _is_part(widget: QWidget) -> bool:
    parent = widget.parentWidget()
    while parent is not None and not parent.isWindow():
        if isinstance(parent, _INSIDE):
            return True
        parent = parent.parentWidget()
    return isinstance(widget, QScrollBar | QHeaderView) or widget.objectName().startswith("qt_")


def _has_key(widget: QWidget) -> bool:
    """Whether it does nothing, as a bar of progress, or its tool tip ends with the keys of what it does."""
    if isinstance(widget, QProgressBar):
        return True
    if isinstance(widget, QToolButton) and widget.defaultAction() is not None:
        return not widget.defaultAction().shortcut().isEmpty()
    keys = QKeySequence(widget.toolTip().rpartition("(")[2].removesuffix(")"))
    if keys.isEmpty():
        return False
    return bool(keys[0].key() != Qt.Key.Key_unknown)  # type: ignore[index] # its stubs leave that out


def _named(widget: QWidget) -> str:
    said = widget.accessibleName()
    if not said and isinstance(widget, QLabel | QAbstractButton):
        said = widget.text()[:40]
    where = type(widget.parentWidget()).__name__
    scrolled = " (scrolls)" if isinstance(widget, QAbstractScrollArea) else ""
    return f"{type(widget).__name__} {said!r} in {where}{scrolled}"
