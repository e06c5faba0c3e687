"""Who lights which shot, as sequence.yaml says it: the name beside a shot, the names of several, and how each one's cases stand."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from samelight.decisions.tally import Tally
from samelight.findings.words import listed, shots_text
from samelight.sheets.errors import SamelightError
from samelight.sheets.shot_lists import Lighters, NamedShots

NOBODY = "nobody"
"""In place of a name, of shots that the sequence gives to no lighter."""


@dataclass(frozen=True, slots=True)
class Crew:
    """The lighters of a sequence in the order that it names them, each with their shots that are in the cut, in cut order."""

    cut: tuple[str, ...] = ()
    shots: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    _names: Mapping[str, tuple[str, ...]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        names: dict[str, list[str]] = {}
        for name, theirs in self.shots.items():
            for shot in theirs:
                names.setdefault(shot, []).append(name)
        object.__setattr__(self, "_names", {shot: tuple(found) for shot, found in names.items()})

    @classmethod
    def of(cls, lighters: Lighters, cut: Sequence[str]) -> Crew:
        """What sequence.yaml states under `lighters`. Who has no shot in the cut has none here; why is told elsewhere."""
        shots: dict[str, tuple[str, ...]] = {}
        named = NamedShots(cut)
        for name in lighters:
            try:
                shots[name] = tuple(named.of_lighter(name, lighters))
            except SamelightError:
                shots[name] = ()
        return cls(tuple(cut), shots)

    def __bool__(self) -> bool:
        return bool(self.shots)

    def names(self, shot: str) -> tuple[str, ...]:
        """The lighters of a shot; none where it is nobody's."""
        return self._names.get(shot, ())

    def who(self, shot: str) -> str:
        """The lighters of a shot in words; empty where it is nobody's."""
        return listed(self.names(shot))

    def names_of(self, shots: Iterable[str]) -> list[str]:
        """The lighters of some shots, each once, in the order that the sequence names them."""
        found = {name for shot in shots for name in self.names(shot)}
        return [name for name in self.shots if name in found]

    def to(self, shots: Collection[str]) -> str:
        """Whom something in these shots goes to, each with their shots; empty where the sequence names no lighters.

        >>> crew = Crew.of({"Ines": ("A-B",), "Tomas": ("C",)}, ["A", "B", "C", "D"])
        >>> crew.to(["A", "C"]), crew.to(["B", "D"]), Crew().to(["A"])
        ('Ines (A), Tomas (C)', 'Ines (B), nobody (D)', '')
        """
        if not self.shots:
            return ""
        places = {shot: place for place, shot in enumerate(self.cut)}
        parts = []
        for name, theirs in (*self.shots.items(), (NOBODY, self.free())):
            columns = [places[shot] for shot in theirs if shot in shots]
            if columns:
                parts.append(f"{name} ({shots_text(columns, self.cut)})")
        return ", ".join(parts)

    def free(self) -> tuple[str, ...]:
        """The shots of the cut that are nobody's."""
        return tuple(shot for shot in self.cut if shot not in self._names)

    def tallies(self, of_shots: Mapping[str, Tally]) -> list[tuple[str, int, Tally]]:
        """Each lighter with the number of their shots among these and how the cases in them stand; last those of nobody.

        A shot of two lighters counts with both. Who has none of these shots is left out.
        """
        found = []
        for name, theirs in (*self.shots.items(), (NOBODY, self.free())):
            here = [of_shots[shot] for shot in theirs if shot in of_shots]
            if here:
                found.append((name, len(here), sum(here, Tally())))
        return found
