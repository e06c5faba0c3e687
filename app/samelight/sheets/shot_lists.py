"""Lists of shots as people write them: one, several, a run of the cut or a pattern; and the lists of who lights what."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from fnmatch import translate
from typing import Any

from samelight.sheets.errors import Faults, Locate, Place, SamelightError, nearest_name, shown_name

Lighters = Mapping[str, tuple[str, ...]]
"""Names, and for each the shots and runs of the cut as they are written."""

LONGEST_NAME = 200
"""Bytes of the name of a shot, which is the name of a folder."""

_SAID = 3
_LONGEST_RUN = 2 * LONGEST_NAME + 8
"""Characters of two names with a dash between them."""
_HINTS = 5
"""How often somebody is told which name of a cut is like a misspelt one: to find it takes long in a long cut."""


class UnorderedShots(tuple[str, ...]):
    """Shots in the place of a cut that cannot be read: which of them lie between two others nobody can say."""

    __slots__ = ()


class UnknownLighterError(SamelightError):
    """A lighter whom a sequence does not name."""


class RunError(SamelightError):
    """A run of shots, and no cut to say which shots are in it."""


class NamedShots:
    """The shots of a cut as people name them. Each is looked up, so that many lists take no longer than their length."""

    def __init__(self, cut: Sequence[str]) -> None:
        self._cut = cut
        self._places = {shot: place for place, shot in enumerate(cut)}
        self._hints = _HINTS

    def __contains__(self, shot: object) -> bool:
        return shot in self._places

    def meant(self, text: str) -> Sequence[str]:
        """The shots of a name, of a run or of a pattern such as HB_2*, in cut order. Raises as `chosen_shots`."""
        if text in self._places:
            return (text,)
        if "," in text or text != text.strip():
            return self.chosen(part.strip() for part in text.split(","))
        if len(text) > _LONGEST_RUN:
            raise self._unknown(text)
        if "*" not in text and "?" not in text:
            return self._run(text)
        fits = re.compile(translate(text.replace("[", "[[]"))).match
        met = [shot for shot in self._cut if fits(shot)]
        if not met:
            raise SamelightError(f"no shot in the cut is called {text}")
        return met

    def chosen(self, parts: Iterable[str]) -> list[str]:
        """The shots that any of some texts means, in cut order, each once. Raises as `chosen_shots`."""
        return self._in_order({shot for part in parts for shot in self.meant(part)})

    def of_lighter(self, name: str, lighters: Lighters) -> list[str]:
        """The shots of a lighter that are in the cut, in cut order. Raises as `lighter_shots`."""
        called = lighter_called(name, lighters)
        if called is None:
            near = nearest_name(name, list(lighters))
            hint = f"; did you mean {near}?" if near else f": it names {', '.join(lighters) or 'nobody'}"
            raise UnknownLighterError(f"the sequence names no lighter {name}{hint}")
        chosen: set[str] = set()
        for part in lighters[called]:
            try:
                chosen.update(self.meant(part))
            except RunError as error:
                raise RunError(f"lighters, {called}: {error}") from None
            except SamelightError:
                continue  # said by `unknown_shots`
        if not chosen:
            few = {called: lighters[called][:_SAID]}
            why = "; ".join(unknown_shots(few, self))
            raise SamelightError(f"no shot of {called} is in the cut" + (f": {why}" if why else ""))
        return self._in_order(chosen)

    def nearest(self, name: str) -> str | None:
        """The shot that is called most like a name that none has; of many such names for the first few alone."""
        self._hints -= 1
        return nearest_name(name, self._cut) if self._hints >= 0 else None

    def _in_order(self, chosen: Collection[str]) -> list[str]:
        return sorted(chosen, key=self._places.__getitem__)

    def _run(self, text: str) -> Sequence[str]:
        # A shot's own name may hold a dash, so every dash is tried.
        for index, character in enumerate(text):
            if character == "-":
                first, last = text[:index].strip(), text[index + 1 :].strip()
                if first in self and last in self:
                    if isinstance(self._cut, UnorderedShots):
                        raise RunError(f"{text} is a run of the cut, which cannot be read: name each shot")
                    start, end = self._places[first], self._places[last]
                    if end < start:
                        raise SamelightError(f"{first} comes after {last} in the cut")
                    return self._cut[start : end + 1]
        raise self._unknown(next((name for name in _ends(text) if name not in self), text))

    def _unknown(self, name: str) -> SamelightError:
        near = self.nearest(name)
        return SamelightError(
            f"no shot {shown_name(name)} in the cut" + (f"; did you mean {near}?" if near else "")
        )


def chosen_shots(text: str, cut: Sequence[str]) -> list[str]:
    """The shots that a text such as "HB_010,HB_050-HB_080,HB_2*" names, in cut order, each once.

    `*` in a pattern stands for anything and `?` for one character. Raises `SamelightError` for a shot that is not in the
    cut, for a pattern that none meets and for a run that ends before it starts, and `RunError` for any run of
    `UnorderedShots`.

    >>> chosen_shots("c,a-b", ["a", "b", "c", "d"])
    ['a', 'b', 'c']
    >>> chosen_shots("a_*", ["a_1", "b_1", "a_2"])
    ['a_1', 'a_2']
    """
    return NamedShots(cut).chosen(part.strip() for part in text.split(","))


def _ends(text: str) -> list[str]:
    ends = [name.strip() for name in text.split("-")]
    return ends if len(ends) == 2 and all(ends) else [text]


def read_lighters(value: Any, faults: Faults, place: Place = ("lighters",)) -> dict[str, tuple[str, ...]]:
    """What sequence.yaml states under `lighters`: a name, and a list of shots and runs such as HB_050-HB_080."""
    expected = "names, and for each a list of shots or runs such as HB_050-HB_080"
    if value is None:
        return {}
    if not isinstance(value, dict):
        faults.add(place, expected, value)
        return {}
    found: dict[str, tuple[str, ...]] = {}
    for name, listed in value.items():
        parts = read_shots(listed, (*place, name), faults)
        if parts is not None:
            found[str(name)] = parts
    return found


def read_shots(listed: Any, place: Place, faults: Faults) -> tuple[str, ...] | None:
    """A list of shots and runs, or text with commas between them, as it is written; None where it is neither."""
    parts = [part.strip() for part in listed.split(",")] if isinstance(listed, str) else listed
    if not isinstance(parts, list):
        faults.add(place, "a list of shots or runs such as HB_050-HB_080", listed)
        return None
    for index, part in enumerate(parts):
        if not isinstance(part, str) or not part.strip():
            at = (*place, index) if isinstance(listed, list) else place
            faults.add(at, "a shot, or a run such as HB_050-HB_080", part)
    return tuple(part for part in parts if isinstance(part, str) and part.strip())


def lighter_called(name: str, lighters: Lighters) -> str | None:
    """The name as the sequence writes it, whatever the case; None when it names no such lighter.

    >>> lighter_called("ines", {"Ines": ("HB_010",)})
    'Ines'
    """
    if name in lighters:
        return name
    return next((known for known in lighters if known.casefold() == name.strip().casefold()), None)


def lighter_shots(name: str, lighters: Lighters, cut: Sequence[str]) -> list[str]:
    """The shots of a lighter that are in the cut, in cut order.

    Raises `UnknownLighterError` when the sequence names no such lighter, `SamelightError` when none of their shots is in the
    cut, and `RunError` as `chosen_shots`.

    >>> lighter_shots("ines", {"Ines": ("b-c", "x")}, ["a", "b", "c"])
    ['b', 'c']
    """
    return NamedShots(cut).of_lighter(name, lighters)


def unknown_shots(lighters: Lighters, shots: NamedShots, where: Locate | None = None) -> list[str]:
    """What is wrong with the lists, in words. `where` finds their lines in sequence.yaml.

    >>> unknown_shots({"Ines": ("a", "x-c")}, NamedShots(["a", "b", "c"]))
    ['sequence.yaml, lighters, Ines: no shot x in the cut']
    >>> unknown_shots({"Ines": ("a", "x-c")}, NamedShots(["a", "b", "c"]), lambda place: (7, 5))
    ['sequence.yaml:7:5: lighters, Ines: no shot x in the cut']
    """
    says = []
    for name, parts in lighters.items():
        for index, part in enumerate(parts):
            try:
                shots.meant(part)
            except SamelightError as error:
                at = where(("lighters", name, index)) if where is not None else None
                file = "sequence.yaml, " if at is None else f"sequence.yaml:{at[0]}:{at[1]}: "
                says.append(f"{file}lighters, {name}: {error}")
    return says
