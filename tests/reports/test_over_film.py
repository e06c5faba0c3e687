"""What goes through all sequences of a production: what they share, the course of the sun, and one light traced."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from samelight.cli.main import main
from samelight.drift.policy import default_policy
from samelight.light.directions import from_azimuth_elevation
from samelight.light.sun import sun_direction
from samelight.reports import kept_summary
from samelight.reports.kept_summary import Changes, changes_since_before, read_summary
from samelight.reports.over_film import course_says, film_says, shared_things, story_places, sun_places
from samelight.reports.summary import SetUpLook, Summary, summary_from
from samelight.sequence import disk
from samelight.sequence.session import Session, open_store
from samelight.sequence.store import SheetStore
from samelight.sheets import at_rest
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import CommonRules, read_production
from samelight.sheets.story import Moment, time_of

SAMPLES = Path(__file__).parents[2] / "sample_sequences"
OSLO = (59.91, 10.75)


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of the test's own, in which what was just written is kept too."""
    monkeypatch.setattr(disk, "cache_folder", lambda: tmp_path / "cache")
    monkeypatch.setattr(kept_summary, "SAME_MOMENT", -(10**18))
    return tmp_path / "cache"


@pytest.fixture
def town(tmp_path: Path, cache: Path) -> Path:
    """Two small sequences in story order."""
    for name in ("first_steps", "mole"):
        shutil.copytree(SAMPLES / name, tmp_path / "town" / name)
    (tmp_path / "town/production.yaml").write_text("title: A town\nsequences: [mole, first_steps]\n")
    return tmp_path / "town"


def group(azimuth: float, elevation: float, level: float = 2.0) -> dict[str, Any]:
    """A sun as a summary has it."""
    direction = list(from_azimuth_elevation(azimuth, elevation))
    return {"type": "distant", "direction": direction, "level": {"level": level, "quantity": "relative"}}


def summary(*looks: SetUpLook) -> Summary:
    data = {"title": "", "held": "", "strip": [], "mended": 0, "hours": None, "lighters": [], "trouble": ""}
    tally = {"undecided": 0, "sent_back": 0, "intended": 0}
    found = summary_from({**data, "tally": tally, "cases": [], "looks": []})
    return Summary(**{**{name: getattr(found, name) for name in Summary.__slots__}, "looks": looks})


def look(name: str = "", **groups: dict[str, dict[str, Any]]) -> SetUpLook:
    return SetUpLook(name, 1, 1, groups, key="sun" if "sun" in groups.get("lights", {}) else "")


def at(time: str, place: tuple[float, float] = OSLO) -> Moment:
    when = time_of(f"2026-03-02T{time}:00+01:00")
    assert when is not None
    return Moment(*place, when)


def sky(path: str, sha256: str = "", rotation: float = 40.0) -> dict[str, Any]:
    file = {"path": path, "sha256": sha256} if sha256 else {"path": path}
    return {"texture": file, "rotation": rotation}


def test_what_is_one_by_name_by_file_or_by_path_is_held_together() -> None:
    lamp = {"type": "sphere", "position": [0.0, 2.0, 0.0], "radius": 0.1}
    one = SetUpLook(
        "", 1, 1, {"lights": {"lantern": lamp}, "environments": {"dawn": sky("a/dawn.exr", "AB")}},
        {"lantern": "/set/lantern"},
    )  # fmt: skip
    other = SetUpLook(
        "", 1, 1,
        {"lights": {"lamp": lamp}, "environments": {"sky": sky("b/dawn.exr", "ab", 55.0), "dawn": sky("c.exr", "cd")}},
        {"lamp": "/set/lantern"},
    )  # fmt: skip
    places = story_places({"harbour": summary(one), "mole": summary(other)}, {})
    found = {thing.name: thing for thing in shared_things(places, default_policy())}
    assert set(found) == {"lantern", "dawn"}
    assert found["lantern"].known_by == ("scene path",) and not found["lantern"].differs
    assert found["dawn"].known_by == ("file",)
    ((differs),) = [one for one in found["dawn"].differs if one.parameter.endswith("rotation")]
    assert differs.parameter == "environments.dawn.rotation"
    assert differs.values == (("40°", ("harbour",)), ("55°", ("mole",)))


