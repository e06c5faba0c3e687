"""Every finding, drawn in order of precedence, then ranked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from samelight.findings import (
    axis_slip,
    behind,
    colour_transfer,
    cut_jump,
    decided,
    fell_to_default,
    hides,
    lacks_approved,
    light_count,
    links,
    low_samples,
    not_remade,
    one_cause,
    one_frame,
    ray_gaps,
    renamed,
    render_time,
    slow_drift,
    sound,
    sun_sky,
    unexplained,
    unit_slip,
)
from samelight.findings.board import Board
from samelight.findings.consequences import attach
from samelight.findings.finding import Evidence, Finding
from samelight.light.noise import SORTED_BY, figure
from samelight.sheets.vocabulary import COMPARED_SECTIONS

Finder = Callable[[Board], list[Finding]]

FINDERS: Sequence[tuple[str, Finder]] = (
    (decided.CONTESTED, decided.contested),
    (decided.LAPSED, decided.lapsed),
    (behind.NAME, behind.find),
    (not_remade.NAME, not_remade.find),
    (sound.COPIES, sound.copies),
    (renamed.NAME, renamed.find),
    (ray_gaps.GI_GAP, ray_gaps.gi_gap),
    (ray_gaps.REFLECTION_GAP, ray_gaps.reflection_gap),
    (unit_slip.NAME, unit_slip.find),
    (axis_slip.NAME, axis_slip.find),
    (colour_transfer.NAME, colour_transfer.find),
    (fell_to_default.NAME, fell_to_default.find),
    (links.NAME, links.find),
    (low_samples.NAME, low_samples.find),
    (one_frame.NAME, one_frame.find),
    (sound.FRAMES, sound.frames),
    (hides.NAME, hides.find),
    (slow_drift.NAME, slow_drift.find),
    (one_cause.NAME, one_cause.find),
    (sun_sky.NAME, sun_sky.find),
    (light_count.NAME, light_count.find),
    (cut_jump.NAME, cut_jump.find),
    (render_time.NAME, render_time.find),
    (lacks_approved.NAME, lacks_approved.find),
    (unexplained.NAME, unexplained.find),
)
"""Name and finder in order of precedence: each finder sees the cells that those before it left without a reason."""

FINDING_NAMES: tuple[str, ...] = tuple(name for name, _ in FINDERS)
"""What `--only` takes."""

CONSEQUENCES = "consequences"
"""In place of a finding's name: what computed cells follow from."""


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
    """All findings, ranked: what shows in the picture before noise, order and what is sound, then by how many shots,
    then by how far out of tolerance.

    A cell is explained by one finding at most. Without a master there is nothing to find. A finder that fails keeps
    none of the others from theirs.
    """
    if evidence.master is None:
        return Drawn([])
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
        except Exception as error:
            failures.append(Failure(name, error))
    try:
        found = attach(board, found)
    except Exception as error:
        failures.append(Failure(CONSEQUENCES, error))
    return Drawn(sorted(found, key=_rank), tuple(failures))


def _rank(finding: Finding) -> tuple[int, int, bool, float, str, tuple[str, ...], tuple[str, ...]]:
    # What follows from typed values only stands behind what those values are about.
    computed = all(name.partition(".")[0] not in COMPARED_SECTIONS for _, name in finding.explained)
    return (
        finding.concern,
        -len(finding.shots),
        computed,
        -figure(finding.worst, SORTED_BY),
        finding.finding,
        finding.shots,
        finding.parameters,
    )
