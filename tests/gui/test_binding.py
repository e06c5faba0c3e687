"""PySide6 6.12.0 loses a reference to None at each null QVariant; the pinned releases must not."""

from __future__ import annotations

import sys

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QStandardItemModel

CALLS = 20_000


@pytest.mark.skipif(
    sys.version_info >= (3, 12), reason="None is immortal from CPython 3.12 on, so it has no count"
)
def test_empty_roles_keep_the_references_to_none(qapp: object) -> None:
    model = QStandardItemModel(1, 1)
    index = model.index(0, 0)
    before = sys.getrefcount(None)
    for _ in range(CALLS):
        assert index.data(Qt.ItemDataRole.UserRole) is None
    lost = before - sys.getrefcount(None)
    assert abs(lost) < CALLS / 20
