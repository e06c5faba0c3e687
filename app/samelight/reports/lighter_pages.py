"""What each lighter has to mend, as plain data: shot by shot, what is off, by how much, and what to set."""

from __future__ import annotations

import base64
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from samelight.changes.fix_list import Fix, fix_list
from samelight.decisions.decision import Decision, Verb
from samelight.decisions.state import State
from samelight.drift.cells import Cell, ComparedCell, Grade
from samelight.drift.explanations import tolerance_text
from samelight.drift.words import drift_text
from samelight.findings.finding import Finding
from samelight.sequence.colour_views import through_of
from samelight.sequence.crew import NOBODY
from samelight.sequence.mark_regions import MarkRegion, mark_regions
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError
from samelight.sources.limits import PICTURE
from samelight.sources.pictures.pictures import find_frame
from samelight.sources.pictures.seen import PLAIN, Through
from samelight.sources.pictures.small import small_picture
from samelight.sources.trial import tried

LONGEST = 320
"""Pixels of the longer side of a shot's frame on a page: what a printer shows of 6 cm."""


@dataclass(frozen=True, slots=True)
class Task:
    """One case that a lighter has to mend.

    `off` is its drift in words with its tolerance, `put` what to set in the shot's own spelling, `advice` what to do where nothing
    can be typed, `why` the reasons for which it was sent back. `harm` is the place of the finding that names it among all of
    the sequence, the most harmful first, and `finding` that place's sentence.
    """

    parameter: str
    grade: Grade
    state: State
    off: str
    put: str
    advice: str
    why: tuple[str, ...]
    harm: int
    finding: str = ""


@dataclass(frozen=True, slots=True)
class ShotTasks:
    """A shot and its tasks, the most harmful first. `says` are the sentences of the findings that name them, each once."""

    shot: str
    version: int | None
    tasks: tuple[Task, ...]

    @property
    def says(self) -> tuple[str, ...]:
        """The sentences that tell why, in the order of the tasks."""
        return tuple(dict.fromkeys(task.finding for task in self.tasks if task.finding))


@dataclass(frozen=True, slots=True)
class LighterPage:
    """The page of a lighter: the shots with something to mend, that with the most harmful first."""

    lighter: str
    shots: tuple[ShotTasks, ...]

    @property
    def count(self) -> int:
        """How many cases are to be mended."""
        return sum(len(shot.tasks) for shot in self.shots)


@dataclass(frozen=True, slots=True)
class ShotPicture:
    """A shot's frame for a page. `data` is a PNG as a data URI, `regions` are the marks in it, and `lacks` says why it is not seen
    through the view that was asked for."""

    data: str
    width: int
    height: int
    regions: tuple[MarkRegion, ...]
    lacks: str = ""


@dataclass(frozen=True, slots=True)
class HandOver:
    """All that is handed over at one moment. `pictures` are the frames by shot, `troubles` why one is missing that is there."""

    title: str
    master: int | None
    made: datetime
    pages: tuple[LighterPage, ...]
    pictures: Mapping[str, ShotPicture]
    troubles: tuple[str, ...] = ()


def hand_over(
    session: Session,
    made: datetime,
    *,
    shots: Collection[str] | None = None,
    names: Sequence[str] | None = None,
    with_pictures: bool = True,
) -> HandOver:
    """The pages of these lighters (None: of all, and of nobody) over these shots (None: over all)."""
    pages = tuple(lighter_pages(session, shots, names))
    named = dict.fromkeys(part.shot for page in pages for part in page.shots)
    pictures, troubles = pictures_of(session, named if with_pictures else ())
    return HandOver(
        session.contents.sequence.title, session.contents.master_version, made, pages, pictures, troubles
    )


def lighter_pages(
    session: Session, shots: Collection[str] | None = None, names: Sequence[str] | None = None
) -> Iterator[LighterPage]:
    """A page for each of these lighters (None: of all, last nobody) who has something to mend in these shots."""
    wanted = (
        session.contents.shots
        if shots is None
        else [shot for shot in session.contents.shots if shot in shots]
    )
    parts = {part.shot: part for part in _shots(session, wanted)}
    crew = session.crew
    everybody = {**crew.shots, NOBODY: crew.free()}
    for name, theirs in everybody.items():
        found = [parts[shot] for shot in theirs if shot in parts]
        if found and (names is None or name in names):
            found.sort(key=lambda part: part.tasks[0].harm)
            yield LighterPage(name, tuple(found))


