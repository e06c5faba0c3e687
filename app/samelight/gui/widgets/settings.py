"""What the window remembers from one day to the next."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

_RECENT = 8

_OF_A_WINDOW = frozenset({"who"})
"""What a window goes on with once it was said there, whatever another window of the same user remembers since."""


class Settings:
    """The user's settings, in Qt's own place for them."""

    def __init__(self) -> None:
        self._settings = QSettings(
            QSettings.Format.IniFormat, QSettings.Scope.UserScope, "samelight", "samelight"
        )
        self._own: dict[str, str] = {}

    @property
    def folder(self) -> Path:
        """The folder of the user's settings."""
        return Path(self._settings.fileName()).parent

    def text(self, key: str, default: str = "") -> str:
        """A remembered text."""
        value = self._own.get(key, self._settings.value(key, default))
        return value if isinstance(value, str) else default

    def number(self, key: str, default: int) -> int:
        """A remembered whole number."""
        try:
            return int(str(self._settings.value(key, default)))
        except ValueError:
            return default

    def names(self, key: str) -> list[str]:
        """A remembered list of texts."""
        value = self._settings.value(key, [])
        if isinstance(value, str):
            return [value] if value else []
        return [str(item) for item in value] if isinstance(value, list) else []

    def layout(self, key: str) -> QByteArray:
        """A remembered layout of the window."""
        value = self._settings.value(key)
        return value if isinstance(value, QByteArray) else QByteArray()

    def keep(self, key: str, value: str | int | list[str] | QByteArray) -> None:
        """Remember something."""
        if key in _OF_A_WINDOW:
            self._own[key] = str(value)
        self._settings.setValue(key, value)

    def forget(self, key: str) -> None:
        """Remember something no more."""
        self._settings.remove(key)

    def sync(self) -> None:
        """Write what is remembered."""
        self._settings.sync()

    def recent(self) -> list[Path]:
        """The sequences opened last, latest first."""
        return [Path(name) for name in self.names("recent")]

    def forget_recent(self) -> None:
        """Forget which sequences were opened."""
        self.forget("recent")

    def opened(self, folder: Path) -> None:
        """Remember that a sequence was opened."""
        names = [str(folder), *(str(path) for path in self.recent() if path != folder)]
        self.keep("recent", names[:_RECENT])
