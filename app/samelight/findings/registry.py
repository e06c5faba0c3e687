"""Every finding, drawn in order of precedence, then ranked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from samelight.findings import (
    at_default,
    axis_slip,
    colour_transfer,
    cut_jump,
    decided,
    equal_copies,
    exchanged,
    extra_lights,
    file_version,
    goes_with_camera,
    goes_with_mark,
    held_frame,
    in_the_way,
    input_slip,
    lacks_approved,
    late_course,
    light_count,
    links,
    low_samples,
    master_apart,
    mended,
    moved_together,
    old_frame,
    old_master,
    one_cause,
    one_frame,
    one_lighter,
    other_type,
    pass_hides,
    ray_gaps,
    renamed,
    render_time,
    scaled,
    settings_not_remade,
    slow_drift,
    subject_apart,
    sun_sky,
    switched_off,
    unequal_copies,
    unexplained,
    unit_slip,
    unlike_sheet,
    unsteady,
    whole_rig,
)
from samelight.findings.against import against
from samelight.findings.board import Board
from samelight.findings.consequences import attach
from samelight.findings.finding import Evidence, Finding
from samelight.findings.harm import UNRANKED, Harms, Rank, rank, told, urgency
from samelight.findings.of_setups import in_whole

Finder = Callable[[Board], list[Finding]]

FINDERS: Sequence[tuple[str, Finder]] = (
    (decided.CONTESTED, decided.contested),
    (decided.LAPSED, decided.lapsed),
    (old_master.NAME, old_master.find),
    (settings_not_remade.NAME, settings_not_remade.find),
    (master_apart.NAME, master_apart.find),
    (equal_copies.NAME, equal_copies.find),
    (exchanged.NAME, exchanged.find),
    (renamed.NAME, renamed.find),
    (switched_off.NAME, switched_off.find),
    (ray_gaps.GI_GAP, ray_gaps.gi_gap),
    (ray_gaps.REFLECTION_GAP, ray_gaps.reflection_gap),
    (extra_lights.DUPLICATE, extra_lights.duplicates),
    (unequal_copies.NAME, unequal_copies.find),
    (moved_together.NAME, moved_together.find),
    (whole_rig.NAME, whole_rig.find),
    (goes_with_mark.NAME, goes_with_mark.find),
    (goes_with_camera.NAME, goes_with_camera.find),
    (other_type.NAME, other_type.find),
    (input_slip.NAME, input_slip.find),
    (unit_slip.NAME, unit_slip.find),
    (axis_slip.NAME, axis_slip.find),
    (colour_transfer.NAME, colour_transfer.find),
    (file_version.NAME, file_version.find),
    (scaled.NAME, scaled.find),
    (at_default.NAME, at_default.find),
    (links.NAME, links.find),
    (low_samples.NAME, low_samples.find),
    (one_frame.NAME, one_frame.find),
    (held_frame.NAME, held_frame.find),
    (pass_hides.NAME, pass_hides.find),
    (late_course.NAME, late_course.find),
    (slow_drift.NAME, slow_drift.find),
    (one_lighter.NAME, one_lighter.find),
    (one_cause.NAME, one_cause.find),
    (sun_sky.NAME, sun_sky.find),
    (light_count.NAME, light_count.find),
    (extra_lights.SEVERAL, extra_lights.several),
    (cut_jump.NAME, cut_jump.find),
    (render_time.NAME, render_time.find),
    (lacks_approved.NAME, lacks_approved.find),
    (in_the_way.NAME, in_the_way.find),
    (old_frame.NAME, old_frame.find),
    (unlike_sheet.NAME, unlike_sheet.find),
    (unsteady.NAME, unsteady.find),
    (subject_apart.NAME, subject_apart.find),
    (mended.NAME, mended.find),
    (unexplained.NAME, unexplained.find),
)
"""Name and finder in order of precedence: each finder sees the cells that those before it left without a reason."""

FINDING_NAMES: tuple[str, ...] = tuple(name for name, _ in FINDERS)
"""What `--only` takes."""

CONSEQUENCES = "consequences"
"""In place of a finding's name: what computed cells follow from."""

HARM = "harm"
"""In place of a finding's name: what findings do to the marks, and so their order."""


@dataclass(frozen=True, slots=True)
class Failure:
    """A finder that failed on some evidence, which is a mistake of the program: its name, and the error."""

    finding: str
    error: Exception


@dataclass(frozen=True, slots=True)
class Drawn:
    """All findings, ranked, and which could not be drawn: what those would have explained others may claim."""

    findings: list[Finding]
    failures: tuple[Failure, ...] = ()


def find_all(evidence: Evidence) -> Drawn:
    """All findings, ranked by what they do to the light on a mark, whether they break a lock or make a frame wrong for
    certain, then by how many shots and how far out of tolerance; cost and what is sound come last.

    A cell is explained by one finding at most. Without a master there is only the key shot to say something of. A finder that fails keeps
    none of the others from theirs. Of several set-ups each is looked at by itself: what one holds is no evidence of
    another.
    """
    if not evidence.parts:
        drawn, failures = _drawn(evidence)
    else:
        drawn, failures = [], []
        for part, own in evidence.parts:
            found, failed = _drawn(own)
            drawn += [(place, in_whole(finding, part, own.setup)) for place, finding in found]
            failures += failed
        drawn.sort(key=lambda pair: pair[0])
    return Drawn([finding for _, finding in drawn], tuple(failures))


def _drawn(evidence: Evidence) -> tuple[list[tuple[Rank, Finding]], list[Failure]]:
    """The findings of one set-up, each with its rank, the most harmful first."""
    if evidence.master is None:
        return _drawn_of_key_shot(evidence)
    board = Board(evidence, evidence.master)
    found: list[Finding] = []
    failures: list[Failure] = []
    for name, finder in FINDERS:
        try:
            for drawn in finder(board):
                finding = board.fresh(drawn)
                if finding is not None:
                    board.take(finding.cells)
                    found.append(finding)
        except Exception as error:  # noqa: BLE001 - the other finders are told
            failures.append(Failure(name, error))
    try:
        found = attach(board, found)
    except Exception as error:  # noqa: BLE001 - the findings are told without
        failures.append(Failure(CONSEQUENCES, error))
    try:
        return _ranked(board, found), failures
    except Exception as error:  # noqa: BLE001 - the findings are told in the order they were drawn
        failures.append(Failure(HARM, error))
    return [(UNRANKED, finding) for finding in found], failures


def _drawn_of_key_shot(evidence: Evidence) -> tuple[list[tuple[Rank, Finding]], list[Failure]]:
    """What is to be said of the key shot while there is no master."""
    try:
        return [(UNRANKED, finding) for finding in master_apart.of_key_shot(evidence)], []
    except Exception as error:  # noqa: BLE001 - all else is told
        return [], [Failure(master_apart.NAME, error)]


def _ranked(board: Board, found: Sequence[Finding]) -> list[tuple[Rank, Finding]]:
    """The findings with what they do to the marks, the most harmful first."""
    harms, ranked = Harms(board), []
    for one in found:
        harm = harms.of(one)
        weight = None if harm is None else harms.weight(harm)
        objection = against(board, one)
        finding = replace(one, guessed=f"{one.guessed} {objection}") if objection else one
        if harm is not None and weight is not None:
            finding = replace(finding, harm=harm, says=told(one, harm, weight))
        ranked.append((rank(finding, urgency(board, finding, weight)), finding))
    return sorted(ranked, key=lambda pair: pair[0])
