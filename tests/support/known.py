"""What a test knows of a value beyond the type that is declared for it. It is said where the value is used, and holds there."""

from __future__ import annotations

from typing import Any, TypeVar

import pytest

T = TypeVar("T")


def there(value: T | None) -> T:
    """A value that may be missing and is not."""
    assert value is not None
    return value


def being(kind: type[T], value: object) -> T:
    """A value that may be of several kinds and is of this one."""
    assert isinstance(value, kind), value
    return value


def about(expected: object, **within: Any) -> Any:
    """`pytest.approx` as a part of a larger value: of the type of whatever it stands for."""
    return pytest.approx(expected, **within)