def test_places_of_one_value_are_told_together_and_what_is_not_stated_is_no_difference() -> None:
    suns = [group(100, 20), group(110, 20, 3.0), group(100, 20), group(110, 20)]
    del suns[3]["level"]
    summaries = {f"s{n}": summary(look(lights={"sun": sun})) for n, sun in enumerate(suns)}
    (sun,) = shared_things(story_places(summaries, {}), default_policy())
    said = {one.parameter: one.values for one in sun.differs}
    assert said["lights.sun.direction"] == (
        ("az 100.0° el 20.0°", ("s0", "s2")),
        ("az 110.0° el 20.0°", ("s1", "s3")),
    )
    assert said["lights.sun.level"] == (("2", ("s0", "s2")), ("3", ("s1",)))
    assert sun.says == "lights.sun is not one over s0, s1, s2, s3: direction, level."


def test_lights_near_something_that_agree_in_name_alone_are_told_in_one_line() -> None:
    fills = [{"type": "rect", "position": [x, 2.0, 0.0]} for x in (0.0, 4.0)]
    summaries = {f"s{n}": summary(look(lights={"fill": fill})) for n, fill in enumerate(fills)}
    said = film_says(summaries, {}, default_policy())
    assert said == ["Of one name in several sequences, and not one: lights.fill. They may be several lights."]


def course(*stated: tuple[tuple[float, float], str]) -> list[str]:
    """What is said of suns that stand so at these times of a day."""
    summaries = {f"s{n}": summary(look(lights={"sun": group(*lit)})) for n, (lit, _) in enumerate(stated)}
    story = {f"s{n}": at(time) for n, (_, time) in enumerate(stated)}
    return course_says(sun_places(story_places(summaries, story), default_policy()))


def test_a_sun_stands_where_it_stood_or_is_told() -> None:
    times = ("08:10", "12:20", "15:00")
    stood = [sun_direction(*OSLO, at(time).when) for time in times]
    assert course(*zip(stood, times, strict=True)) == []
    (line,) = course(((131.0, 24.0), "15:00"))
    assert line.startswith(
        "s0: lights.sun stands 81.8° from the sun of 2026-03-02 15:00: az 131.0° el 24.0° for "
    )
    assert not course(((131.0, 24.0), "21:00"))  # below the horizon, nothing is compared with it


def test_the_sun_does_not_go_back_in_an_afternoon() -> None:
    said = course(((219.0, 17.0), "15:00"), ((212.0, 15.0), "16:00"))
    assert [line for line in said if "goes back" in line] == [
        "The sun goes back by 7.0° between s0 (2026-03-02 15:00) and s1 (2026-03-02 16:00), while it moved on by 14.3°."
    ]
    said = course(((219.0, 12.0), "15:00"), ((230.0, 17.0), "16:00"))
    assert "The sun rises by 5.0° between s0" in said[-1]
    said = course(((219.0, 17.0), "15:00"), ((219.0, 17.0), "14:00"))
    assert (
        said[-1]
        == "The story goes back between s0 (2026-03-02 15:00) and s1 (2026-03-02 14:00): is that meant?"
    )
    said = course(((219.0, 17.0), "15:00"), ((225.0, 17.0), "15:00"))
    assert said[-1].startswith("The sun stands otherwise at one moment, between s0")


def test_at_another_moment_a_sun_may_stand_elsewhere() -> None:
    summaries = {
        f"s{n}": summary(look(lights={"sun": group(*lit)})) for n, lit in enumerate([(177, 23), (219, 17)])
    }
    apart = {"s0": at("12:20"), "s1": at("15:00")}
    assert [one.differs for one in shared_things(story_places(summaries, apart), default_policy())] == [()]
    (one,) = shared_things(story_places(summaries, {}), default_policy())
    assert [differs.parameter for differs in one.differs] == ["lights.sun.direction"]


