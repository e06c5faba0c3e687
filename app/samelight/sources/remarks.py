"""What a capture has to say beside its values, gathered so that a thousand like cases make one sentence."""

from __future__ import annotations

_SHOWN = 3
_MOST = 200


class Remarks:
    """Sentences in the order they were first made; like ones about several things are told together."""

    def __init__(self) -> None:
        self._about: dict[str, list[str]] = {}

    def note(self, sentence: str) -> None:
        """Note something about the scene as a whole."""
        self._about.setdefault(sentence, [])

    def about(self, path: str, says: str) -> None:
        """Note something about one prim; `says` follows its path after a colon."""
        paths = self._about.setdefault(says, [])
        if path not in paths[-1:]:
            paths.append(path)

    def sentences(self) -> list[str]:
        """Every remark as one sentence; past the first two hundred they are only counted."""
        told = [_told(says, paths) for says, paths in self._about.items()]
        if len(told) > _MOST:
            told[_MOST:] = [f"{len(told) - _MOST:,} more remarks of this scene are not listed."]
        return told


def _told(says: str, paths: list[str]) -> str:
    if not paths:
        return says
    named = ", ".join(paths[:_SHOWN])
    return f"{named}{f' and {len(paths) - _SHOWN} more' if len(paths) > _SHOWN else ''}: {says}"
