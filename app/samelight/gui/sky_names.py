"""Where the name of a light may stand on the sky: beside its point, and over nothing else."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF


def room_for(
    at: QPointF, width: float, height: float, within: QRectF, taken: Sequence[QRectF]
) -> tuple[QRectF, bool]:
    """The best room for a name beside a point, and whether it is free of what is taken."""
    rooms = [QRectF(left, top, width, height) for left, top in _around(at, width, height)]
    for room in rooms:
        if within.contains(room) and not any(room.intersects(other) for other in taken):
            return room, True
    return rooms[0], False


def _around(at: QPointF, width: float, height: float) -> list[tuple[float, float]]:
    """Where a name may stand beside a point, best first."""
    x, y = at.x(), at.y()
    return [
        (x + 12, y - height / 2),
        (x - 12 - width, y - height / 2),
        (x - width / 2, y + 12),
        (x - width / 2, y - 12 - height),
        (x + 10, y + 10),
        (x + 10, y - 10 - height),
        (x - 10 - width, y + 10),
        (x - 10 - width, y - 10 - height),
    ]
