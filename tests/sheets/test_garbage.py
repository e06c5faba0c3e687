"""What Python's search for circles looks through, and what not."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Iterator

import pytest

from samelight.sheets.garbage import set_aside, take_back, without_collection


class Circle:
    """Something that holds itself, so that only a search finds that nobody else does."""

    def __init__(self) -> None:
        self.itself = self


@pytest.fixture(autouse=True)
def others_stay_aside() -> Iterator[None]:
    """What was collected of the other tests."""
    yield
    set_aside()


def test_what_is_set_aside_is_searched_once_it_is_taken_back() -> None:
    take_back()
    circle = Circle()
    gone = weakref.ref(circle)
    set_aside()
    del circle
    gc.collect()
    assert gone() is not None
    take_back()
    assert gone() is None and gc.get_freeze_count() == 0


def test_where_nothing_is_aside_nothing_is_searched() -> None:
    take_back()
    with without_collection():
        gone = weakref.ref(Circle())
        take_back()
        assert gone() is not None


@pytest.mark.parametrize("was_on", [True, False])
def test_a_search_begins_again_where_it_was_on(was_on: bool) -> None:

    @without_collection()
    def fails() -> None:
        assert not gc.isenabled()
        raise EOFError

    if not was_on:
        gc.disable()
    try:
        with pytest.raises(EOFError):
            fails()
        assert gc.isenabled() is was_on
    finally:
        gc.enable()


def test_what_was_made_meanwhile_is_not_young() -> None:
    take_back()
    with without_collection():
        circle = Circle()
    assert not any(made is circle for young in (0, 1) for made in gc.get_objects(young))
    assert any(made is circle for made in gc.get_objects(2))


def test_what_is_aside_stays_there() -> None:
    set_aside()
    aside = gc.get_freeze_count()
    with without_collection():
        circle = Circle()
    assert gc.get_freeze_count() >= aside and circle.itself is circle
