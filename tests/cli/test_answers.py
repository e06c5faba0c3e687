"""Answers that are kept: the same as computed, and only while nothing of what they were made of is another."""

from __future__ import annotations

import errno
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from samelight.cli import answers, reading
from samelight.cli.main import main
from samelight.sequence.session import open_store

pytestmark = pytest.mark.skipif(os.name != "posix", reason="nothing is kept there")

Ask = Callable[..., tuple[int, str, str]]


@pytest.fixture
def computed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """What was computed. Answers are kept in a folder of the test's own, however new the files are."""
    found: list[str] = []

    def noting(*given: Any, **more: Any) -> object:
        found.append("computed")
        return open_store(*given, **more)

    monkeypatch.setattr(reading, "open_store", noting)
    monkeypatch.setattr(answers, "folder", lambda: tmp_path / "answers")
    monkeypatch.setattr(answers, "SAME_MOMENT", -(10**18))
    return found


@pytest.fixture
def ask(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Ask:
    """Run the program with these words: its status, and what it said."""

    def asked(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["samelight", *map(str, words)])
        return (main(), *capsys.readouterr())

    return asked


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    """A short sequence in which something is open."""

    def sheet(intensity: float) -> dict[str, object]:
        return {"lights": {"key": {"type": "spot", "position": [0, 2, 0], "intensity": intensity}}}

    return make_sequence(master=sheet(2.0), shots={"A": sheet(2.0), "B": sheet(5.0)}, policy={})


@pytest.mark.parametrize("form", ["text", "json", "junit"])
def test_an_answer_is_given_again_as_it_was(ask: Ask, computed: list[str], quay: Path, form: str) -> None:
    first = ask("check", quay, "--format", form)
    assert (first[0], first[2], computed) == (1, "", ["computed"]) and "key" in first[1]
    assert ask("check", quay, "--format", form) == first
    assert computed == ["computed"]


def test_at_a_terminal_it_is_given_again_in_the_width_and_colours_of_that(
    ask: Ask, computed: list[str], quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("NO_COLOR", "COLORTERM", "FORCE_COLOR", "TTY_COMPATIBLE", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    said = [ask("check", quay)[1]]
    changes = [("FORCE_COLOR", "1"), ("COLORTERM", "truecolor"), ("COLUMNS", "60"), ("NO_COLOR", "1")]
    for number, (name, value) in enumerate(changes, start=2):
        monkeypatch.setenv(name, value)
        said.append(ask("check", quay)[1])
        assert len(computed) == number
        assert ask("check", quay)[1] == said[-1]
        assert len(computed) == number
    assert ["\x1b[" in one for one in said] == [False, True, True, True, True]
    monkeypatch.delenv("FORCE_COLOR")
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    assert [ask("check", quay)[1] for _ in range(2)] == [said[-1]] * 2
    assert len(computed) == len(changes) + 2


def test_of_a_sequence_that_holds_it_is_given_again_too(ask: Ask, computed: list[str], quay: Path) -> None:
    assert [ask("check", quay, "--shots", "A")[0] for _ in range(2)] == [0, 0]
    assert computed == ["computed"]
    assert ask("check", quay, "--shots", "B")[0] == 1


def _edit(quay: Path) -> None:
    path = quay / "shots/B/B.v001.yaml"
    before = path.stat()
    path.write_text(path.read_text(encoding="utf-8").replace("5.0", "2.0"), encoding="utf-8")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))  # as long and as old as it was


def _decide(quay: Path) -> None:
    assert main(["decide", str(quay), "intend", "B", "lights.key.level", "--reason", "a beam"]) == 0


CHANGES: dict[str, Callable[[Path], object]] = {
    "a sheet edited in its place": _edit,
    "a sheet gone": lambda quay: (quay / "shots/B/B.v001.yaml").unlink(),
    "a newer sheet": lambda quay: (quay / "shots/B/B.v002.yaml").write_bytes(
        (quay / "shots/B/B.v001.yaml").read_bytes()
    ),
    "another master": lambda quay: (quay / "master/master.v002.yaml").write_text(
        "samelight: 2\nversion: 2\nlights: {}\n", encoding="utf-8"
    ),
    "a decision": _decide,
    "another policy": lambda quay: (quay / "policy.yaml").write_text(
        "samelight_policy: 2\ntolerances: {level: {at_most: 9 st, why: a test}}\n", encoding="utf-8"
    ),
    "another cut": lambda quay: (quay / "sequence.yaml").write_text(
        "samelight_sequence: 2\ntitle: quay\ncut: [A]\n", encoding="utf-8"
    ),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_whatever_changed_is_computed(
    ask: Ask,
    computed: list[str],
    quay: Path,
    change: Callable[[Path], object],
    capsys: pytest.CaptureFixture[str],
) -> None:
    ask("check", quay)
    change(quay)
    capsys.readouterr()
    computed.clear()
    found = ask("check", quay)
    assert computed == ["computed"]
    assert found == (main(["check", str(quay)]), *capsys.readouterr()), "as computed without what is kept"


def test_of_other_words_another_is_given(ask: Ask, computed: list[str], quay: Path) -> None:
    for words in ([], ["--all"], ["--fail-on", "break"], ["--quiet"]):
        ask("check", quay, *words)
    assert len(computed) == 4


def test_what_hangs_on_more_or_does_more_is_not_kept(
    ask: Ask, computed: list[str], quay: Path, tmp_path: Path
) -> None:
    part, saved = tmp_path / "a.part", tmp_path / "before.json"
    saved.write_text(ask("check", quay, "--format", "json")[1], encoding="utf-8")
    computed.clear()
    for words in (
        ["--save-part", part],
        ["--since", saved],
        ["--baseline", saved],
        ["--pol", quay / "policy.yaml"],
    ):
        assert ask("check", quay, *words) == ask("check", quay, *words)
    assert len(computed) == 8


@pytest.mark.parametrize("harm", ["cut", "other", "empty", "open to others"])
def test_what_is_damaged_or_anybodys_counts_as_nothing(
    ask: Ask, computed: list[str], quay: Path, tmp_path: Path, harm: str
) -> None:
    first = ask("check", quay)
    (file,) = (tmp_path / "answers").iterdir()
    whole = file.read_bytes()
    match harm:
        case "cut":
            file.write_bytes(whole[:-9])
        case "other":
            file.write_bytes(whole.replace(b'"status": 1', b'"status": 0'))
        case "empty":
            file.write_bytes(b"")
        case _:
            file.chmod(0o666)
    assert ask("check", quay) == first
    assert len(computed) == 2


def test_behind_a_link_anything_may_change(ask: Ask, computed: list[str], quay: Path, tmp_path: Path) -> None:
    path = quay / "shots/A/A.v001.yaml"
    path.rename(tmp_path / "elsewhere.yaml")
    path.symlink_to(tmp_path / "elsewhere.yaml")
    assert ask("check", quay) == ask("check", quay)
    assert len(computed) == 2


def test_what_changed_a_moment_ago_is_not_kept(
    ask: Ask, computed: list[str], quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(answers, "SAME_MOMENT", 10**18)  # however slow the machine is
    assert ask("check", quay) == ask("check", quay)
    assert len(computed) == 2


def test_what_was_complained_of_is_told_each_time(ask: Ask, computed: list[str], quay: Path) -> None:
    (quay / "policy.yaml").write_text(
        "samelight_policy: 2\ntolerances: {lights.kee.level: {at_most: 9 st, why: a test}}\n",
        encoding="utf-8",
    )
    first = ask("check", quay)
    assert "lights.kee.level" in first[2]
    assert ask("check", quay) == first and len(computed) == 2


def test_the_oldest_goes_first(
    ask: Ask, computed: list[str], quay: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(answers, "MOST_KEPT", 2)
    for number, words in enumerate((["--all"], ["--quiet"], [])):
        ask("check", quay, *words)
        for path in (tmp_path / "answers").iterdir():
            os.utime(path, ns=(number, path.stat().st_mtime_ns - 10**12))
    assert len(list((tmp_path / "answers").iterdir())) == 2
    computed.clear()
    ask("check", quay, "--all")
    assert computed == ["computed"]


@pytest.mark.parametrize(
    "place",
    ["p.yaml", "frames/p.yaml", "shots/../views/p.yaml", "__pycache__/p.yaml", "shots/A/__pycache__/p.yaml"],
)
def test_a_policy_is_looked_at_wherever_it_lies_and_however_it_is_named(
    ask: Ask, computed: list[str], quay: Path, place: str
) -> None:
    def allow(stops: int) -> None:
        text = f"samelight_policy: 1\ntolerances: {{level: {{at_most: {stops} st, why: a test}}}}\n"
        (quay / place).write_text(text, encoding="utf-8")

    (quay / place).parent.mkdir(exist_ok=True)
    allow(1)
    (quay / "sequence.yaml").write_text(
        f"samelight_sequence: 1\ncut: [A, B]\npolicy: {place}\n", encoding="utf-8"
    )
    assert [ask("check", quay)[0] for _ in range(2)] == [1, 1]
    allow(9)
    assert ask("check", quay)[0] == 0


def test_what_a_production_above_gives_is_looked_at(ask: Ask, computed: list[str], quay: Path) -> None:
    common, production = quay.parent / "common.yaml", quay.parent / "production.yaml"
    assert [ask("check", quay)[0] for _ in range(2)] == [1, 1] and len(computed) == 1
    common.write_text("tolerances: {level: 9 st}\n", encoding="utf-8")
    production.write_text(f"sequences: [{quay.name}]\npolicy: common.yaml\n", encoding="utf-8")
    assert [ask("check", quay)[0] for _ in range(2)] == [0, 0] and len(computed) == 2
    common.write_text("tolerances: {level: 1 st}\n", encoding="utf-8")
    assert ask("check", quay)[0] == 1 and len(computed) == 3
    production.unlink()
    assert ask("check", quay)[0] == 1


def test_a_shot_may_be_called_as_what_python_leaves_behind(
    ask: Ask, computed: list[str], make_sequence: MakeSequence
) -> None:
    light = {"lights": {"key": {"type": "spot", "position": [0, 2, 0], "intensity": 2.0}}}
    folder = make_sequence(master=light, shots={"A": light, "__pycache__": light}, policy={})
    assert ask("check", folder)[0] == 0
    sheet = folder / "shots/__pycache__/__pycache__.v001.yaml"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("2.0", "5.0"), encoding="utf-8")
    assert ask("check", folder)[0] == 1


def test_under_the_name_of_another_an_answer_counts_as_nothing(
    ask: Ask, computed: list[str], quay: Path, tmp_path: Path
) -> None:
    found = ask("check", quay, "--shots", "B")
    (of_b,) = (tmp_path / "answers").iterdir()
    ask("check", quay, "--shots", "A")
    (of_a,) = set((tmp_path / "answers").iterdir()) - {of_b}
    of_a.replace(of_b)
    assert ask("check", quay, "--shots", "B") == found and found[0] == 1


def test_what_lies_in_a_folder_that_is_open_to_others_counts_as_nothing(
    ask: Ask, computed: list[str], quay: Path, tmp_path: Path
) -> None:
    first = ask("check", quay)
    (tmp_path / "answers").chmod(0o777)
    assert ask("check", quay) == first and len(computed) == 2
    assert ask("check", quay) == first and len(computed) == 2, "it was closed, and what lies in it is new"


def test_what_was_another_while_it_was_computed_is_not_kept(
    ask: Ask, computed: list[str], quay: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    link, other = tmp_path / "link", tmp_path / "other"
    shutil.copytree(quay, other)
    _edit(other)
    link.symlink_to(quay)

    def point_to(folder: Path) -> None:
        link.unlink()
        link.symlink_to(folder)

    def meanwhile(*given: Any, **more: Any) -> object:
        point_to(other)
        return open_store(*given, **more)

    with monkeypatch.context() as patched:
        patched.setattr(reading, "open_store", meanwhile)
        assert ask("check", link)[0] == 0
    point_to(quay)
    assert ask("check", link)[0] == 1


def test_with_other_libraries_it_is_computed(
    ask: Ask, computed: list[str], quay: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    packages = tmp_path / "site-packages"
    packages.mkdir()
    monkeypatch.syspath_prepend(packages)
    ask("check", quay)
    os.utime(packages, ns=(0, 0))  # as when something is installed
    ask("check", quay)
    monkeypatch.setenv("OTIO_PLUGIN_MANIFEST_PATH", str(tmp_path))
    ask("check", quay)
    assert len(computed) == 3


def test_a_file_that_may_be_read_no_longer_is_told_though_nothing_about_it_changed(
    ask: Ask, computed: list[str], quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert ask("check", quay)[0] == 1
    plainly, sheet = os.open, quay / "shots/B/B.v001.yaml"

    def refusing(path: str, *given: int, **more: int) -> int:
        if os.fspath(path) == str(sheet):
            raise PermissionError(
                errno.EACCES, "no permission", str(sheet)
            )  # as when its group let the user go
        return plainly(path, *given, **more)

    monkeypatch.setattr(os, "open", refusing)
    status, _, told = ask("check", quay)
    assert status == 2 and "B.v001.yaml" in told
