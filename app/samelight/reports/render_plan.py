"""What a sequence costs to render, shot by shot and pass by pass, what one-frame passes save, and where they are wrong.

All of it is projected from one timed frame a shot; how rough that is stands in `samelight.findings.render_cost`. It is
good for comparing shots, passes and settings, not for promising a date.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from samelight.findings import one_frame
from samelight.findings.finding import Finding
from samelight.findings.render_cost import (
    normalised_times,
    pass_length,
    robust_scores,
    shot_length,
    test_frame,
)
from samelight.findings.render_time import FAMILY, RATIO, SCORE
from samelight.light.rays import cost_ratio, noise_ratio
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Value

ESTIMATE = (
    "An estimate: every frame, and every pass without a time of its own, is taken to cost what the test frame did, on "
    "one machine."
)
WHAT_IF_ESTIMATE = (
    "An estimate: noise as 1/√samples, as long as samples are independent; time in proportion to the samples, for the "
    "share of the frame's time that goes with them."
)


@dataclass(frozen=True, slots=True)
class PassPlan:
    """A pass of a shot: frames it renders, seconds for them, seconds that rendering one frame for all saves.

    `wrong` says why one frame cannot stand for all; empty where it can, or where the pass renders all.
    """

    name: str
    frames: int
    seconds: float
    saved: float
    one_frame: bool
    wrong: str = ""


@dataclass(frozen=True, slots=True)
class ShotPlan:
    """A shot. `length` in frames and `test_frame` in seconds are None where the sheet does not say.

    `times_median` is the test frame over the sequence's median, both at the usual resolution; `score` the same in robust
    sigmas. `outlier` marks a shot out of its family. Passes are projected only where both are known.
    """

    shot: str
    length: int | None
    test_frame: float | None
    passes: tuple[PassPlan, ...]
    times_median: float | None = None
    score: float | None = None
    outlier: bool = False

    @property
    def seconds(self) -> float:
        """Estimated machine time of all passes."""
        return sum(one.seconds for one in self.passes)

    @property
    def saved(self) -> float:
        """Estimated machine time that one-frame passes save."""
        return sum(one.saved for one in self.passes)


@dataclass(frozen=True, slots=True)
class RenderPlan:
    """The plan of a sequence; `median` is that of the test frames at the usual resolution, in seconds."""

    shots: tuple[ShotPlan, ...]
    median: float | None = None

    @property
    def timed(self) -> tuple[ShotPlan, ...]:
        """The shots that a time can be projected for."""
        return tuple(shot for shot in self.shots if shot.passes)

    @property
    def left_out(self) -> tuple[str, ...]:
        """The shots without a test frame or without frames."""
        return tuple(shot.shot for shot in self.shots if not shot.passes)

    @property
    def seconds(self) -> float:
        """Estimated machine time of the sequence."""
        return sum(shot.seconds for shot in self.shots)

    @property
    def saved(self) -> float:
        """Estimated machine time that one-frame passes save."""
        return sum(shot.saved for shot in self.shots)

    @property
    def saved_wrongly(self) -> float:
        """The part of `saved` that is not to be had: of passes whose one frame cannot stand for all."""
        return sum(one.saved for shot in self.shots for one in shot.passes if one.wrong)

    def by_pass(self) -> tuple[PassPlan, ...]:
        """The passes, each summed over its shots, in order of appearance."""
        names = dict.fromkeys(one.name for shot in self.shots for one in shot.passes)
        return tuple(self._summed(name) for name in names)

    def _summed(self, name: str) -> PassPlan:
        parts = [one for shot in self.shots for one in shot.passes if one.name == name]
        return PassPlan(
            name,
            sum(one.frames for one in parts),
            sum(one.seconds for one in parts),
            sum(one.saved for one in parts),
            all(one.one_frame for one in parts),
            next((one.wrong for one in parts if one.wrong), ""),
        )


@dataclass(frozen=True, slots=True)
class Supposed:
    """A shot under another number of samples: `noise` and `time` are ratios to how it stands, `seconds` the whole shot."""

    shot: str
    before: float
    noise: float
    time: float
    seconds: float


def render_plan(
    sheets: Mapping[str, Sheet], findings: Sequence[Finding] = (), failed: list[Trouble] | None = None
) -> RenderPlan:
    """The plan of these shots. `findings` tell which one-frame passes are wrong, and why. A shot that fails is left out and added
    to `failed`, without which it is raised."""
    times = normalised_times(sheets)
    scores: dict[str, float] = {}
    median = None
    if times:
        median, _, found = robust_scores(np.array(list(times.values())))
        scores = dict(zip(times, found.tolist(), strict=True))
    wrong = _wrong_passes(findings)
    plans = []
    for shot, sheet in sheets.items():
        with apart(shot, failed):
            ratio = times[shot] / median if shot in times and median else None
            score = scores.get(shot)
            plans.append(
                ShotPlan(
                    shot=shot,
                    length=shot_length(sheet),
                    test_frame=test_frame(sheet),
                    passes=_passes(sheet, shot, wrong),
                    times_median=ratio,
                    score=score,
                    outlier=len(times) >= FAMILY
                    and ratio is not None
                    and score is not None
                    and abs(score) > SCORE
                    and not 1.0 / RATIO <= ratio <= RATIO,
                )
            )
    return RenderPlan(tuple(plans), median)


def suppose(
    plan: RenderPlan,
    sheets: Mapping[str, Sheet],
    place: tuple[str, str, str],
    samples: float,
    share: float = 1.0,
) -> list[Supposed]:
    """What other samples would do to each shot that is timed and states them. An estimate, see `WHAT_IF_ESTIMATE`.

    `place` is section, group and leaf of the parameter; `share` (0..1) is the part of a frame's time that goes with these
    samples: 1 overstates the effect. Raises ValueError for a share or samples outside their range.
    """
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"a share lies between 0 and 1, found {share:g}")
    supposed = []
    for shot in plan.timed:
        before = sheets[shot.shot].value(*place)
        if not isinstance(before, float) or isinstance(before, bool) or before <= 0.0:
            continue
        time = 1.0 + share * (cost_ratio(samples, before) - 1.0)
        supposed.append(Supposed(shot.shot, before, noise_ratio(samples, before), time, shot.seconds * time))
    return supposed


def _wrong_passes(findings: Sequence[Finding]) -> dict[tuple[str, str], str]:
    """Why one frame cannot stand for all, by shot and the parameter of the pass."""
    return {
        (shot, parameter): finding.known or finding.says
        for finding in findings
        if finding.finding == one_frame.NAME
        for shot in finding.shots
        for parameter in finding.parameters
    }


def _passes(sheet: Sheet, shot: str, wrong: Mapping[tuple[str, str], str]) -> tuple[PassPlan, ...]:
    whole, length = test_frame(sheet), shot_length(sheet)
    if whole is None or length is None:
        return ()
    plans = []
    groups: Mapping[str, Mapping[str, Value]] = sheet.sections.get("passes") or {"beauty": {}}
    for name, values in groups.items():
        own = values.get("test_frame")
        each = own if isinstance(own, float) and own > 0 else whole
        count = pass_length(values.get("frames"), length)
        plans.append(
            PassPlan(
                name,
                count,
                each * count,
                each * (length - count),
                one_frame.is_one_frame(sheet, name),
                wrong.get((shot, f"passes.{name}.frames"), ""),
            )
        )
    return tuple(plans)
