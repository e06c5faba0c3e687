"""Many scenes into sheets, each on its own: one that fails stops no other, and what did not change is not read again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import BrokenExecutor, Future, as_completed
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Any

from samelight.sheets.errors import SamelightError, SheetError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.sequence import is_safe_name, next_sheet, shot_versions
from samelight.sheets.trees import parse_document, read_document
from samelight.sheets.writing import yaml_text
from samelight.sources.captured import PROVENANCE, check_captured, note, noted, stamp_of, write_captured
from samelight.sources.errors import CaptureError
from samelight.sources.limits import SCENE
from samelight.sources.naming import known_of, paths_of
from samelight.sources.pools import Pool
from samelight.sources.provenance import is_unchanged, name_beside
from samelight.sources.request import THE_WHOLE, CaptureRequest, Known
from samelight.sources.scenes import READER, capture_scene
from samelight.sources.trial import ReaderEndedError, tried

Stamps = dict[str, list[int] | None]
"""The stamp of each file by its path; None of one that is not there."""

_TYPED = ("surfaces", "cost", "notes", "sync_frame")
"""What no scene holds: it is typed into a sheet, and goes on into the next."""


@dataclass(frozen=True, slots=True)
class Job:
    """One scene to capture into a sequence folder. Paths hold wherever the work is done. `asked` is what is asked of
    the scene, whatever its sheet; `again` captures also what did not change."""

    folder: Path
    shot: str
    scene: Path
    asked: CaptureRequest = THE_WHOLE
    again: bool = False
    master: Path | None = None
    """The master setup of the shot, whose names the scene's lights keep."""
    seconds: float | None = None
    """How long to wait for it, by the clock."""
    goes_on: bool = False
    """Whether the scene is asked for what the shot's latest sheet was captured with, and stands on the master of that where it does
    not say so itself."""


