"""Scenes that sequence.yaml names, captured by themselves where they have changed since their shots' sheets were made.

Where nothing changed this costs a look at the stamp of each file; what was looked at is kept in the user's cache folder. A
sheet that somebody typed is nobody's capture and stays, and so does every sheet of a folder that cannot be written to.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from samelight.drift.words import counted, first_names
from samelight.sequence.contents import Progress
from samelight.sequence.disk import DAMAGE, Disk
from samelight.sequence.store import SheetStore
from samelight.sequence.stored import Rules
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import Fault, SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.plain_files import is_within
from samelight.sheets.sequence import SequenceFile, read_sequence, shot_versions
from samelight.sheets.stamps import stamp_if_there

if TYPE_CHECKING:
    from samelight.sources.batch import Job, Outcome, Stamps

Run = Callable[[Sequence["Job"]], Iterable["Outcome"]]
"""Captures scenes, in whatever order."""

_ENDING = "scenes"


def one_by_one(jobs: Sequence[Job]) -> Iterator[Outcome]:
    """Capture in child processes, one scene after another."""
    from samelight.sources.batch import capture_apart

    return map(capture_apart, jobs)


def side_by_side(jobs: Sequence[Job]) -> Iterator[Outcome]:
    """Capture in child processes, as many at a time as there are processors."""
    from concurrent.futures import ThreadPoolExecutor

    from samelight.sources.batch import capture_all, capture_apart
    from samelight.sources.pools import processors

    return capture_all(jobs, ThreadPoolExecutor, processors(), capture_apart)


def bring_up_to_date(
    store: SheetStore,
    run: Run = one_by_one,
    tell: Callable[[Outcome], None] = lambda outcome: None,
    *,
    reached: Progress = lambda done, total, name: None,
    cancelled: Callable[[], bool] = lambda: False,
) -> bool:
    """Capture the scenes of a sequence that have changed; whether any sheet is another now.

    What could not be captured becomes a trouble of the store. `tell` hears of each scene that was captured, and `reached` how
    many were; once `cancelled` no other is begun, and the next time goes on from there. Of a sequence that cannot be read nothing is captured.
    """
    sequence = _sequence(store)
    if sequence is None or sequence.scenes is None:
        store.of_scenes = ()
        return False
    from samelight.sources.batch import Result

    looked = _Looked(sequence)
    try:
        due = looked.due()
    except SamelightError as error:
        store.of_scenes = (*looked.troubles, Trouble(f"No scene was looked at: {error}"))
        return False
    if due and not _can_write(store.folder):
        store.of_scenes = (*looked.troubles, _not_written(store.folder, due))
        return False
    stamps = {job.shot: stamp_if_there(job.scene) for job in due}
    before = store.failed_scenes
    failed = {shot: known for shot, known in before.items() if stamps.get(shot, ()) == known[0]}
    due = [job for job in due if job.shot not in failed]
    changed = False
    if due:
        reached(0, len(due), "scenes, to make sheets of them")
    for number, outcome in enumerate(run(due) if due else (), 1):
        tell(outcome)
        reached(number, len(due), f"the scene of {outcome.shot}")
        if outcome.result is Result.FAILED:
            failed[outcome.shot] = stamps[outcome.shot], _not_captured(store.folder, outcome)
        changed = changed or outcome.result is Result.NEW
        if cancelled():
            break
    store.failed_scenes = failed
    store.of_scenes = (*looked.troubles, *(failed[shot][1] for shot in sorted(failed)))
    if due:
        looked.keep([job for job in due if job.shot not in failed])
    store.scene_files = looked.files()
    return changed


def _sequence(store: SheetStore) -> SequenceFile | None:
    with suppress(SamelightError):  # it is told where the sequence is read
        return read_sequence(store.folder, store.policy)
    return None


def _not_written(folder: Path, due: Sequence[Job]) -> Trouble:
    return Trouble(
        f"{counted(len(due), 'scene')} changed since captured, and {folder} cannot be written to: "
        f"the sheets of {first_names([job.shot for job in due], 4)} stand as they were."
    )


def _not_captured(folder: Path, outcome: Outcome) -> Trouble:
    sheet = "its sheet stands as it was" if shot_versions(folder, outcome.shot) else "it has no sheet"
    says = f"{outcome.shot}: its scene was not captured, so that {sheet}: {outcome.error}"
    return Trouble(says, outcome.shot, failed=True)


def _can_write(folder: Path) -> bool:
    """Whether sheets can come into a sequence folder."""
    shots = folder / "shots"
    return os.access(shots if shots.is_dir() else folder, os.W_OK)


class _Looked:
    """The scenes of a sequence, and the stamps of all that each was captured from when it was looked at last."""

    def __init__(self, sequence: SequenceFile) -> None:
        self._sequence = sequence
        self._disk = Disk(sequence.folder, Rules(sequence.conventions, ()))
        self._stamps: dict[str, Any] = {}
        self._missing: list[Path] = []
        self.troubles: list[Trouble] = []
        """What there is to say of scenes that are not captured."""

    def _tell(self, said: str) -> None:
        self.troubles.append(Trouble(said, failed=True))

    def due(self) -> list[Job]:
        """What is to be captured. Raises `SamelightError` where no scene is found."""
        from samelight.sources.scene_list import scenes_of

        known = _read(self._disk)
        scenes = scenes_of(self._sequence, left_out=self._tell)
        due = []
        for job in self._all(scenes):
            before = known.get(job.shot)
            if before is not None and before == _state(
                job, _stamps(map(Path, before["stamps"])), _asked(job)
            ):
                self._stamps[job.shot] = before
            elif _is_typed(job):
                continue
            elif (state := _held(job)) is not None:
                self._stamps[job.shot] = state
            else:
                due.append(job)
        if self._stamps != known:
            self.keep(())
        return due

    def keep(self, captured: Sequence[Job]) -> None:
        """Keep what was looked at, with what has just been captured."""
        for job in captured:
            if (state := _held(job)) is not None:
                self._stamps[job.shot] = state
        self._disk.write(_ENDING, json.dumps(self._stamps).encode())

    def files(self) -> list[Path]:
        """All that was looked at."""
        return [*self._missing, *(Path(path) for one in self._stamps.values() for path in one["stamps"])]

    def _all(self, scenes: Mapping[str, Path]) -> list[Job]:
        from samelight.sequence.scene_jobs import is_own, jobs_of, roots_of
        from samelight.sources.request import CaptureRequest

        sequence = self._sequence
        mine = is_own(sequence)
        cut = set(sequence.cut)
        chosen = {
            shot: scene
            for shot, scene in scenes.items()
            if (not cut or shot in cut)
            and (mine or is_within(scene, sequence.folder))
            and self._is_there(shot, scene)
        }
        asked = CaptureRequest(
            roots=roots_of(sequence, (), self._remark),
            frame_rate=sequence.frame_rate,
            keeps_rate="frame_rate" in sequence.stated,
            master_layers=sequence.master_layers,
        )
        return [replace(job, goes_on=True) for job in jobs_of(sequence, chosen, asked)]

    def _remark(self, said: str) -> None:
        self.troubles.append(Trouble(said))

    def _is_there(self, shot: str, scene: Path) -> bool:
        if os.path.isfile(scene):  # noqa: PTH113 - Path.is_file raises where nobody may look, and for a name too long
            return True
        file, (line, column) = (
            self._sequence.folder / SEQUENCE_FILE,
            self._sequence.where(("scenes", shot)) or (None, None),
        )
        fault = Fault(str(file), f"scenes.{shot}", "a scene", f"no file {scene}", line, column)
        self._missing.append(scene)
        self.troubles.append(Trouble(str(fault), shot, (fault,), failed=True))
        return False


def _read(disk: Disk) -> dict[str, Any]:
    try:
        stamps = json.loads(disk.read(_ENDING))
        return {
            shot: {"scene": one["scene"], "stamps": dict(one["stamps"]), "asked": one["asked"]}
            for shot, one in stamps.items()
        }
    except DAMAGE:
        return {}


def _stamps(files: Iterable[Path]) -> Stamps:
    return {str(path): list(stamp) if (stamp := stamp_if_there(path)) else None for path in files}


def _state(job: Job, stamps: Stamps, asked: str) -> dict[str, Any]:
    """What a scene is looked at by: the stamp of each file that it is made of and of the sheet that stands for it."""
    return {"scene": str(job.scene), "stamps": stamps, "asked": asked}


def _asked(job: Job) -> str:
    latest = shot_versions(job.folder, job.shot)
    newest = str(latest[max(latest)]) if latest else ""
    return json.dumps([newest, str(job.master), job.asked.stated(), job.asked.frame_rate])


def _held(job: Job) -> dict[str, Any] | None:
    """What a scene is looked at by, where its sheet is what capturing again would give; None where it is not."""
    from samelight.sources.batch import looked_at

    try:
        asked, stamps = _asked(job), looked_at(job, _stamps)
        return None if stamps is None else _state(job, stamps, asked)
    except Exception:  # noqa: BLE001 - what its sheet says makes no sense: capturing it tells that, or mends it
        return None


def _is_typed(job: Job) -> bool:
    from samelight.sources.batch import is_typed

    return is_typed(job)
