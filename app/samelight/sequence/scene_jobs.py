"""What is to be captured for a sequence: each scene with its shot, its master and the folders that its files may lie in."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.sequence import SequenceFile, master_versions
from samelight.sheets.setups import StatedSetUp
from samelight.sheets.shot_lists import NamedShots
from samelight.sources.batch import Job
from samelight.sources.request import CaptureRequest, variants_of


def jobs_of(
    sequence: SequenceFile,
    scenes: Mapping[str, Path],
    asked: CaptureRequest,
    variants: Sequence[tuple[str, str]] = (),
    master: int | None = None,
    *,
    again: bool = False,
    seconds: float | None = None,
) -> list[Job]:
    """A job for each scene. `master` is the version whose names its lights keep; by default that which the shot is compared with. `seconds` is how long
    to wait for each scene."""
    cut = sequence.cut or tuple(scenes)
    return [
        Job(
            sequence.folder,
            shot,
            scene.absolute(),
            asked._replace(variants=variants_of(variants, shot)),
            again,
            _master_of(sequence, shot, cut, master),
            seconds,
        )
        for shot, scene in scenes.items()
    ]


def roots_of(sequence: SequenceFile, asked: Sequence[Path], tell: Callable[[str], None]) -> tuple[str, ...]:
    """The folders that scenes may name files in: those that are asked for, and of sequence.yaml where it is the user's."""
    stated = sequence.allow_roots
    if stated and not is_own(sequence):
        file = sequence.folder / SEQUENCE_FILE
        tell(f"{file} is another user's: its allow_roots do not count; name them with --allow-root")
        stated = ()
    return (*stated, *(str(root.absolute()) for root in asked))


def is_own(sequence: SequenceFile) -> bool:
    """Whether sequence.yaml belongs to whoever runs the program, as far as the system tells."""
    file = sequence.folder / SEQUENCE_FILE
    return not hasattr(os, "geteuid") or file.stat().st_uid == os.geteuid()


def _master_of(sequence: SequenceFile, shot: str, cut: Sequence[str], asked: int | None) -> Path | None:
    """The file of the master that a shot is compared with: that which is asked for or pinned, else the newest."""
    setup = next((stated for stated in sequence.setups.values() if _is_of(stated, shot, cut)), None)
    versions = master_versions(sequence.folder, setup.name if setup else "")
    pinned = setup.master if setup else sequence.pinned.get(shot, sequence.master)
    return versions.get(asked or pinned or max(versions, default=0))


def _is_of(stated: StatedSetUp, shot: str, cut: Sequence[str]) -> bool:
    """Whether a shot is one of a set-up's, by the cut of sequence.yaml or else by the names of the scenes."""
    named = NamedShots(cut)
    for one in stated.shots:
        with suppress(SamelightError):  # one that is not there is told where the sequence is read
            if shot in named.meant(one):
                return True
    return False
