"""Where the review stands in the cut. Plain objects, no Qt."""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from samelight.gui.review.choice import Choice
from samelight.gui.review.shot_said import ShotSaid
from samelight.gui.state.typed_shot import shot_called
from samelight.sequence.session import Session

LENGTH = 2.0
"""Seconds for which a shot is shown whose length nobody states."""


class Compare(StrEnum):
    """How a frame stands against another."""

    ALONE = "alone"
    WIPE = "wipe"
    SIDE = "side by side"


class Other(StrEnum):
    """Which frame it is compared with."""

    KEY = "key shot"
    BEFORE = "shot before"
    AFTER = "shot after"
    CHOSEN = "another shot"
    RENDERED = "as rendered"


class ReviewState:
    """A sequence, the shot that is looked at, and what is chosen of what is said of it."""

    def __init__(self, session: Session, shot: str = "") -> None:
        self.session = session
        self.shot = shot
        self._chosen = ""
        self.compared_with = ""
        """The shot that somebody chose to compare with; empty for none."""
        self.take(session)

    def take(self, session: Session) -> None:
        """Show a session, or what changed in it: the same shot as before where it is still in the cut."""
        self.session = session
        if self.shot not in self.shots:
            self.shot = self.shots[0] if self.shots else ""

    @property
    def shots(self) -> tuple[str, ...]:
        """The cut."""
        return self.session.contents.shots

    def go(self, shot: str) -> bool:
        """Look at a shot; whether that is another one than before."""
        if shot not in self.shots or shot == self.shot:
            return False
        self.shot, self._chosen = shot, ""
        return True

    @property
    def said(self) -> ShotSaid:
        """What there is to say of the shot."""
        return ShotSaid(self.session, self.shot)

    @property
    def choice(self) -> Choice:
        """What of it is chosen."""
        return Choice(self.said, self._chosen)

    def choose(self, place: int) -> None:
        """Choose one of the sentences on the shot by its place from 0, or let go of it if it is chosen."""
        says = [one.says for one in self.said.drifts()]
        if place < len(says):
            self._chosen = "" if says[place] == self._chosen else says[place]

    def length(self) -> float:
        """How long the shot is, in seconds; `LENGTH` where its sheet does not say."""
        sheet = self.session.contents.sheets.get(self.shot)
        frames = sheet.typed.get("frames") if sheet is not None else None
        match frames:
            case [int(first), int(last)] if last >= first:
                return (last - first + 1) / self.session.contents.sequence.frame_rate
        return LENGTH

    def step(self, by: int) -> bool:
        """Go on in the cut, or back; it ends at its ends. Whether that led anywhere."""
        place = min(max(self._place() + by, 0), len(self.shots) - 1)
        return bool(self.shots) and self.go(self.shots[place])

    def to_end(self, *, last: bool) -> bool:
        """Go to the first or the last shot."""
        return self.step(len(self.shots) if last else -len(self.shots))

    def to_unsettled(self, by: int) -> bool:
        """Go to the next shot with something unsettled, or the one before, round and round.

        What a finding says beside cells, such as a moving camera, counts as well.
        """
        wanted = self.unsettled_shots()
        here, count = self._place(), len(self.shots)
        ahead = (self.shots[(here + by * away) % count] for away in range(1, count))
        return self.go(next((shot for shot in ahead if shot in wanted), self.shot))

    def unsettled_shots(self) -> set[str]:
        """The shots with an unsettled case."""
        if not self.session.cases.decidable:
            return set()
        shots = self.session.table.shots
        return {shots[column] for column in np.flatnonzero(self.session.cases.tallies().unsettled).tolist()}

    def _place(self) -> int:
        return self.shots.index(self.shot) if self.shot in self.shots else 0

    def beside(self, by: int) -> str | None:
        """The shot before or after in the cut."""
        place = self._place() + by
        return self.shots[place] if 0 <= place < len(self.shots) else None

    @property
    def key_shot(self) -> str | None:
        """The shot that the master setup was lit on, as the sequence or else the master says."""
        return self.session.contents.setup_of(self.shot).lit_on

    def other(self, which: Other) -> str | None:
        """The shot whose frame this one's is compared with; None where there is none, or it is this one. As rendered it is itself."""
        if which is Other.RENDERED:
            return self.shot or None
        shot = {
            Other.KEY: self.key_shot,
            Other.BEFORE: self.beside(-1),
            Other.AFTER: self.beside(1),
            Other.CHOSEN: self.compared_with if self.compared_with in self.shots else None,
        }[which]
        return None if shot == self.shot else shot

    def compare_with(self, typed: str) -> str | None:
        """Compare with the shot that is meant by what was typed (see `shot_called`); None where there is none."""
        shot = shot_called(self.shots, typed)
        if shot is not None:
            self.compared_with = shot
        return shot

    def other_title(self, which: Other) -> str:
        """What the other frame is, in words; or why there is none."""
        shot = self.other(which)
        if shot is not None:
            return shot if which is Other.CHOSEN else f"{shot}, {which}"
        if which is Other.CHOSEN:
            return (
                "This is that shot" if self.compared_with == self.shot else "Type a shot to compare with (A)"
            )
        if which is Other.KEY:
            return "This is the key shot" if self.key_shot else "No key shot is named in sequence.yaml"
        return f"There is no {which}"

    def place_text(self) -> str:
        """Where the shot stands, and whose it is: "5 of 24, against master 3, Ines"."""
        setup = self.session.contents.setup_of(self.shot)
        master = setup.master_version
        against = (
            f"against {setup.name} master {master}".replace("  ", " ") if master is not None else "no master"
        )
        if setup.follows:
            against = f"against {setup.follows}"
        whose = self.session.crew.who(self.shot)
        said = ", ".join(part for part in (against, whose) if part)
        return f"{self._place() + 1} of {len(self.shots)}, {said}" if self.shots else "no shots"
