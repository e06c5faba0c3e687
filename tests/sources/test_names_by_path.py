"""Names of lights follow the master: by the path, then its tail, then by what equals it; new lights get what is left."""

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conftest import write_sequence
from samelight.cli.main import main
from samelight.sequence.session import open_session
from samelight.sheets.trees import read_document
from samelight.sources.naming import moved_roots, names_of, short_names
from samelight.sources.request import NOBODY, Known

KEY, FILL = (
    {"type": "sphere", "intensity": 5, "radius": 1, "color": [1, 1, 1]},
    {"type": "rect", "intensity": 2},
)
MASTER = Known({"key": "/set/key", "fill": "/set/fill"}, {"key": KEY, "fill": FILL})


def named(lights: Any, known: Any = MASTER) -> Any:
    return names_of(lights, known, lights.__getitem__)


@pytest.mark.parametrize(
    ("lights", "names"),
    [
        # A prop that brings a prim of the same name renames nothing.
        ({"/set/key": KEY, "/set/fill": FILL, "/prop/key": FILL}, ["key", "fill", "prop_key"]),
        # A root of its own above, or one less.
        ({"/shot/set/key": KEY, "/shot/set/fill": FILL}, ["key", "fill"]),
        ({"/rig/key": KEY, "/rig/fill": FILL}, ["key", "fill"]),
        # Of two with the last name that which is as the master's is it.
        (
            {"/prop/key": FILL, "/rig/key": {**KEY, "intensity": 20}, "/set/fill": FILL},
            ["prop_key", "key", "fill"],
        ),
        # Another name altogether, and every value.
        ({"/set/hero": KEY, "/set/fill": FILL}, ["key", "fill"]),
        ({"/set/hero": {**KEY, "intensity": 20}, "/set/fill": FILL}, ["hero", "fill"]),
        # Of two that are as good as each other there is no telling; neither hides that the master's is gone.
        ({"/a/hero": KEY, "/b/hero": KEY, "/set/fill": FILL}, ["a_hero", "b_hero", "fill"]),
        ({"/prop/key": FILL, "/set/fill": FILL}, ["prop_key", "fill"]),
    ],
)
def test_whose_name_a_light_gets(lights: Any, names: Any) -> None:
    assert named(lights) == dict(zip(lights, names, strict=True))


paths = st.lists(
    st.lists(st.sampled_from(["set", "key", "fill", "a_b", "a", "b"]), min_size=1, max_size=4).map(
        lambda parts: "/" + "/".join(parts)
    ),
    unique=True,
    max_size=8,
)


@given(paths, paths)
def test_names_are_unique_and_of_the_set_of_paths_alone(here: Any, there: Any) -> None:
    known = Known(dict(zip(short_names(there).values(), short_names(there), strict=True)))
    lights: dict[str, dict[str, Any]] = {path: {} for path in here}
    found = named(lights, known)
    assert set(found) == set(here)
    assert len(set(found.values())) == len(here)
    assert named({path: {} for path in reversed(here)}, known) == found
    # What stands where it stood goes by its name, and nothing new takes the name of what is gone.
    assert all(found[path] == name for name, path in known.paths.items() if path in lights)
    assert named(lights, NOBODY) == short_names(here)


def test_a_moved_root_is_told_once() -> None:
    found = named({"/shot/set/key": KEY, "/shot/set/fill": FILL})
    assert moved_roots(found, MASTER) == [("/", "/shot", 2)]


HEAD = '#usda 1.0\n(\nmetersPerUnit = 1\nupAxis = "Y"\n)\n'
RIG = """def Xform "set"
{{
    def SphereLight "key"
    {{
        float inputs:intensity = {}
    }}
}}
"""
PROP = 'def Xform "cart"\n{\n    def SphereLight "key"\n    {\n        float inputs:intensity = 1\n    }\n}\n'


def test_a_prop_hides_no_drift_of_the_key(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From the published master on: the captured shots keep the names that its key shot had."""
    folder = write_sequence(tmp_path / "quay", sequence={"key_shot": "S_010", "scenes": "scenes/*.usda"})
    scenes = folder / "scenes"
    scenes.mkdir()
    (scenes / "S_010.usda").write_text(HEAD + RIG.format(5))
    assert main(["capture", "--sequence", str(folder)]) == 0
    assert main(["publish", str(folder), "--from", "S_010", "--who", "Ada"]) == 0
    assert read_document(folder / "master/master.v001.yaml").data["source"] == {"lights": {"key": "/set/key"}}
    (scenes / "S_020.usda").write_text(HEAD + RIG.format(20) + PROP)
    (scenes / "S_030.usda").write_text(HEAD + 'def Xform "shot"\n{\n' + RIG.format(5) + "}\n")
    assert main(["capture", "--sequence", str(folder)]) == 0
    assert "Of the master's lights 1 stands below /shot here, and below / there." in capsys.readouterr().err
    session = open_session(folder)
    drifting = {
        (cell.shot, cell.parameter): cell.drift
        for cell in session.table.cells()
        if cell.grade.word == "drift"
    }
    assert drifting["S_020", "lights.key.level"] == pytest.approx(2.0)
    assert set(session.contents.sheets["S_020"].sections["lights"]) == {"key", "cart_key"}
    assert {parameter for shot, parameter in drifting if shot == "S_030"} == set()


def test_one_scene_by_itself_keeps_the_names_of_a_sheet(tmp_path: Path) -> None:
    scene, master, sheet = tmp_path / "b.usda", tmp_path / "a.yaml", tmp_path / "b.yaml"
    (tmp_path / "a.usda").write_text(HEAD + RIG.format(5))
    scene.write_text(HEAD + RIG.format(5) + PROP)
    assert main(["capture", str(tmp_path / "a.usda"), "-o", str(master)]) == 0
    assert main(["capture", str(scene), "-o", str(sheet), "--like", str(master)]) == 0
    assert read_document(sheet).data["source"]["lights"] == {"cart_key": "/cart/key", "key": "/set/key"}


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (lambda number: f"/set/rig_{number}/lamp", lambda number: f"/shot/set/rig_{number}/lamp"),
        (lambda number: f"/set/rig_{number}/lamp", lambda number: f"/rigs/rig_{number}/lamp"),
        (lambda number: f"/set/rig_{number}/lamp", lambda number: f"/set/bay_{number}/lamp"),
        (lambda number: f"/set/rig_{number}/lamp", lambda number: f"/set/bay_{number}/light"),
    ],
    ids=["root added", "root renamed", "parents renamed", "all renamed"],
)
def test_many_lights_of_one_last_name_are_not_compared_pair_by_pair(
    was: Callable[[int], str], now: Callable[[int], str]
) -> None:
    many = 500
    lights = {now(number): {"type": "sphere", "intensity": number} for number in range(many)}
    known = Known(
        {f"lamp_{number}": was(number) for number in range(many)},
        {f"lamp_{number}": {"type": "sphere", "intensity": number} for number in range(many)},
    )
    asked: Counter[str] = Counter()

    def values(path: str) -> dict[str, Any]:
        asked[path] += 1
        return lights[path]

    found = names_of(lights, known, values)
    assert found == {now(number): f"lamp_{number}" for number in range(many)}
    assert max(asked.values(), default=0) < 10
