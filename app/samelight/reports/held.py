"""What the shots of a sequence are compared with: one master, or in each set-up its own, or another shot."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from samelight.sequence.session import Session


@dataclass(frozen=True, slots=True)
class HeldShots:
    """Shots of one set-up: compared with its master of this version (None: there is none), or against the shot that they
    follow."""

    setup: str
    master: int | None
    key_shot: str | None
    shots: tuple[str, ...]
    follows: str = ""


def held_shots(session: Session, shots: Collection[str] | None = None) -> tuple[HeldShots, ...]:
    """The set-ups of these shots (None: of all) in their order; none where one master is for all."""
    found = []
    for part in session.contents.setups:
        own = tuple(shot for shot in part.shots if shots is None or shot in shots)
        if own:
            version = None if part.follows else part.master_version
            found.append(HeldShots(part.name, version, part.sequence.key_shot, own, part.follows))
    return tuple(found)


def against_text(master: int | None, held: Sequence[HeldShots] = ()) -> str:
    """What shots are compared with, in words.

    >>> against_text(3)
    'against master 3'
    >>> against_text(None, [HeldShots("day", 3, "A", ("A",)), HeldShots("day", None, "A", ("C",), "A")])
    'day against master 3, C against A'
    """
    if not held:
        return "no master setup to compare with" if master is None else f"against master {master}"
    said = []
    for one in held:
        if one.follows:
            said.append(f"{', '.join(one.shots)} against {one.follows}")
        else:
            master_text = "no master" if one.master is None else f"master {one.master}"
            said.append(f"{one.setup} against {master_text}".lstrip())
    return ", ".join(said)


def held_data(held: Sequence[HeldShots]) -> list[dict[str, Any]]:
    """The set-ups for JSON."""
    return [
        {
            "setup": one.setup,
            "master": one.master,
            "key_shot": one.key_shot,
            "follows": one.follows or None,
            "shots": list(one.shots),
        }
        for one in held
    ]
