"""The rows of the drift table that are computed: what no comparison of typed values can tell.

Levels at the marks, key and fill, what each kind of ray sees, sun against sky, and how many lights there are. Each is
compared, graded and decided on like any other row.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from samelight.drift.key_rows import key_rows
from samelight.drift.mark_levels import levels_at
from samelight.drift.mark_rows import level_rows
from samelight.drift.ray_rows import ray_rows
from samelight.drift.rig import rig_of
from samelight.drift.rows import ExtraRow
from samelight.drift.sky_rows import sky_rows
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import COUNT


def derived_rows(
    shots: Sequence[str], sheets: Mapping[str, Sheet], master: Sheet | None, key: Sheet | None
) -> list[ExtraRow]:
    """The computed rows of all shots that have a sheet, in the order in which they stand after the typed ones.

    `key` is the sheet of the key shot (see `key_sheet`), None where it has none that can be read. Without a master
    there are no rows; a section that the master lacks is not compared.
    """
    named = [shot for shot in shots if shot in sheets]
    if master is None or not named:
        return []
    rig = rig_of(named, [sheets[shot] for shot in named], master, key)
    rows: list[ExtraRow] = []
    if rig.lights:
        for mark in rig.moments.names("marks"):
            at = levels_at(rig, mark)
            rows += [*level_rows(at), *key_rows(at)]
    rows += [*ray_rows(rig, master), *sky_rows(rig, master)]
    if "lights" in master.sections:
        rows.append(_light_count(named, sheets, master))
    return rows


def key_sheet(named: str | None, master: Sheet | None, sheets: Mapping[str, Sheet]) -> Sheet | None:
    """The sheet of the key shot: the shot that the sequence names, else the one that the master setup names."""
    if named is None and master is not None:
        stated = master.typed.get("key_shot")
        named = None if stated is None else str(stated)
    return None if named is None else sheets.get(named)


def _light_count(shots: Sequence[str], sheets: Mapping[str, Sheet], master: Sheet) -> ExtraRow:
    """How many lights there are, on or off."""
    reference = float(len(master.sections["lights"]))
    counts = {shot: float(len(sheets[shot].sections.get("lights", {}))) for shot in shots}
    pairs = {shot: (reference, reference if count == reference else count) for shot, count in counts.items()}
    return ExtraRow("count.lights", "count", "", "lights", COUNT, pairs)
