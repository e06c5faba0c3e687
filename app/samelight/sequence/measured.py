"""Which measurement stands for each shot, of those that lie in a sequence's folder."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from samelight.sequence.store import SheetStore
from samelight.sequence.stored import Stored
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import SheetError
from samelight.sheets.measured import FOLDER, NAMED, MeasuredFrame, Witness, read_measured
from samelight.sheets.plain_files import digest_of
from samelight.sheets.sheet import Sheet
from samelight.sheets.trees import LARGEST_FILE

Witnesses = Mapping[str, Witness]
"""What was measured of shots, by their names."""


def witnesses(store: SheetStore, sheets: Mapping[str, Sheet]) -> tuple[dict[str, Witness], list[Trouble]]:
    """What was measured of each of these shots, and what could not be read of it.

    Of several measurements of a shot that by its sheet as it stands now counts, else that by the newest version; of these one
    whose frame is no older than the sheet, then that of the first frame, and then that which was written last.
    """
    listed, trouble = _listed(store.folder)
    found: dict[str, Witness] = {}
    troubles = [trouble] if trouble is not None else []
    for shot, by_version in listed.items():
        sheet = sheets.get(shot)
        if sheet is None:
            continue
        version = sheet.version if sheet.version in by_version else max(by_version)
        read: list[MeasuredFrame] = []
        for one in (_read(store, path) for path in sorted(by_version[version])):
            if isinstance(one.outcome, SheetError):
                says = f"What was measured of {shot} cannot be read: {one.outcome.faults[0]}"
                troubles.append(Trouble(says, shot, one.outcome.faults, failed=True))
            elif one.outcome.shot == shot:
                read.append(one.outcome)
        if read:
            found[shot] = _chosen(read, store.digest(sheet) or digest_of(sheet.path, LARGEST_FILE))
    return found, troubles


class Measurements:
    """The measurements that lie in a sequence's folder, listed once."""

    def __init__(self, store: SheetStore) -> None:
        self._store = store
        self._listed = _listed(store.folder)[0]

    def of(self, shot: str) -> list[MeasuredFrame]:
        """Every readable measurement of a shot."""
        paths = (path for of_version in self._listed.get(shot, {}).values() for path in sorted(of_version))
        outcomes = (_read(self._store, path).outcome for path in paths)
        return [one for one in outcomes if isinstance(one, MeasuredFrame)]


def _read(store: SheetStore, path: Path) -> Stored[MeasuredFrame]:
    return store.get(path, FOLDER, lambda: read_measured(path))


def _chosen(read: Iterable[MeasuredFrame], digest: str | None) -> Witness:
    best = max((one.sheet == digest, not one.is_older) for one in read)
    of_frame: dict[float, MeasuredFrame] = {}
    for one in sorted(read, key=lambda one: (one.frame, one.written, one.sha256)):
        if (one.sheet == digest, not one.is_older) == best:
            of_frame[one.frame] = one  # of one frame that which was written last
    frames = tuple(of_frame.values())
    return Witness(frames[0], best[0], frames if len(frames) > 1 and best == (True, True) else ())


def _listed(folder: Path) -> tuple[dict[str, dict[int, list[Path]]], Trouble | None]:
    """The files of measurements by shot and version; why they cannot be listed, where they cannot."""
    found: dict[str, dict[int, list[Path]]] = {}
    place = folder / FOLDER
    try:
        names = os.listdir(place)  # noqa: PTH208 - a film has thousands, and no path is wanted of most
    except FileNotFoundError:
        return found, None
    except OSError as error:
        says = f"The folder {FOLDER} cannot be read: {error.strerror or error}."
        return found, Trouble(says, failed=True)
    for name in names:
        match = NAMED.match(name)
        if match is not None and name[0] != ".":
            found.setdefault(match["shot"], {}).setdefault(int(match["version"]), []).append(place / name)
    return found, None
