"""Copies of a sequence in a state that it is not in itself, for pictures of that state. No Qt.

They are made in the working folder, so that what is said of their files names no place of this machine.
"""

from __future__ import annotations

import copy
import hashlib
import shutil
from pathlib import Path

from samelight.decisions.ledger import FOLDER
from samelight.drift.cells import CellName
from samelight.drift.computed.skies import PROFILED
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.frames import FOLDER as FRAMES
from samelight.sheets.writing import write_sheet, write_whole

_LEFT_BEHIND = ("decisions", "frames", "scenes")
_ONLY_OF_A_MASTER = ("shot", "version", "master", "setup", "key_shot", "published")


def all_well(session: Session) -> Session:
    """The sequence with every shot lit as the master says. Raises `SamelightError` where there is no master."""
    master = session.contents.master
    if master is None:
        raise SamelightError(f"{session.contents.folder}: without a master no shot can be as the master says")
    folder = copied(session)
    lit = {name: value for name, value in master.typed.items() if name not in _ONLY_OF_A_MASTER}
    for shot in session.contents.shots:
        sheet = session.contents.sheets.get(shot)
        version = (
            sheet.version if sheet is not None else max(session.contents.versions.get(shot, {}), default=1)
        )
        place = Path("shots", shot, f"{shot}.v{version:03d}.yaml")
        for other in (folder / place).parent.glob(f"{shot}.v{version:03d}.*"):
            other.unlink()
        write_sheet(
            folder / place,
            {**lit, "shot": shot, "version": version, "master": session.contents.master_version},
        )
    return open_session(folder)


def with_a_fault(session: Session) -> Session:
    """The sequence with a sheet that cannot be read and one that is missing."""
    folder = copied(session)
    shots = [shot for shot in session.contents.shots if shot in session.contents.sheets]
    if len(shots) < 2:
        raise SamelightError(
            f"{session.contents.folder}: there are no two sheets of which one could be at fault"
        )
    broken, missing = shots[1], shots[-1]
    path = session.contents.sheets[broken].path
    write_whole(folder / "shots" / broken / path.name, path.read_bytes() + b"\nlighst: {}\n")
    shutil.rmtree(folder / "shots" / missing)
    return open_session(folder)


def with_a_view(session: Session, config: str) -> Session:
    """The sequence with its frames, seen through a colour config."""
    folder = copied(session)
    shutil.copytree(session.contents.folder / FRAMES, folder / FRAMES)
    stated = (folder / SEQUENCE_FILE).read_text("utf-8")
    write_whole(folder / SEQUENCE_FILE, f"ocio: {config}\n{stated}".encode())
    return open_session(folder)


_PROFILES = {
    "narrow.ies": "0 15 30 45 60 75 90; 0; 1000 900 500 160 30 0 0",
    "wide.ies": "0 15 30 45 60 75 90; 0; 620 610 560 440 300 140 0",
}
"""Two photometric profiles of our own, as sheets hold them."""


def with_profiles(session: Session) -> tuple[Session, CellName]:
    """The sequence with a profile on a light of the master and another on that of a shot, and that cell.

    Raises `SamelightError` where no light of a shot is one that could have a profile.
    """
    for shot, sheet in session.contents.sheets.items():
        master = session.contents.setup_of(shot).master
        for name, light in sheet.sections.get("lights", {}).items():
            own = master.sections.get("lights", {}).get(name) if master is not None else None
            if master is not None and own is not None and light.get("type") in PROFILED:
                folder = copied(session)
                for one, (file, profile) in zip((master, sheet), _PROFILES.items(), strict=True):
                    tree = copy.deepcopy(dict(one.typed))
                    digest = hashlib.sha256(profile.encode()).hexdigest()
                    tree["lights"][name] |= {"ies": file, "ies_sha256": digest, "ies_profile": profile}
                    write_sheet(folder / one.path.relative_to(session.contents.folder), tree)
                return open_session(folder), (shot, f"lights.{name}.ies")
    raise SamelightError(f"{session.contents.folder}: no light of a shot is one that could have a profile")


def with_unread_decisions(session: Session) -> Session:
    """The sequence with two decisions that were cut off while they were copied."""
    folder = copied(session)
    for number in (1, 2):
        write_whole(folder / FOLDER / f"2026-01-0{number}T000000.000000Z-{number:012x}.yaml", "verb: int")
    return open_session(folder)


def refusal(session: Session) -> str:
    """What is said of the sequence when two keys of its sequence.yaml are misspelt."""
    folder = copied(session)
    stated = (folder / SEQUENCE_FILE).read_text(encoding="utf-8")
    write_whole(folder / SEQUENCE_FILE, f"{stated.replace('title:', 'titel:', 1)}\nframe_rat: 24\n")
    try:
        open_session(folder)
    except SamelightError as error:
        return str(error)
    raise SamelightError(f"{session.contents.folder}: its {SEQUENCE_FILE} is read whatever it says")


def copied(session: Session) -> Path:
    """Its sheets and policies in a folder of the same name, without decisions, frames and scenes."""
    folder = Path(session.contents.folder.name)
    shutil.copytree(session.contents.folder, folder, ignore=shutil.ignore_patterns(*_LEFT_BEHIND))
    return folder
