"""`samelight fix --usd-layer`: what is to be set in a shot as a USD layer over its scene."""

from __future__ import annotations

import os
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

from samelight.changes.fix_list import Fix, ShotFixes
from samelight.changes.fixing import fixed_version
from samelight.cli.terminal import complain, print_line
from samelight.decisions.decision import Verb
from samelight.drift.words import counted, drift_text
from samelight.light.rolling import Turned, axes_turned
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.errors import SamelightError
from samelight.sheets.sheet import Sheet
from samelight.sheets.switches import usual
from samelight.sources.captured import is_of_today, noted
from samelight.sources.limits import LAYER, SCENE
from samelight.sources.scenes import USD_ENDINGS
from samelight.sources.trial import tried


def write_usd_layer(
    session: Session, fixes: Sequence[ShotFixes], out: Path, scene: Path | None = None
) -> None:
    """Write the layer for the one shot that has fixes, and say on stderr what it could not do.

    `scene` is the shot's scene where it is not where the sheet says it was captured from.
    """
    from samelight.sources.usd.override import write_override

    parts = [part for part in fixes if part.fixes]
    if not parts:
        print_line("Nothing to set.")
        return
    (part,) = parts
    source = _source(part.sheet)
    path = scene or scene_of(session.contents.folder, source, part.shot)
    changes = changes_of(session, part)
    why = (
        f"{part.shot}, version {part.sheet.version}, put back to {_reference(session, part.shot)} of "
        f"{session.contents.sequence.title}."
    )
    done, left = tried(
        path, SCENE, write_override, out, path, source, changes, why, _selections(session, part)
    )
    turned = {change.group for change in changes if change.name in ("rotation", "matrix", "tilt", "roll")}
    for sentence in left:
        complain(f"{part.shot}: {sentence}")
    for parameter in fixed_version(session, part).remaining:
        section, group, *_ = (*parameter.split("."), "")
        if not (section == "environments" and group in turned):
            complain(f"{part.shot}: {parameter}: set it by hand")
    print_line(f"{out}: {counted(done, 'value')} set" if done else "Nothing could be set by a layer.")


def write_usd_layers(
    session: Session,
    fixes: Sequence[ShotFixes],
    folder: Path,
    failed: list[Trouble],
    mended: Collection[str] = (),
) -> None:
    """Write a layer SHOT.usda into a folder for each shot that has fixes. A shot whose scene cannot be had, or read, is added to
    `failed`.

    The layer of an earlier time of those `mended`, which have nothing to fix any more, is taken away, unless their scene was
    captured with it. What is no layer of fixes is left as it is.
    """
    parts = [part for part in fixes if part.fixes]
    if parts:
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise SamelightError(
                f"{folder}: expected a folder for layers, {error.strerror or error}"
            ) from None
    for part in parts:
        out = folder / f"{part.shot}.usda"
        with apart(part.shot, failed, f"{part.shot} has no layer"):
            if os.path.lexists(out) and not _is_of_fixes(out):
                raise SamelightError(f"{out} is there already, and is no layer of fixes")
            write_usd_layer(session, [part], out)
    gone = []
    for shot in sorted(mended):
        with apart(shot, failed):
            if _take_away(session, shot, folder / f"{shot}.usda"):
                gone.append(shot)
    for shot in gone:
        print_line(f"{folder / f'{shot}.usda'}: taken away, nothing is to be set in {shot} any more")
    if not parts and not gone:
        print_line("Nothing to set.")


def _is_of_fixes(layer: Path) -> bool:
    from samelight.sources.usd.master_version import is_layer_of
    from samelight.sources.usd.override import FIXES

    return tried(layer, LAYER, is_layer_of, layer, FIXES)


def _take_away(session: Session, shot: str, layer: Path) -> bool:
    """Delete the layer that once mended a shot; False where there is none, or the shot is as it is by that very layer."""
    if not layer.is_file() or layer.is_symlink() or not _is_of_fixes(layer):
        return False
    try:
        if layer.resolve() in {path.resolve() for path in _captured_files(session, shot)}:
            return False
        layer.unlink()
    except OSError as error:
        complain(f"{layer} is out of date, and cannot be taken away: {error.strerror or error}")
        return False
    return True


def _captured_files(session: Session, shot: str) -> list[Path]:
    """The files that a shot's sheet was captured from."""
    sheet = session.contents.sheets[shot]
    stated = noted(sheet.path) or _source(sheet)
    files, scene = stated.get("files"), _source(sheet).get("scene")
    if not isinstance(files, Mapping) or not isinstance(scene, str):
        return []
    return [(session.contents.folder / scene).parent / name for name in files]


