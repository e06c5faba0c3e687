"""The choice of what every shot is compared with."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QInputDialog, QWidget

from samelight.reports.shown import shown
from samelight.sequence.references import MASTER, Against, Reference
from samelight.sequence.session import Session

_SHORTEST = len("master v003")


def master_text(version: int | None) -> str:
    """The master setup that shots are compared with, as the window names it."""
    return "no master" if version is None else f"master v{version:03d}"


def held_text(session: Session) -> str:
    """The same of a whole sequence, which may have several set-ups."""
    setups = [setup for setup in session.contents.parts if not setup.follows]
    if len(setups) == 1:
        return f"{setups[0].name} {master_text(setups[0].master_version)}".lstrip()
    return f"masters of {len(setups)} set-ups"


def _older_masters(session: Session) -> set[int]:
    """The versions of masters that some set-up is not compared with now."""
    return {
        version
        for setup in session.contents.parts
        for version in setup.masters
        if version != setup.master_version
    }


class ReferenceBox(QComboBox):
    """Lists the masters, the shot before, and what is asked for by another question."""

    chosen = Signal(object)
    """The `Reference` that was chosen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session: Session | None = None
        self._awaited: Reference | None = None
        self._shot = ""
        self.setToolTip("The reference of every shot. You can decide only while it is the master")
        self.setAccessibleName("Compare with")
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.setMinimumContentsLength(_SHORTEST)
        self.activated.connect(self._activated)

    def set_shot(self, shot: str) -> None:
        """The shot under the cursor, at which a question for a shot starts."""
        self._shot = shot

    def show_session(self, session: Session, awaited: Reference | None = None) -> None:
        """List what the session's shots can be compared with, with what they are compared with now as the choice, or what they
        are `awaited` to be compared with."""
        self._session, self._awaited = session, awaited
        chosen = awaited or session.comparison.reference
        older = sorted(_older_masters(session), reverse=True)
        references = [
            MASTER,
            *(Reference(Against.OLDER_MASTER, version) for version in older),
            Reference(Against.BEFORE),
        ]
        if chosen not in references:
            references.append(chosen)
        self.clear()
        for reference in references:
            text = held_text(session) if reference == MASTER else reference.text
            self.addItem(shown(text), reference)
        self.setCurrentIndex(references.index(chosen))
        self.addItem("another shot…", Against.SHOT)
        self.addItem("versions of a shot…", Against.VERSIONS)

    def _activated(self, index: int) -> None:
        if self._session is None:
            return
        item = self.itemData(index)
        reference = item if isinstance(item, Reference) else self._ask(self._session, Against(item))
        self.show_session(self._session, self._awaited)
        if reference is not None:
            self.chosen.emit(reference)

    def _ask(self, session: Session, against: Against) -> Reference | None:
        shots = [shot for shot in session.contents.shots if shot in session.contents.sheets]
        start = shots.index(self._shot) if self._shot in shots else 0
        shot, agreed = QInputDialog.getItem(self, "Compare with", "Shot", shots, start, False)
        if not agreed or not shot:
            return None
        # The shot may have gone from the folder while it was asked for.
        latest = max(session.contents.versions.get(shot, ()), default=1)
        return Reference(against, latest if against is Against.VERSIONS else None, shot)