def test_a_master_may_state_the_moment_itself(town: Path) -> None:
    master = town / "first_steps/master/master.v001.yaml"
    text = master.read_text()
    assert "azimuth: 95, elevation: 30" in text
    moment = "sun: {latitude: 59.91, longitude: 10.75, date_time: 2026-03-02T09:30:00+01:00}"
    master.write_text(text.replace("azimuth: 95, elevation: 30", moment))
    production = read_production(town)
    summaries = {name: read_summary(production.sequences[name], CommonRules()) for name in ("first_steps",)}
    (sun,) = sun_places(story_places(summaries, {}), default_policy())
    assert sun.moment == at("09:30") and sun.apart == pytest.approx(0.0, abs=1e-6)


def test_the_command_says_it_all(town: Path, capsys: pytest.CaptureFixture[str]) -> None:
    story = "story: {latitude: 59.91, longitude: 10.75, times: {mole/dawn: 2026-03-02T15:00:00+01:00}}\n"
    (town / "production.yaml").write_text("sequences: [mole, first_steps]\n" + story)
    assert main(["across", str(town)]) == 1
    text = capsys.readouterr().out
    assert "lights.sun is not one over mole/dawn, first_steps" in text
    assert "mole/dawn: lights.sun stands" in text and "It does not replace a site survey" in text
    assert main(["across", str(town), "--format", "json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["places"] == ["mole/dawn", "mole/night", "first_steps"]
    assert [(one["place"], one["off"]) for one in data["suns"]] == [
        ("mole/dawn", True),
        ("mole/night", False),
        ("first_steps", False),
    ]
    (town / "first_steps/sequence.yaml").write_text("cutt: []\n")
    assert main(["across", str(town)]) == 2
    said = capsys.readouterr()
    assert "did you mean cut?" in said.err and "1 sequence in story order" in said.out


def test_one_light_is_traced_through_all_shots(town: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["across", str(town), "--trace", "lights.sun", "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    found = [(one["sequence"], one["setup"], one["shot"]) for one in data["shots"]]
    assert found == [("mole", "dawn", f"ML_0{n}0") for n in (1, 2, 3, 4)] + [
        ("first_steps", None, f"FS_0{n}0") for n in (1, 2, 3, 4)
    ]
    assert [one["readings"]["azimuth"] for one in data["shots"]] == [
        *(112.0, 112.0, 118.0, 112.0),
        *(95.0, 95.0, 95.0, 100.0),
    ]
    assert main(["across", str(town), "--trace", "lights.sun", "--format", "csv"]) == 0
    head, *lines = capsys.readouterr().out.splitlines()
    assert head.startswith("sequence,setup,shot,type,direction,level") and len(lines) == 8
    assert main(["across", str(town), "--trace", "lights.sun"]) == 0
    assert "az 118.0° el 9.0° [az 112.0° el 9.0°]" in capsys.readouterr().out


def test_a_reading_in_another_unit_than_the_first_is_none(
    town: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = town / "first_steps/shots/FS_020/FS_020.v001.yaml"
    path.write_text(
        path.read_text().replace(
            "intensity: 2.0, temperature: 4500 K", "intensity: 900 lx, temperature: 4500 K", 1
        )
    )
    assert main(["across", str(town), "--trace", "lights.sun", "--format", "json"]) == 0
    shots = {one["shot"]: one for one in json.loads(capsys.readouterr().out)["shots"]}
    assert shots["FS_020"]["values"]["level"] == "900 lx"
    assert "level" not in shots["FS_020"]["readings"] and "level" in shots["FS_010"]["readings"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--trace", "lights.sn"], "did you mean lights.sun?"),
        (["--trace", "render.gi"], "expected a light or an environment"),
        (["--format", "csv"], "goes with --trace"),
    ],
)
def test_what_cannot_be_traced_is_told(
    town: Path, capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    assert main(["across", str(town), *words]) == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize(
    ("story", "says"),
    [
        ("{latitude: 95, longitude: 0, times: {mole: 2026-03-02T15:00:00+01:00}}", "a number from -90 to 90"),
        ("{latitude: 5, longitude: 0, times: {mole: 2026-03-02T15:00:00}}", "with its zone"),
        ("{latitude: 5, longitude: 0, times: {mole: 0001-01-01T00:00:00+14:00}}", "with its zone"),
        ("{latitude: 5, longitude: 0, times: {mule: 2026-03-02T15:00:00+01:00}}", "did you mean mole?"),
        ("{longitude: 0, times: {mole: 2026-03-02T15:00:00+01:00}}", "a latitude and a longitude"),
        ("{latitude: 5, longitude: 0}", "sequences, and for each its date and time"),
        ("{lattitude: 5, longitude: 0, times: {mole: 2026-03-02T15:00:00+01:00}}", "did you mean latitude?"),
        ("noon", "latitude, longitude and times"),
    ],
)
def test_what_is_wrong_in_a_story_is_told(town: Path, story: str, says: str) -> None:
    (town / "production.yaml").write_text(f"sequences: [mole, first_steps]\nstory: {story}\n")
    with pytest.raises(SamelightError) as caught:
        read_production(town)
    assert says in str(caught.value) and "production.yaml:2" in str(caught.value)


# What is kept


def test_what_did_not_change_is_told_without_opening_it(town: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[Path] = []

    def noting(folder: Path, common: CommonRules) -> Session:
        opened.append(folder)
        return open_store(SheetStore(folder, common=common))

    monkeypatch.setattr(kept_summary, "_opened", noting)
    common = CommonRules()
    first = read_summary(town / "mole", common)
    assert (
        read_summary(town / "mole", common) == first == summary_from(json.loads(json.dumps(first.as_data())))
    )
    assert len(opened) == 1
    sheet = town / "mole/shots/ML_030/ML_030.v001.yaml"
    sheet.write_text(sheet.read_text().replace("azimuth: 118", "azimuth: 112"))
    assert read_summary(town / "mole", common).tally.undecided == first.tally.undecided - 1
    policy = town / "common.yaml"
    policy.write_text("tolerances: {level: 9 st}\n")
    assert read_summary(town / "mole", CommonRules(policy)) != first
    assert len(opened) == 3
    policy.write_text("tolerances: {level: 8 st}\n")
    read_summary(town / "mole", CommonRules(policy))
    assert len(opened) == 4


def test_what_was_just_written_is_not_kept(town: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_summary, "SAME_MOMENT", at_rest.SAME_MOMENT + 10**18)
    read_summary(town / "mole", CommonRules())
    assert not list(cache.glob("*.summary"))


def test_a_damaged_summary_counts_as_nothing(town: Path, cache: Path) -> None:
    first = read_summary(town / "mole", CommonRules())
    (file,) = cache.glob("*.summary")
    file.write_bytes(file.read_bytes()[:-7])
    assert read_summary(town / "mole", CommonRules()) == first


def test_what_changed_since_the_last_day_that_somebody_looked(town: Path) -> None:
    folder, common = town / "mole", CommonRules()
    assert changes_since_before(folder, read_summary(folder, common), date(2026, 3, 2)) is None
    sheet = folder / "shots/ML_030/ML_030.v001.yaml"
    text = sheet.read_text()
    sheet.write_text(text.replace("azimuth: 118", "azimuth: 112"))
    today = date(2026, 3, 5)
    found = changes_since_before(folder, read_summary(folder, common), today)
    assert found == Changes("2026-03-02", settled=1)
    assert found.says == "1 settled"
    sheet.write_text(text.replace("azimuth: 118", "azimuth: 121"))
    found = changes_since_before(folder, read_summary(folder, common), today)
    assert found == Changes("2026-03-02", moved=1)
    assert changes_since_before(folder, read_summary(folder, common), date(2026, 3, 6)) == Changes(
        "2026-03-05"
    )
