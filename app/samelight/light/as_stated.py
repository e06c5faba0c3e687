"""What a sheet states as text, taken apart once."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, eq=False)
class AsStated:
    """The base of what is made of a `text` in a sheet. Two of a kind are equal if they are of the same text.

    >>> AsStated("1 2 3") == AsStated("1 2 3"), AsStated("1 2 3") == AsStated("1 2 4"), AsStated("1") == "1"
    (True, False, False)
    """

    text: str

    def __eq__(self, other: object) -> bool:
        return isinstance(other, AsStated) and type(self) is type(other) and self.text == other.text

    def __hash__(self) -> int:
        return hash(self.text)
