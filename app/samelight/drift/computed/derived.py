"""The rows of the drift table that are computed: what no comparison of typed values can tell.

Levels at the marks, key and fill, how a subject is lit from shot to shot, what each kind of ray sees, sun against sky, and how many lights there are. Each is
compared and graded like any other row, and decided on with what it comes from (see `follows`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache, partial

from samelight.drift.computed.attempts import Attempts, NotComputed
from samelight.drift.computed.key_rows import key_rows
from samelight.drift.computed.lit_rows import lit_rows
from samelight.drift.computed.mark_levels import MarkLevels, levels_at
from samelight.drift.computed.mark_rows import level_rows
from samelight.drift.computed.picture_rows import picture_rows
from samelight.drift.computed.ray_rows import ray_rows
from samelight.drift.computed.rig import Rig, Whole, rig_of
from samelight.drift.computed.sky_rows import sky_rows
from samelight.drift.computed.subject_rows import subject_rows
from samelight.drift.rows import ExtraRow
from samelight.sheets.measured import Witness
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import COUNT


def derived_rows(
    shots: Sequence[str],
    sheets: Mapping[str, Sheet],
    against: Sheet | Mapping[str, Sheet] | None,
    key: Sheet | None,
    whole: Whole | None = None,
    failed: list[NotComputed] | None = None,
    measured: Mapping[str, Witness] | None = None,
) -> list[ExtraRow]:
    """The computed rows of all shots that have a sheet, in the order in which they stand after the typed ones.

    `against` is what the shots are compared with: one sheet, such as the master, or for each shot its own; a shot
    without one has no figures, and a section that it lacks is not compared. `key` is the sheet of the key shot (see
    `key_sheet`), None where it has none that can be read. `whole` is that of the sequence where these are some of its
    shots, and their figures are to be those among all. What fails is added to `failed` and leaves its rows out; without
    that list the first error is raised. `measured` is what was measured in the frames of shots.
    """
    if against is None:
        return []
    references = against if isinstance(against, Mapping) else dict.fromkeys(shots, against)
    named = [shot for shot in shots if shot in sheets and shot in references]
    if not named:
        return []
    attempts = Attempts()
    rig = attempts.make(
        "The computed rows of lights and environments",
        lambda: rig_of(
            named, [sheets[shot] for shot in named], [references[shot] for shot in named], key, whole
        ),
    )
    rows = [] if rig is None else _at_marks(rig, attempts)
    parts: list[tuple[str, Callable[[], list[ExtraRow]]]] = []
    if rig is not None:
        parts.append(("The computed rows of rays", partial(ray_rows, rig)))
        parts.append(("The computed rows of the sky", partial(sky_rows, rig)))
    parts.append(("The number of lights", partial(_count_row, named, sheets, references)))
    if measured:
        listed = frozenset() if whole is None else whole.rows
        parts.append(
            ("The rows of frames", partial(picture_rows, named, sheets, references, key, measured, listed))
        )
    rows += [row for what, part in parts for row in attempts.make(what, part) or ()]
    if failed is not None:
        failed += attempts.failed
    elif attempts.failed:
        raise attempts.failed[0].error
    return rows


def _at_marks(rig: Rig, attempts: Attempts) -> list[ExtraRow]:
    """The rows of all marks, then those of all subjects: the levels at a mark are worked out once for both."""
    of_marks: list[ExtraRow] = []
    of_subjects: list[ExtraRow] = []
    for mark in rig.moments.names("marks") if rig.lights else ():
        levels = cache(partial(levels_at, rig, mark))
        of_marks += attempts.make(f"The computed rows at the mark {mark}", partial(_mark_rows, levels)) or ()
        of_subjects += (
            attempts.make(f"The computed rows of the subject {mark}", partial(_subject_rows, levels)) or ()
        )
    return of_marks + of_subjects


def _mark_rows(levels: Callable[[], MarkLevels]) -> list[ExtraRow]:
    at = levels()
    return [*level_rows(at), *lit_rows(at), *key_rows(at)] if at.shots else []


def _subject_rows(levels: Callable[[], MarkLevels]) -> list[ExtraRow]:
    at = levels()
    return subject_rows(at) if at.shots else []


def _count_row(
    named: Sequence[str], sheets: Mapping[str, Sheet], references: Mapping[str, Sheet]
) -> list[ExtraRow]:
    counts = {shot: pair for shot in named if (pair := _light_counts(references[shot], sheets[shot]))}
    return [ExtraRow("count.lights", "count", "", "lights", COUNT, counts)] if counts else []


def key_sheet(named: str | None, master: Sheet | None, sheets: Mapping[str, Sheet]) -> Sheet | None:
    """The sheet of the key shot: the shot that the sequence names, else the one that the master setup names."""
    if named is None and master is not None:
        stated = master.typed.get("key_shot")
        named = None if stated is None else str(stated)
    return None if named is None else sheets.get(named)


def _light_counts(reference: Sheet, sheet: Sheet) -> tuple[float, float] | None:
    """How many lights there are on both sides, on or off; None where the reference lacks the section."""
    if "lights" not in reference.sections:
        return None
    expected, found = (float(len(side.sections.get("lights", {}))) for side in (reference, sheet))
    return expected, expected if found == expected else found
