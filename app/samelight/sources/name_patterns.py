"""Patterns of paths that say where a shot's name and a version stand in them: `shots/{shot}/light.v{version}.usda`."""

from __future__ import annotations

import re

from samelight.sheets.errors import SamelightError

PLACES = re.compile(r"\{(shot|version)\}")
_AS_EXPRESSION = {
    "{shot}": "(?P<shot>[^/]+?)",
    "{version}": r"v?(?P<version>\d+)",
    "**/": "(?:.*/)?",
    "*": "[^/]*",
    "?": "[^/]",
}
_PIECES = re.compile(r"\{shot\}|\{version\}|\*\*/|[*?]|\[!?[^\]]+\]")


def expression_of(pattern: str) -> re.Pattern[str]:
    """What meets a whole path with slashes that is as a pattern says, with the groups `shot` and `version` where it has them.

    What stands for one twice is the same both times. Raises `SamelightError` for what is no pattern.
    """
    whole, at = "", 0
    for piece in _PIECES.finditer(pattern):
        name = piece[0].strip("{}")
        again = f"(?P={name})" if f"(?P<{name}>" in whole else _expression(piece[0])
        whole += re.escape(pattern[at : piece.start()]) + again
        at = piece.end()
    try:
        return re.compile(whole + re.escape(pattern[at:]) + r"\Z")
    except re.error:
        raise SamelightError(
            f"expected a pattern such as shots/{{shot}}/light.usda, found {pattern!r}"
        ) from None


def version_named(path: str, pattern: str) -> int | None:
    """The version above 0 that a path says, of which the pattern tells the end; None where it is another path.

    >>> version_named("/show/rig/light.v007.usd", "rig/light.v{version}.usd*")
    7
    """
    found = expression_of(f"**/{pattern.lstrip('/')}").match(path)
    version = int(found["version"]) if found is not None else 0
    return version or None


def _expression(piece: str) -> str:
    return _AS_EXPRESSION.get(piece) or piece.replace("[!", "[^")  # a set of characters
