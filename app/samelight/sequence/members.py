"""Which shots of the cut belong to which set-up, and which are compared with another shot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import Fault, Place, SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.sequence import SequenceFile
from samelight.sheets.shot_lists import NamedShots

_SAID = 3
"""Set-ups that are told to ask for one shot."""


@dataclass(frozen=True, slots=True)
class Members:
    """By set-up its shots in cut order; by shot the shot that it is compared with; and the shots that are compared with
    nothing, since they belong to no one set-up, or follow a shot that is not there.

    A sequence that states no set-ups has one without a name.
    """

    shots: Mapping[str, tuple[str, ...]]
    follows: Mapping[str, str] = field(default_factory=dict)
    left: frozenset[str] = frozenset()
    troubles: tuple[Trouble, ...] = ()

    @property
    def is_one(self) -> bool:
        """Whether all shots are compared with one master."""
        return list(self.shots) == [""] and not self.follows

    def setup_of(self, shot: str) -> str:
        """The name of a shot's set-up; empty where it has none."""
        return next((name for name, shots in self.shots.items() if shot in shots), "")


def members_of(sequence: SequenceFile, cut: Sequence[str], named: NamedShots) -> Members:
    """The members of each set-up in a cut, whose shots are `named` so, and what is wrong with them."""
    if not sequence.setups and not sequence.follows:
        return Members({"": tuple(cut)})
    troubles: list[Trouble] = []
    follows, left = _followers(sequence, named, troubles)
    claims = _claims(sequence, named, troubles) if sequence.setups else {shot: [""] for shot in cut}
    shots: dict[str, list[str]] = {name: [] for name in sequence.setups or [""]}
    for shot in cut:
        way, at = [], shot
        while at not in claims and at in follows:
            way.append(at)
            at = follows[at]  # a pick-up belongs where the shot does that it is compared with
        names = claims.get(at, [])
        claims.update(dict.fromkeys(way, names))
        if len(names) != 1:
            left.add(shot)
            troubles.append(_of_no_one_setup(sequence, shot, names))
        elif shot not in left:
            shots[names[0]].append(shot)
    kept = {shot: other for shot, other in follows.items() if shot not in left}
    by_name = {name: tuple(own) for name, own in shots.items()}
    return Members(by_name, kept, frozenset(left), tuple(troubles))


def _followers(
    sequence: SequenceFile, cut: NamedShots, troubles: list[Trouble]
) -> tuple[dict[str, str], set[str]]:
    """By shot the shot that it is compared with, and those of which that one is not there."""
    follows: dict[str, str] = {}
    left: set[str] = set()
    for shot, other in sequence.follows.items():
        place = ("follows", shot)
        if shot not in cut:
            troubles.append(_trouble(sequence, place, f"{shot} is not in the cut{_hint(shot, cut)}"))
            continue
        follows[shot] = other
        if other not in cut:
            left.add(shot)
            says = f"{shot} is compared with {other}, which is not in the cut{_hint(other, cut)}"
            troubles.append(_trouble(sequence, place, says, shot))
    return follows, left


def _claims(sequence: SequenceFile, cut: NamedShots, troubles: list[Trouble]) -> dict[str, list[str]]:
    """By shot the set-ups that name it."""
    claims: dict[str, list[str]] = {}
    for name, setup in sequence.setups.items():
        for index, part in enumerate(setup.shots):
            try:
                found = cut.meant(part)
            except SamelightError as error:
                place = ("setups", name, "shots", index)
                troubles.append(_trouble(sequence, place, f"set-up {name}: {error}"))
                continue
            for shot in found:
                names = claims.setdefault(shot, [])
                if names[-1:] != [name]:
                    names.append(name)
    return claims


def _of_no_one_setup(sequence: SequenceFile, shot: str, names: Sequence[str]) -> Trouble:
    if not names:
        return _trouble(sequence, ("setups",), f"{shot} belongs to no set-up, and is not compared", shot)
    more = [f"{len(names) - _SAID:,} more"] if len(names) > _SAID else []
    says = f"{shot} belongs to {' and to '.join([*names[:_SAID], *more])}: a shot belongs to one set-up, and this one is not compared"
    return _trouble(sequence, ("setups", names[-1], "shots"), says, shot)


def _hint(name: str, cut: NamedShots) -> str:
    near = cut.nearest(name)
    return f" (did you mean {near}?)" if near else ""


def _trouble(sequence: SequenceFile, place: Place, says: str, shot: str | None = None) -> Trouble:
    """Told with its line, and so that a check ends with 2: somebody believes that these shots are held."""
    at = sequence.where(place)
    line, column = at if at is not None else (None, None)
    where = SEQUENCE_FILE if at is None else f"{SEQUENCE_FILE}:{line}:{column}"
    fault = Fault(SEQUENCE_FILE, "", "each shot in one set-up", says, line, column)
    return Trouble(f"{where}: {says}.", shot, faults=(fault,), unheld=True)
