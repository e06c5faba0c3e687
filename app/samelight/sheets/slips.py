"""A slip of the hand: a name that stands one or two letters beside a known one."""

from __future__ import annotations

from collections.abc import Collection, Iterable

SHORTEST, EXCHANGED_FROM, TWO_FROM, FREE_FROM = 4, 6, 7, 8
"""Letters of a known name from which a slip for it is told at all, a letter may be another one, two letters may be wrong,
and its first and its last letter may be another one or one too many."""


def meant(name: str, known: Iterable[str]) -> str | None:
    """The known name that a name is a slip for, the one with the fewest letters wrong; None where it is none.

    A slip is a letter left out, put in, exchanged or swapped with the next, two of them in a long name, a plural, or
    another case. What is another word is none: with other digits (`width2`), or, where the known name is short, with
    another or one more letter at an end (`sampler`, `weight`) or with another letter at all (`lines`).

    >>> [meant(name, ["intensity", "samples", "width", "light_links"]) for name in ("intensty", "sample", "Width", "light_link")]
    ['intensity', 'samples', 'width', 'light_links']
    >>> [meant(name, ["samples", "width", "height", "links"]) for name in ("sampler", "width2", "weight", "lines")]
    [None, None, None, None]
    """
    typed = name.casefold()
    found = ((wrong, one) for one in known if (wrong := _wrong(typed, one)) is not None)
    return min(found, default=(0, None))[1] if typed else None


def meant_word(word: str, known: Collection[str]) -> str | None:
    """The known word that a short one is a slip for: in another case, between spaces, or with its letters in another order.

    >>> [meant_word(word, ["held", "all"]) for word in ("Held", " all", "hedl", "held", "head", "on")]
    ['held', 'all', 'held', None, None, None]
    """
    typed = word.strip().casefold()
    return None if word in known else next((one for one in known if sorted(one) == sorted(typed)), None)


def _wrong(typed: str, known: str) -> int | None:
    """How many letters of a slip for a known name are wrong; None where it is no slip for it."""
    if typed == known:
        return 0
    size = len(known)
    if size < SHORTEST or _digits(typed) != _digits(known):
        return None
    if typed in (f"{known}s", known.removesuffix("s")):
        return 1
    ends_alike = typed[0] in known[:2] and typed[-1] in known[-2:]
    exchange = size >= EXCHANGED_FROM
    if (ends_alike or size >= FREE_FROM) and _within(typed, known, 1, exchange):
        return 1
    if ends_alike and size >= TWO_FROM and _within(typed, known, 2, exchange):
        return 2
    return None


def _digits(name: str) -> list[str]:
    return [letter for letter in name if letter.isdigit()]


def _within(a: str, b: str, slips: int, exchange: bool) -> bool:
    """Whether so many letters left out, put in, swapped with the next or, with `exchange`, exchanged lead from a to b."""
    if abs(len(a) - len(b)) > slips:
        return False
    alike = next((at for at, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    a, b = a[alike:], b[alike:]
    if not a or not b:
        return len(a) + len(b) <= slips
    if slips == 0:
        return False
    return (
        _within(a[1:], b, slips - 1, exchange)
        or _within(a, b[1:], slips - 1, exchange)
        or (a[:2] == b[1::-1] and _within(a[2:], b[2:], slips - 1, exchange))
        or (exchange and _within(a[1:], b[1:], slips - 1, exchange))
    )
