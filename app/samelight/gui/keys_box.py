"""A box that lists keys and what they do."""

from __future__ import annotations

import html
from collections.abc import Iterable

from PySide6.QtWidgets import QMessageBox, QWidget


def show_keys(parent: QWidget, rows: Iterable[tuple[str, str]]) -> None:
    """List keys and what they do until the user has read them."""
    box = QMessageBox(QMessageBox.Icon.NoIcon, "Keys", "", QMessageBox.StandardButton.Close, parent)
    cells = "".join(
        f"<tr><td style='padding-right: 18px'><b>{html.escape(keys)}</b></td><td>{html.escape(title)}</td></tr>"
        for keys, title in rows
    )
    box.setText(f"<table>{cells}</table>")
    box.exec()
