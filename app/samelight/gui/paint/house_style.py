"""How controls are drawn: as Qt's Fusion style does, but for what people could not make out or would not look for there.

A style sheet would do as much, and Qt would hold every widget against its rules: a window would take half as long again to open.
"""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPalette
from PySide6.QtWidgets import (
    QComboBox,
    QLabel,
    QProxyStyle,
    QSplitter,
    QStyle,
    QStyleHintReturn,
    QStyleOption,
    QStyleOptionComplex,
    QStyleOptionToolButton,
    QToolBar,
    QWidget,
)

_ON, _ON_EDGE, _ON_TEXT, _ON_DIM_TEXT = (QColor(level, level, level) for level in (190, 250, 20, 96))
"""A button that is on stands out from one that is off by more than 3:1."""
_HANDLE, _TIP_EDGE = QColor(40, 40, 40), QColor(86, 86, 86)
_BOX_EDGE = QColor(190, 190, 190)
"""Of a box in a list: an empty one would be seen in the line that is chosen alone."""

_BAR_SPACING, _BAR_MARGIN, _TIP_MARGIN = 6, 4, 6
"""Pixels between the controls of a tool bar and round them, and round the words of a tool tip."""


class _OfLists(QProxyStyle):
    """A drop-down list opens as any other list. As a menu it would take what is Window to menus for its ground."""

    def styleHint(
        self,
        hint: QStyle.StyleHint,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
        returnData: QStyleHintReturn | None = None,
    ) -> int:
        if hint is QStyle.StyleHint.SH_ComboBox_Popup:
            return 0
        return super().styleHint(hint, option, widget, returnData)


class HouseStyle(QProxyStyle):
    """Steps in where something is dressed for the first time or drawn. Hints and sizes are left to Qt, which asks for
    thousands of them while a window opens."""

    def __init__(self) -> None:
        super().__init__("Fusion")
        self._of_lists = _OfLists("Fusion")

    def polish(self, dressed: Any) -> Any:
        """Dress a widget; or the program or its palette, as Qt asks for them by the same name."""
        if isinstance(dressed, QComboBox):
            dressed.setStyle(self._of_lists)
        elif isinstance(dressed, QToolBar) and (layout := dressed.layout()) is not None:
            layout.setSpacing(_BAR_SPACING)
            layout.setContentsMargins(_BAR_MARGIN, _BAR_MARGIN, _BAR_MARGIN, _BAR_MARGIN)
        elif type(dressed) is QLabel and dressed.inherits("QTipLabel"):
            dressed.setContentsMargins(_TIP_MARGIN, _TIP_MARGIN, _TIP_MARGIN, _TIP_MARGIN)
        return super().polish(dressed)

    def drawPrimitive(
        self,
        element: QStyle.PrimitiveElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        super().drawPrimitive(element, option, painter, widget)
        if element is QStyle.PrimitiveElement.PE_PanelTipLabel:
            painter.setPen(_TIP_EDGE)
            painter.drawRect(option.rect.adjusted(0, 0, -1, -1))
        elif element is QStyle.PrimitiveElement.PE_IndicatorItemViewItemCheck:
            painter.save()
            painter.setPen(_BOX_EDGE)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(option.rect.adjusted(0, 0, -1, -1))
            painter.restore()

    def drawControl(
        self,
        element: QStyle.ControlElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        if element is QStyle.ControlElement.CE_Splitter and isinstance(widget, QSplitter):
            painter.fillRect(option.rect, _HANDLE)
        elif element is not QStyle.ControlElement.CE_ToolBar:  # which has neither ground nor edge
            super().drawControl(element, option, painter, widget)

    def drawComplexControl(
        self,
        control: QStyle.ComplexControl,
        option: QStyleOptionComplex,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        if isinstance(option, QStyleOptionToolButton) and option.state & QStyle.StateFlag.State_On:
            self._draw_button_that_is_on(option, painter, widget)
        else:
            super().drawComplexControl(control, option, painter, widget)

    def _draw_button_that_is_on(
        self, option: QStyleOptionToolButton, painter: QPainter, widget: QWidget | None
    ) -> None:
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(_ON_EDGE)
        painter.setBrush(_ON)
        painter.drawRoundedRect(QRectF(option.rect).adjusted(0.5, 0.5, -0.5, -0.5), 1.5, 1.5)
        if (
            option.state & QStyle.StateFlag.State_HasFocus
            and option.state & QStyle.StateFlag.State_KeyboardFocusChange
        ):
            painter.setPen(_ON_TEXT)
            painter.drawRect(QRectF(option.rect).adjusted(2.5, 2.5, -2.5, -2.5))
        painter.restore()
        label = QStyleOptionToolButton(option)
        label.palette.setColor(QPalette.ColorRole.ButtonText, _ON_TEXT)
        label.palette.setColor(QPalette.ColorGroup.Disabled, QPalette.ColorRole.ButtonText, _ON_DIM_TEXT)
        label.state &= ~QStyle.StateFlag.State_On  # for which words would be shifted
        label.rect = option.rect.adjusted(3, 2, -2, -2)
        self.drawControl(QStyle.ControlElement.CE_ToolButtonLabel, label, painter, widget)