def _source(sheet: Sheet) -> Mapping[str, Any]:
    source = sheet.typed.get("source")
    return source if isinstance(source, Mapping) else {}


def captured_scene(session: Session, shot: str) -> Path:
    """The USD scene of a shot, which is as it was captured. Raises `SamelightError` where it is not, or where there is none."""
    sheet = session.contents.sheets[shot]
    scene = scene_of(session.contents.folder, _source(sheet), shot)
    if not is_of_today(sheet.path, _source(sheet), scene):
        raise SamelightError(
            f"{scene} has changed since {sheet.path.name} was captured: capture {shot} again first"
        )
    return scene


def scene_of(folder: Path, source: Mapping[str, Any], shot: str) -> Path:
    """The USD scene that a sheet was captured from. Raises `SamelightError` where there is none to be found."""
    stated = source.get("scene")
    if not isinstance(stated, str):
        raise SamelightError(f"the sheet of {shot} was not captured from a scene: a layer needs one")
    if Path(stated).suffix.lower() not in USD_ENDINGS:
        raise SamelightError(f"{shot} was captured from {stated}: a layer can be laid over a USD scene only")
    found = next((path for path in (folder / stated, Path(stated)) if path.exists()), None)
    if found is None:
        raise SamelightError(f"the scene of {shot} is not at {stated}: say where with --scene")
    return found


def changes_of(session: Session, part: ShotFixes) -> list[Any]:
    """The fixes of a shot as changes of a captured sheet, each name once, with its final value and its reason."""
    from samelight.sources.usd.override import Change

    changes: dict[str, Change] = {}
    for fix in part.fixes:
        row = session.table.rows[fix.row]
        members = part.tree.get(row.section)
        group = members.get(row.group) if row.group and isinstance(members, Mapping) else members
        for edit in fix.edits:
            value = group if edit.name == "" else _at(group, edit.name)
            change = Change(row.section, row.group, edit.name, value, _why(session, fix))
            changes.setdefault(change.parameter, change)
        if not fix.edits and row.section == "environments" and row.leaf in ("rotation", "tilt", "roll"):
            # A sheet that spells a dome by its matrix has no words for an upright turn; a layer has.
            turn = _turn(session.contents.setup_of(part.shot).master, row.group)
            if turn is not None:
                change = Change(row.section, row.group, turn[0], turn[1], _why(session, fix))
                changes.setdefault(change.parameter, change)
    return list(changes.values())


def _selections(session: Session, part: ShotFixes) -> dict[tuple[str, str], str]:
    """The variants that are selected where the lights are that a shot is to have again."""
    gone = {(row.section, row.group) for fix in part.fixes if not (row := session.table.rows[fix.row]).leaf}
    there = [
        sheet.typed
        for sheet in session.contents.sheets.values()
        if any(group in sheet.sections.get(section, {}) for section, group in gone)
    ]
    return dict(usual(there))


def _reference(session: Session, shot: str) -> str:
    """What a shot is put back to, in words."""
    setup = session.contents.setup_of(shot)
    return setup.follows or f"{setup.name} master {setup.master_version}".lstrip()


def _turn(master: Sheet | None, group: str) -> tuple[str, Any] | None:
    """The master's turn of an environment, as a captured sheet spells it."""
    if master is None:
        return None
    typed = master.as_typed("environments", group, "rotation")
    if "matrix" in typed and master.conventions.up_axis == "Y":
        return "matrix", typed["matrix"]
    turn = [master.value("environments", group, leaf) for leaf in ("rotation", "tilt", "roll")]
    rotation, tilt, roll = (angle if isinstance(angle, float) else 0.0 for angle in turn)
    if not isinstance(turn[0], float):
        return None
    if turn[1:] == [None, None]:
        return "rotation", rotation
    rows = axes_turned(Turned(rotation, tilt, roll)).tolist()
    return "matrix", [number for row in rows for number in (*row, 0.0)] + [0.0, 0.0, 0.0, 1.0]


def _at(group: Any, name: str) -> Any:
    for step in name.split("."):
        group = group.get(step) if isinstance(group, Mapping) else None
    return group


def _why(session: Session, fix: Fix) -> str:
    sent_back = [d for d in fix.decisions if d.verb is Verb.RETURN]
    if sent_back:
        last = sent_back[-1]
        return f"sent back by {last.who}" + (f": {last.reason}" if last.reason else "")
    drift = drift_text(fix.cell)
    return f"as in {_reference(session, fix.cell.shot)}" + (f" ({drift})" if drift else "")