def pictures_of(
    session: Session, shots: Iterable[str], longest: int = LONGEST
) -> tuple[dict[str, ShotPicture], tuple[str, ...]]:
    """The frames of shots that have one, and why others that are there cannot be shown, or not through the view of the config."""
    pictures: dict[str, ShotPicture] = {}
    troubles: list[str] = []
    sequence = session.contents.sequence
    framed = [shot for shot in shots if find_frame(sequence.folder, shot) is not None]
    if not framed:
        return {}, ()
    plain, lacks = Through(None, sequence.conventions.working_space), ""
    try:
        through = through_of(sequence)
    except SamelightError as error:
        through, lacks = plain, str(error)
    for shot in framed:
        try:
            picture = shot_picture(session, shot, longest, through)
        except (SamelightError, OSError) as error:
            troubles.append(f"The frame of {shot} cannot be shown: {error}.")
            continue
        if picture is not None:
            pictures[shot] = picture
            if picture.lacks:  # it may have taken minutes, and would with each frame
                through, lacks = plain, picture.lacks
    return pictures, (*([f"Frames are shown by the sRGB curve: {lacks}."] if lacks else []), *troubles)


def shot_picture(
    session: Session, shot: str, longest: int = LONGEST, through: Through = PLAIN
) -> ShotPicture | None:
    """A shot's frame with its marks; None where it has none. Raises `SamelightError` and OSError where it cannot be read."""
    path = find_frame(session.contents.folder, shot)
    if path is None:
        return None
    small = tried(path, PICTURE, small_picture, path, longest, through)
    regions = mark_regions(session, shot, (small.width, small.height))
    data = f"data:image/png;base64,{base64.b64encode(small.png).decode()}"
    return ShotPicture(data, small.width, small.height, tuple(regions), small.lacks)


def _shots(session: Session, shots: Sequence[str]) -> Iterator[ShotTasks]:
    """The tasks of each shot that has some."""
    places = _named_by(session)
    fixes = {
        part.shot: {fix.row: fix for fix in part.fixes} for part in fix_list(session, shots=frozenset(shots))
    }
    for shot in shots:
        column = session.table.column(shot)
        if column is None:
            continue
        own = fixes.get(shot, {})
        tasks = [
            _task(session, (row, column), own.get(row), places.get((row, column)))
            for row in _to_mend(session, column)
        ]
        for place, finding in enumerate(session.cases.findings):
            tasks += [
                Task(
                    case.parameter,
                    case.level,
                    case.state,
                    case.level.word,
                    "",
                    finding.advice,
                    _reasons(case.judgement.decisions),
                    place,
                    finding.says,
                )
                for case in finding.cases
                if case.shot == shot and _asks(case.state, case.level)
            ]
        if tasks:
            tasks.sort(key=lambda task: (task.harm, -task.grade))
            yield ShotTasks(shot, session.contents.sheet_versions.get(shot), tuple(_advised_once(tasks)))


def _advised_once(tasks: Sequence[Task]) -> Iterator[Task]:
    """The same tasks, of which only the first that a finding names has its advice."""
    said: set[str] = set()
    for task in tasks:
        yield task if task.advice not in said else replace(task, advice="")
        said.add(task.advice)


def _to_mend(session: Session, column: int) -> list[int]:
    """The rows of a shot that are cases to mend: what drifts and is not intended, and what was sent back inside its tolerance."""
    follows, states = session.cases.following(), session.cases.judged().states
    rows = dict.fromkeys(session.cases.unsettled_rows(column))
    rows.update(
        (row, None)
        for row in session.cases.judged().rows.get(column, ())
        if not follows.mask[row, column] and (state := states.get((row, column))) and state.to_mend
    )
    return list(rows)


def _asks(state: State, level: Grade) -> bool:
    return state is not State.INTENDED and (level >= Grade.DRIFT or state.to_mend)


def _named_by(session: Session) -> dict[Cell, tuple[int, Finding]]:
    """By cell, the most harmful finding that names it, and its place among all."""
    found: dict[Cell, tuple[int, Finding]] = {}
    for place, finding in enumerate(session.cases.findings):
        for cell in (*finding.cells, *finding.rests_on):
            found.setdefault(cell, (place, finding))
    return found


def _task(session: Session, cell: Cell, fix: Fix | None, named: tuple[int, Finding] | None) -> Task:
    compared = session.table.cell(*cell)
    judged = session.cases.judgement(*cell)
    place, finding = named if named is not None else (len(session.cases.findings), None)
    return Task(
        compared.parameter,
        compared.grade,
        judged.state,
        _off(compared),
        fix.do if fix is not None else "",
        finding.advice if finding is not None and fix is None else "",
        _reasons(judged.decisions),
        place,
        finding.says if finding is not None else "",
    )


def _off(cell: ComparedCell) -> str:
    """A drift with its tolerance, in words."""
    drift, tolerance = drift_text(cell) or cell.grade.word, tolerance_text(cell)
    return drift if tolerance.startswith("none") else f"{drift}, tolerance {tolerance}"


def _reasons(decisions: Sequence[Decision]) -> tuple[str, ...]:
    """What was said of a case, by whom and when: what it was sent back for."""
    return tuple(
        f"{one.who}, {one.when.date().isoformat()}: {one.why}"
        for one in decisions
        if one.reason and one.verb in (Verb.RETURN, Verb.INTEND)
    )
