"""A picture through a view that takes too long: it is told, and no other picture waits for it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from samelight.sources.limits import VIEW, Limits
from samelight.sources.pictures import seen
from samelight.sources.pictures.colour_config import ColourView
from samelight.sources.pictures.pictures import Picture
from samelight.sources.pictures.seen import Through, seen_through
from samelight.sources.trial import ReaderEndedError, TooLongError


def picture(width: int = 4, height: int = 2) -> Picture:
    return Picture(np.full((height, width, 3), 0.18, np.float16), (width, height), True)


@pytest.mark.parametrize(("kind", "asked"), [(TooLongError, 1), (ReaderEndedError, 2)])
def test_a_view_that_took_too_long_is_not_tried_again_until_its_config_is_edited(
    kind: type[ReaderEndedError], asked: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that took its reader down may have done so for the picture's sake."""
    limits: list[Limits] = []

    def ended(file: Path, held: Limits, *_: object) -> object:
        limits.append(held)
        raise kind(file, "a file that can be read to its end", "one that is hostile")

    monkeypatch.setattr(seen, "tried", ended)
    monkeypatch.setattr(seen, "_given_up", {})
    view = ColourView("/studio/show.ocio", "Desk", "Film", "first")
    for _ in range(2):
        found = seen_through(picture(), 0.0, Through(view))
        assert found.lacks == "the view Film, Desk cannot be used: the config is one that is hostile"
    assert len(limits) == asked
    seen_through(picture(), 0.0, Through(ColourView("/studio/show.ocio", "Desk", "Film", "second")))
    assert len(limits) == asked + 1


def test_a_large_picture_may_take_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    limits: list[Limits] = []

    def viewed(
        file: Path, held: Limits, work: Callable[..., object], linear: np.ndarray, *_: object
    ) -> object:
        limits.append(held)
        return np.zeros(linear.shape, np.uint8)

    monkeypatch.setattr(seen, "tried", viewed)
    through = Through(ColourView("/studio/show.ocio", "Desk", "Film"))
    seen_through(picture(), 0.0, through)
    seen_through(picture(2048, 1024), 0.0, through)
    assert [one.seconds for one in limits] == [VIEW.seconds, VIEW.seconds + 16]
