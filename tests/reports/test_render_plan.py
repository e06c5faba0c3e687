"""The render plan: projected times, one-frame passes, outliers, and what other samples would do."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from known import about
from samelight.cli.main import main
from samelight.reports.plan_text import plan_text
from samelight.reports.render_plan import RenderPlan, render_plan, suppose
from samelight.sequence.session import Session, open_session

VOLUME = ("render", "volume", "samples")


def plan_of(folder: Path) -> tuple[Session, RenderPlan]:
    session = open_session(folder)
    return session, render_plan(session.contents.sheets, session.cases.findings)


def test_a_shot_by_hand(make_sequence: MakeSequence) -> None:
    shot = {
        "frames": [1001, 1100],
        "cost": {"test_frame": "10m00s"},
        "passes": {
            "background": {"frames": "held"},
            "crew": {"frames": "all"},
            "fog": {"frames": "all", "test_frame": "1m00s"},
        },
    }
    _, plan = plan_of(make_sequence(master={}, shots={"QU_010": shot}))
    [planned] = plan.shots
    assert planned.length == 100
    assert [(one.name, one.frames, one.seconds, one.saved, one.one_frame) for one in planned.passes] == [
        ("background", 1, 600.0, 99 * 600.0, True),
        ("crew", 100, 60_000.0, 0.0, False),
        ("fog", 100, 6_000.0, 0.0, False),
    ]
    assert planned.seconds == 66_600.0
    assert (plan.seconds, plan.saved, plan.saved_wrongly) == (66_600.0, 59_400.0, 0.0)


def test_passes_and_shots_add_up_to_the_same(harbour: Path) -> None:
    _, plan = plan_of(harbour)
    passes = plan.by_pass()
    assert [one.name for one in passes] == ["background", "crew", "fog"]
    assert plan.seconds == pytest.approx(sum(one.seconds for one in passes))
    assert plan.saved == pytest.approx(sum(one.saved for one in passes)) and plan.saved > 0
    frames = {
        one.name: sum(p.frames for shot in plan.shots for p in shot.passes if p.name == one.name)
        for one in passes
    }
    assert {one.name: one.frames for one in passes} == frames


def test_a_one_frame_pass_that_is_wrong_saves_nothing(harbour: Path) -> None:
    _, plan = plan_of(harbour)
    wrong = [(shot.shot, one.name) for shot in plan.shots for one in shot.passes if one.wrong]
    assert wrong == [("HB_220", "background")]
    planned = next(shot for shot in plan.shots if shot.shot == "HB_220")
    assert plan.saved_wrongly == planned.saved > 0


def test_a_shot_out_of_its_family(harbour: Path) -> None:
    _, plan = plan_of(harbour)
    assert [shot.shot for shot in plan.shots if shot.outlier] == ["HB_170"]
    outlier = next(shot for shot in plan.shots if shot.outlier)
    assert outlier.times_median == pytest.approx(3.02, abs=0.01)


def test_shots_without_times_are_named(make_sequence: MakeSequence) -> None:
    timed = {"frames": [1, 10], "cost": {"test_frame": 60}}
    shots: dict[str, Any] = {
        "QU_010": timed,
        "QU_020": {"frames": [1, 10]},
        "QU_030": {"cost": {"test_frame": 60}},
    }
    _, plan = plan_of(make_sequence(master={}, shots=shots))
    assert plan.left_out == ("QU_020", "QU_030")
    assert [shot.shot for shot in plan.timed] == ["QU_010"]
    assert [one.name for one in plan.timed[0].passes] == ["beauty"]
    assert "QU_020, QU_030" in plan_text(plan)
    assert "of machine time for 1 shot. " in plan_text(plan)


def test_nothing_to_project(make_sequence: MakeSequence) -> None:
    _, plan = plan_of(make_sequence(master={}, shots={"QU_010": {}}))
    assert plan.timed == () and plan.seconds == 0 and plan.median is None
    assert "nothing can be projected" in plan_text(plan)


def test_half_the_samples_are_root_two_the_noise_and_half_the_time(harbour: Path) -> None:
    session, plan = plan_of(harbour)
    supposed = {one.shot: one for one in suppose(plan, session.contents.sheets, VOLUME, 48)}
    one = supposed["HB_010"]
    assert (one.before, one.noise, one.time) == (96.0, about(2**0.5), 0.5)
    planned = next(shot for shot in plan.shots if shot.shot == "HB_010")
    assert one.seconds == pytest.approx(planned.seconds / 2)
    # HB_160 stands at 8: the same number is six times the work there, and less noise.
    assert (supposed["HB_160"].time, supposed["HB_160"].noise) == (6.0, about((8 / 48) ** 0.5))


def test_only_a_share_of_the_time_goes_with_the_samples(harbour: Path) -> None:
    session, plan = plan_of(harbour)
    quarter = next(
        one for one in suppose(plan, session.contents.sheets, VOLUME, 48, 0.25) if one.shot == "HB_010"
    )
    assert quarter.time == 0.875
    none = next(
        one for one in suppose(plan, session.contents.sheets, VOLUME, 48, 0.0) if one.shot == "HB_010"
    )
    assert none.time == 1.0
    with pytest.raises(ValueError, match="share"):
        suppose(plan, session.contents.sheets, VOLUME, 48, 1.5)


def test_the_command(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(harbour), "--samples", "render.volume.samples=48"]) == 0
    out = capsys.readouterr().out
    assert "An estimate" in out and "out of its family" in out and "×1.41" in out
    assert (
        main(
            [
                "plan",
                str(harbour),
                "--format",
                "json",
                "--samples",
                "render.volume.samples=48",
                "--share",
                "0.5",
            ]
        )
        == 0
    )
    data = json.loads(capsys.readouterr().out)
    assert data["seconds"] == pytest.approx(sum(shot["seconds"] for shot in data["shots"]))
    assert data["supposed"]["shots"][0]["time"] == 0.75
    assert main(["plan", str(harbour), "--format", "markdown", "--shots", "HB_010"]) == 0
    assert "## Render plan" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--samples", "render.volume.sample=48"], "did you mean render.volume.samples"),
        (["--samples", "lights.sun.direction=4"], "counts no samples or rays"),
        (["--samples", "render.volume.samples"], "expected a parameter and a number"),
        (["--samples", "render.volume.samples=0"], "expected a parameter and a number"),
        (["--samples", "render.volume.samples=1e9999"], "expected a parameter and a number"),
        (["--share", "2"], "expected a share from 0 to 1"),
    ],
)
def test_what_cannot_be_supposed(
    harbour: Path, capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    try:
        status = main(["plan", str(harbour), *words])
    except SystemExit as ended:
        status = int(str(ended.code))
    assert status == 2
    assert says in capsys.readouterr().err
