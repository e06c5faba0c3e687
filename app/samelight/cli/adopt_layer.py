"""`samelight adopt --usd`: for each shot a USD layer that brings the new master into its scene and keeps what is the shot's."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from samelight.changes.adopting import Adoption
from samelight.cli.terminal import complain, print_line
from samelight.cli.usd_layer import captured_scene
from samelight.drift.words import counted
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.errors import SamelightError
from samelight.sheets.moved import start_of
from samelight.sources.limits import LAYER, SCENE
from samelight.sources.naming import paths_of
from samelight.sources.trial import tried


def write_adopted_layers(
    session: Session, found: Sequence[Adoption], folder: Path, failed: list[Trouble]
) -> None:
    """Write a layer SHOT.usda into a folder for each shot that is to adopt. A shot whose scene cannot be had, or read, or has
    changed since it was captured, is added to `failed`."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SamelightError(f"{folder}: expected a folder for layers, {error.strerror or error}") from None
    for adoption in found:
        with apart(adoption.shot, failed, f"{adoption.shot} has no layer"):
            _write(session, adoption, folder / f"{adoption.shot}.usda")


def _write(session: Session, adoption: Adoption, out: Path) -> None:
    from samelight.sources.usd.adopted_layer import NewMaster, write_adopted
    from samelight.sources.usd.master_version import ADOPTS, is_layer_of

    shot, master = adoption.shot, session.contents.setup_of(adoption.shot).master
    if master is None:
        return
    layer = master.path.with_suffix(".usda")
    if not layer.is_file():
        raise SamelightError(f"{layer} is not there: publish --usd writes it with its master")
    if os.path.lexists(out) and not tried(out, LAYER, is_layer_of, out, ADOPTS):
        raise SamelightError(f"{out} is there already, and is no layer by which a shot adopts a master")
    scene = captured_scene(session, shot)
    starts = start_of(session.contents.sheets[shot]), start_of(master)
    later = 0.0 if starts[0] is None or starts[1] is None else starts[0] - starts[1]
    new = NewMaster(
        layer, master.version, paths_of(master.typed), session.contents.sequence.master_layers, later
    )
    why = f"{shot} with master {master.version} of {session.contents.sequence.title}, in the place of {adoption.base}."
    before = dict(session.contents.sheets[shot].typed)
    made = tried(
        scene, SCENE, write_adopted, out, scene, before, adoption.tree, new, why, (session.contents.folder,)
    )
    for sentence in made.left:
        complain(f"{shot}: {sentence}")
    print_line(
        f"written {out}: master {master.version} by {made.by}, {counted(made.kept, 'value')} set beside"
    )
