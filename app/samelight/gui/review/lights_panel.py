"""The lights of a frame: how it is looked at, how its light lies about middle grey, and a trim and a gel for each of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QSlider,
    QVBoxLayout,
    QWidget,
)

from samelight.changes.looks import FrameLook
from samelight.changes.trims import gel_text, stops_text
from samelight.gui.review.histogram_view import HistogramView
from samelight.gui.review.picture_views import SAYS, PictureView
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.plain_text import PlainLabel, plain

_HUNDREDTHS = 100
MOST_STOPS, MOST_GEL = 3.0, 200


class LightsPanel(QWidget):
    """Says by signals what is wanted; the trims that it shows are its own state."""

    changed = Signal()
    """Another look is wanted, or other trims."""
    match_asked = Signal()
    copy_asked = Signal()
    return_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.look_box = _box(
            FrameLook,
            "How the frame is looked at",
            "The frame as rendered, or as it would be with other light",
        )
        self.view_box = _box(
            PictureView,
            "How pixels are shown",
            "The picture, how many stops each pixel is from middle grey, or how far it is from the frame that it is compared with",
        )
        self.view_says = PlainLabel("")
        self.view_says.setWordWrap(True)
        self.view_says.hide()
        self.histogram = HistogramView()
        self.match_button = _button(
            "As the key shot",
            "Trim the fewest lights so that the mark gets of each what it gets in the key shot's frame",
        )
        self.clear_button = _button("No trims", "Take all trims and gels off")
        self.copy_button = _button(
            "Copy what to set", "Copy the trims: each light with its stops and its gel"
        )
        self.return_button = _button(
            "Send these back…", "Send the trimmed lights back to the lighter, with what to set as the reason"
        )
        self.said = PlainLabel("")
        self.said.setWordWrap(True)
        self.rows = QWidget()
        self._grid = QGridLayout(self.rows)
        self._stops: dict[str, QSlider] = {}
        self._gels: dict[str, QSlider] = {}
        self._says: dict[str, tuple[PlainLabel, PlainLabel]] = {}
        self._lay_out()
        self.look_box.currentIndexChanged.connect(self.changed)
        self.view_box.currentTextChanged.connect(self._say_view)
        self.match_button.clicked.connect(self.match_asked)
        self.copy_button.clicked.connect(self.copy_asked)
        self.return_button.clicked.connect(self.return_asked)
        self.clear_button.clicked.connect(lambda: self.set_trims({}))
        self.show_lights(())

    def _lay_out(self) -> None:
        scroll = QScrollArea(widgetResizable=True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        scroll.setWidget(self.rows)
        buttons = QHBoxLayout()
        for button in (self.match_button, self.clear_button, self.copy_button):
            buttons.addWidget(button)
        body = QVBoxLayout(self)
        body.setContentsMargins(0, 0, 0, 0)
        body.addWidget(self.look_box)
        body.addWidget(self.view_box)
        body.addWidget(self.view_says)
        body.addWidget(self.histogram)
        body.addWidget(scroll, 1)
        body.addLayout(buttons)
        body.addWidget(self.return_button)
        body.addWidget(self.said)

    @property
    def look(self) -> FrameLook:
        """How the frame is looked at."""
        return FrameLook(self.look_box.currentText())

    @property
    def view(self) -> PictureView:
        """How pixels are shown: as a picture while this panel is not shown."""
        return PictureView.PICTURE if self.isHidden() else PictureView(self.view_box.currentText())

    def set_look(self, look: FrameLook) -> None:
        """Look at the frame in another way."""
        self.look_box.setCurrentText(str(look))

    @property
    def stops(self) -> dict[str, float]:
        """Stops of the lights that are trimmed."""
        return {
            light: slider.value() / _HUNDREDTHS for light, slider in self._stops.items() if slider.value()
        }

    @property
    def gels(self) -> dict[str, float]:
        """Gels of the lights that have one, in MK⁻¹: above 0 warmer."""
        return {light: float(slider.value()) for light, slider in self._gels.items() if slider.value()}

    def show_lights(self, lights: Sequence[str]) -> None:
        """Show these lights, without trims; the same ones keep theirs."""
        if list(lights) == list(self._stops):
            return
        while self._grid.count():
            item = self._grid.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._stops, self._gels, self._says = {}, {}, {}
        for row, light in enumerate(lights):
            name = ElidedLabel("A light with a layer of its own in the frame")
            name.setText(light)
            name.setFont(self.look_box.font())
            stops = self._slider(f"{light}: stops", round(MOST_STOPS * _HUNDREDTHS), 10)
            gel = self._slider(f"{light}: gel", MOST_GEL, 5)
            self._stops[light], self._gels[light] = stops, gel
            self._says[light] = PlainLabel(""), PlainLabel("")
            self._grid.addWidget(name, 2 * row, 0, 1, 2)
            for place, (slider, says) in enumerate(zip((stops, gel), self._says[light], strict=True)):
                says.setFont(self.look_box.font())
                says.setMinimumWidth(says.fontMetrics().horizontalAdvance("+200 MK⁻¹ "))
                says.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self._grid.addWidget(slider, 2 * row + 1, 2 * place)
                self._grid.addWidget(says, 2 * row + 1, 2 * place + 1)
        self._grid.setRowStretch(2 * len(lights), 1)
        self._say()

    def _slider(self, name: str, most: int, step: int) -> QSlider:
        slider = QSlider(Qt.Orientation.Horizontal)
        slider.setRange(-most, most)
        slider.setSingleStep(step)
        slider.setPageStep(5 * step)
        slider.setAccessibleName(name)
        slider.setToolTip(plain(name))
        slider.valueChanged.connect(self._dragged)
        return slider

    def set_trims(self, stops: Mapping[str, float]) -> None:
        """Trim lights by so many stops, and no others, without gels."""
        for light, slider in self._stops.items():
            for one, value in ((slider, round(stops.get(light, 0.0) * _HUNDREDTHS)), (self._gels[light], 0)):
                one.blockSignals(True)
                one.setValue(value)
                one.blockSignals(False)
        self._say()
        if stops:
            self.set_look(FrameLook.TRIMS)
        self.changed.emit()

    def _dragged(self, *_: object) -> None:
        self._say()
        if self.look is FrameLook.TRIMS:
            self.changed.emit()
        else:
            self.set_look(FrameLook.TRIMS)

    def show_figure(self, figure: str) -> None:
        """Say what came of the view that is shown, beside what it is."""
        self._say_view(self.view_box.currentText(), figure)

    def _say_view(self, view: str, figure: str = "") -> None:
        says = " ".join(part for part in (SAYS[PictureView(view)], figure) if part)
        self.view_says.setText(says)
        self.view_says.setVisible(bool(says))

    def _say(self) -> None:
        for light, (stops, gel) in self._says.items():
            stops.setText(stops_text(self._stops[light].value() / _HUNDREDTHS))
            gel.setText(gel_text(float(self._gels[light].value())))
        trimmed = bool(self.stops or self.gels)
        for button in (self.clear_button, self.copy_button, self.return_button):
            button.setEnabled(trimmed)


def _box(texts: type[StrEnum], name: str, said: str) -> QComboBox:
    box = QComboBox()
    box.addItems(list(texts))
    box.setAccessibleName(name)
    box.setToolTip(plain(said))
    return box


def _button(text: str, said: str) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(text)
    button.setToolTip(plain(said))
    return button
