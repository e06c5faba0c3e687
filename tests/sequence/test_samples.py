"""The sample is tried in a copy of the user's own: nothing is ever written into the program."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from samelight.decisions.decision import Verb
from samelight.sequence import samples
from samelight.sequence.samples import own_copy
from samelight.sequence.session import open_session
from samelight.sheets.resources import sample_sequence
from samples import content


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(samples, "own_samples", lambda: tmp_path / "data" / "1.0")
    return tmp_path / "data" / "1.0"


def test_the_copy_is_the_same_and_made_once(own: Path) -> None:
    copy = own_copy(sample_sequence("first_steps"))
    assert copy == own / "first_steps"
    assert content(copy) == content(sample_sequence("first_steps"))
    session = open_session(copy)
    session.decide(Verb.RETURN, session.cases.unsettled_cells()[:1], "lead", "tried")
    decided = content(copy)
    assert decided != content(sample_sequence("first_steps"))
    assert own_copy(sample_sequence("first_steps")) == copy
    assert content(copy) == decided
    assert [path.name for path in own.iterdir()] == ["first_steps"]


def test_a_new_version_of_the_program_has_a_copy_of_its_own(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = own_copy(sample_sequence("first_steps"))
    monkeypatch.setattr(samples, "own_samples", lambda: own.parent / "2.0")
    assert own_copy(sample_sequence("first_steps")) == own.parent / "2.0" / "first_steps"
    assert old.is_dir()


def test_any_other_folder_is_opened_as_it_is(own: Path, harbour: Path, tmp_path: Path) -> None:
    for folder in (harbour, tmp_path / "nothing", own_copy(sample_sequence()), sample_sequence().parent):
        assert own_copy(folder) == folder


def test_a_link_to_the_sample_is_the_sample(own: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(sample_sequence("first_steps"))
    assert own_copy(tmp_path / "link") == own / "first_steps"


@pytest.mark.skipif(os.name != "posix", reason="modes are those of POSIX")
def test_a_copy_of_what_is_installed_read_only_can_be_written_to(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    installed = tmp_path / "installed" / "harbour"
    (installed / "shots").mkdir(parents=True)
    (installed / "sequence.yaml").touch(mode=0o444)
    for folder in (installed / "shots", installed):
        folder.chmod(0o555)
    monkeypatch.setattr(samples, "sample_sequence", lambda: installed)
    copy = own_copy(installed)
    assert all(path.stat().st_mode & 0o200 for path in (copy, *copy.rglob("*")))


def test_what_was_begun_and_stopped_is_not_taken_for_the_copy(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(source: Path, target: Path) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(shutil, "copyfile", full)
        with pytest.raises(OSError, match="No space"):
            own_copy(sample_sequence("first_steps"))
    assert list(own.iterdir()) == []
    assert content(own_copy(sample_sequence("first_steps"))) == content(sample_sequence("first_steps"))
