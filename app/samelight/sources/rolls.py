"""How lights and cameras of a scene are rolled, placement by placement."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

from samelight.light.directions import turn_between
from samelight.light.rolling import roll_of

T = TypeVar("T")
Axis = Callable[[T], Sequence[float] | None]


class Rolled(Generic[T]):
    """The roll of what points along one axis of a placement and has its own +X along another, degrees.

    In nine decimals, since transforms have no more. Each placement's roll counts on from the one before, past 180 degrees too; 0 where it has none.
    """

    def __init__(self, direction: Axis[T], across: Axis[T]) -> None:
        self._direction, self._across = direction, across
        self._last: float | None = None

    def __call__(self, placement: T) -> float:
        direction, across = self._direction(placement), self._across(placement)
        try:
            roll = round(roll_of(direction, across), 9) if direction and across else 0.0
        except ValueError:
            roll = 0.0
        self._last = roll if self._last is None else round(self._last + turn_between(self._last, roll), 9)
        return self._last + 0.0
