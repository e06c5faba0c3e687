"""Loading the window without the source of every module being read.

PySide6 reads the source of each module that is loaded after it, to see whether that may ask for other names of Qt's
(`from __feature__ import snake_case`). Nothing here asks for any, and that reading is an eighth of the window's imports.
"""

from __future__ import annotations

import sys

import PySide6.QtCore  # noqa: F401 - loads what does it


def leave_sources_unread() -> None:
    """From now on a module counts as one that asks for no other names. Where PySide6 does it in another way, nothing changes."""
    switching = sys.modules.get("shibokensupport.feature")
    if hasattr(switching, "_mod_uses_pyside"):
        vars(switching)["_mod_uses_pyside"] = lambda module: False
