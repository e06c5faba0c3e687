"""The head of the wall: which shot is shown, where it stands in the cut and how much of it is left."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout

from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.type_size import TypeSizes, pixel_font
from samelight.gui.widgets.elided_label import ElidedLabel


class WallHead(QHBoxLayout):
    """The shot's name, its place and its count, in one line."""

    def __init__(self) -> None:
        super().__init__()
        self.name_label = ElidedLabel("Shot")
        self.place_label = ElidedLabel("Place in the cut")
        self.count_label = ElidedLabel("How much is left to decide or mend")
        self.addWidget(self.name_label)
        self.addWidget(self.place_label, 1, Qt.AlignmentFlag.AlignVCenter)
        self.addWidget(self.count_label, 0, Qt.AlignmentFlag.AlignVCenter)
        for label in (self.name_label, self.place_label, self.count_label):
            label.setAccessibleName(label.toolTip())

    def show_shot(self, state: ReviewState) -> None:
        """Show another shot, or the same one as it is now."""
        self.name_label.setText(state.shot or "No shot")
        self.place_label.setText(state.place_text())
        self.count_label.setText(state.said.count_text())

    def set_type(self, sizes: TypeSizes, *, large: bool) -> None:
        """Set the sizes of type; the name may be `large`."""
        self.name_label.setFont(pixel_font(sizes.name if large else sizes.room, bold=True))
        for label in (self.place_label, self.count_label):
            label.setFont(pixel_font(sizes.room))
        self.place_label.setContentsMargins(sizes.keys, 0, 0, 0)
        self.setSpacing(sizes.gap)