class Result(StrEnum):
    """What became of a scene."""

    NEW = "new"
    SAME = "same"
    SKIPPED = "unchanged"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one scene: the sheet that now stands for it, or why there is none."""

    shot: str
    result: Result
    sheet: Path | None = None
    lights: int = 0
    remarks: tuple[str, ...] = ()
    error: str = ""


def capture_job(job: Job) -> Outcome:
    """Capture one scene, and publish a new version of its shot's sheet where the lighting is not what it was.

    It raises nothing that a scene can cause: whatever went wrong is in the outcome.
    """
    try:
        return _capture(job)
    except SamelightError as error:
        return Outcome(job.shot, Result.FAILED, error=str(error))
    except OSError as error:
        said = f"{error.filename or job.scene}: {error.strerror or error}"
        return Outcome(job.shot, Result.FAILED, error=said)
    except Exception as error:  # noqa: BLE001 - a fault of ours in one scene is no reason to stop the others
        return Outcome(
            job.shot,
            Result.FAILED,
            error=f"{job.scene}: could not be captured ({type(error).__name__}: {error})",
        )


def capture_apart(job: Job) -> Outcome:
    """`capture_job` in a child process, so that a scene that takes its process down is an outcome as well."""
    limits = SCENE._replace(clock=job.seconds)
    try:
        return tried(job.scene, limits, capture_job, job)
    except ReaderEndedError as error:
        if job.seconds is not None:
            return Outcome(job.shot, Result.FAILED, error=str(error))
        # a picture may have done it, which is no reason to go without the scene
    try:
        asked = job.asked._replace(reads_pictures=False)
        return tried(job.scene, SCENE, capture_job, replace(job, asked=asked))
    except CaptureError as error:
        return Outcome(job.shot, Result.FAILED, error=str(error))


def _capture(job: Job) -> Outcome:
    versions = shot_versions(job.folder, job.shot)
    latest = versions[max(versions)] if versions else None
    known = _read(latest)
    names = _known(job)
    job = _going_on(job, known)
    if not job.again and latest is not None and _holds(job, latest, known, names):
        return Outcome(job.shot, Result.SKIPPED, latest)
    version, path = next_sheet(job.folder, job.shot, versions)
    request = job.asked._replace(shot=job.shot, version=version, home=job.folder, known=names)
    tree = capture_scene(job.scene, request)
    if job.goes_on and "master" not in tree and "master" in known:
        tree["master"] = known["master"]
    tree["source"]["scene"] = name_beside(job.folder / SEQUENCE_FILE, job.scene)
    for key in _TYPED:
        if key in known:
            tree[key] = known[key]
    # What was captured must be readable as a sheet; a fault here is better than a shot that will not open.
    document = parse_document(path, yaml_text(tree))
    check_captured(job.scene, document, shot=job.shot, version=version)
    lights = len(tree["lights"]) + len(tree.get("environments", {}))
    told = tuple(tree.get("remarks", ()))
    if latest is not None and _content(document.data) == _content(known):
        note(latest, tree["source"])
        return Outcome(job.shot, Result.SAME, latest, lights, told)
    write_captured(path, tree, overwrite=False)
    return Outcome(job.shot, Result.NEW, path, lights, told)


def _read(latest: Path | None) -> Mapping[str, Any]:
    """The tree of the latest sheet; empty where there is none, or none that can be read."""
    if latest is None:
        return {}
    try:
        data = read_document(latest).data
    except SheetError:
        return {}
    return data if isinstance(data, dict) else {}


def _content(tree: Mapping[str, Any]) -> dict[str, Any]:
    """What makes two captures the same: everything but the version and which bytes it came from."""
    content = {key: value for key, value in tree.items() if key not in ("version", "source")}
    source = tree.get("source")
    stated = source if isinstance(source, dict) else {}
    return {**content, "source": {key: value for key, value in stated.items() if key not in PROVENANCE}}


def _known(job: Job) -> Known:
    """The lights of the master by path: as it says itself, or else as the sheet of its key shot says."""
    master = _read(job.master)
    known, key = known_of(master), master.get("key_shot")
    if not known.paths and isinstance(key, str) and is_safe_name(key):
        versions = shot_versions(job.folder, key)
        known = known._replace(paths=paths_of(_read(versions[max(versions)])) if versions else {})
    return known._replace(paths={name: path for name, path in known.paths.items() if name in known.groups})


def _going_on(job: Job, known: Mapping[str, Any]) -> Job:
    """The job that asks for what the latest sheet was captured with, where that is wanted."""
    source = known.get("source")
    asked = source.get("asked") if isinstance(source, dict) else None
    if not job.goes_on or not isinstance(asked, dict):
        return job
    return replace(job, asked=job.asked.as_stated(asked))


def _asks_elsewhere(job: Job, source: Mapping[str, Any]) -> bool:
    """Whether a sheet was captured with files of folders that nobody allows now."""
    asked = source.get("asked")
    roots = asked.get("roots") if isinstance(asked, dict) else None
    return isinstance(roots, list) and not set(map(str, roots)) <= set(job.asked.roots)


def looked_at(job: Job, stamps: Callable[[Iterable[Path]], Stamps]) -> Stamps | None:
    """The `stamps` of the files that the latest sheet of a shot hangs on, with the sheet, what is remembered of it and the master,
    where it is what capturing its scene again would give; None where it is not.

    They are as they were before the files were read: what changes meanwhile is another file the next time.
    """
    versions = shot_versions(job.folder, job.shot)
    latest = versions[max(versions)] if versions else None
    if latest is None:
        return None
    found = stamps([job.scene, latest, stamp_of(latest), *([job.master] if job.master else [])])
    known = _read(latest)
    source = noted(latest) or known.get("source") or {}
    names = [*source.get("files", {}), *source.get("missing_files", [])]
    found = {**stamps([job.scene.parent / str(name) for name in names]), **found}
    return found if _holds(_going_on(job, known), latest, known, _known(job)) else None


def is_typed(job: Job) -> bool:
    """Whether the latest sheet of a shot was captured from no scene, so that it is somebody's own, or with files that only its maker
    allowed."""
    versions = shot_versions(job.folder, job.shot)
    source = _read(versions[max(versions)]).get("source") if versions else {"scene": ""}
    if not isinstance(source, dict) or not isinstance(source.get("scene"), str):
        return True
    return _asks_elsewhere(job, source)


def _holds(job: Job, latest: Path, known: Mapping[str, Any], names: Known) -> bool:
    """Whether the latest sheet is what capturing the scene again would give."""
    called = {path: name for name, path in paths_of(known).items()}
    if any(called.get(path, name) != name for name, path in names.paths.items()):
        return False
    source = noted(latest) or known.get("source")
    if not isinstance(source, dict) or source.get("reader") != READER:
        return False
    if source.get("frames_per_second", job.asked.frame_rate) != job.asked.frame_rate:
        return False
    if job.asked.master not in (None, known.get("master")):
        return False
    return source.get("asked", {}) == job.asked.stated() and is_unchanged(source, job.scene)


Capture = Callable[[Job], Outcome]


def capture_all(
    jobs: Sequence[Job], pool: Pool, workers: int, capture: Capture = capture_apart
) -> Iterator[Outcome]:
    """The outcome of every job as it comes in, whatever becomes of the others. `capture` is `capture_apart`, or does it.

    The work goes to executors that `pool` makes, and from there to child processes. Where a pool breaks all the same,
    what was then unfinished is done one by one, each in a pool of its own. Closing the iterator drops what has not begun.
    """
    unfinished: list[Job] = []
    with pool(min(workers, len(jobs)) or 1) as executor:
        waiting: dict[Future[Outcome], Job] = {}
        try:
            for job in jobs:
                try:
                    waiting[executor.submit(capture, job)] = job
                except BrokenExecutor:
                    unfinished.append(job)
            for future in as_completed(waiting):
                outcome = _outcome(future, waiting[future])
                if outcome is None:
                    unfinished.append(waiting[future])
                else:
                    yield outcome
        except (GeneratorExit, KeyboardInterrupt):
            for future in waiting:  # who made the pool ends it
                future.cancel()
            raise
    for job in unfinished:
        with pool(1) as executor:
            outcome = _outcome(executor.submit(capture, job), job)
        yield outcome or Outcome(
            job.shot, Result.FAILED, error=f"{job.scene}: the process that read it ended without a word"
        )


def _outcome(future: Future[Outcome], job: Job) -> Outcome | None:
    """What became of a job; None where its process ended before it."""
    try:
        return future.result()
    except BrokenExecutor:
        return None
    except Exception as error:  # noqa: BLE001 - a farm has errors of its own: a worker lost, a job that was not sent
        return Outcome(job.shot, Result.FAILED, error=f"{job.scene}: {type(error).__name__}: {error}")
