"""Of those who publish at once one alone succeeds, and only on the master that it was tried against."""

from __future__ import annotations

import errno
import multiprocessing
import os
import random
import shutil
import time
from multiprocessing.synchronize import Barrier
from pathlib import Path

import pytest

from conftest import MakeSequence, write_sequence
from samelight.changes.publishing import PublishError, candidate_from, publish
from samelight.sequence.session import open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.writing import WriteError, write_new

PAIRS = 40
LIGHT = {"lights": {"sun": {"type": "distant", "intensity": 2, "azimuth": 130, "elevation": 30}}}


LINKS = ("hard links", "no hard links")


def no_links(*_: object, **__: object) -> None:
    raise OSError(errno.EPERM, os.strerror(errno.EPERM))


def publish_often(folder: Path, who: str, together: Barrier) -> None:
    """Publish once in every copy of a sequence, together with somebody else; write down what became of it."""
    for links in LINKS:
        if links == "no hard links":
            os.link = no_links
        for number in range(PAIRS):
            session = open_session(folder / links / f"{number:02d}")
            chance = random.Random(f"{who}{number}")
            together.wait(60)
            try:
                time.sleep(chance.random() * 0.01)
                candidate = candidate_from(session, "A", who)
                time.sleep(chance.random() * 0.01)
                said = f"published {publish(candidate).name}"
            except SamelightError as error:
                said = f"refused: {error}"
            (folder / links / f"{who}.{number:02d}").write_text(said, encoding="utf-8")


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pairs")
    made = write_sequence(folder / "made", master=LIGHT, shots={"A": LIGHT})
    for links in LINKS:
        for number in range(PAIRS):
            shutil.copytree(made, folder / links / f"{number:02d}")
    spawned = multiprocessing.get_context("spawn")
    together = spawned.Barrier(2)
    writers = [spawned.Process(target=publish_often, args=(folder, who, together)) for who in ("ada", "ben")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(300)
        assert writer.exitcode == 0
    return folder


@pytest.fixture(params=LINKS)
def outcomes(request: pytest.FixtureRequest, published: Path) -> Path:
    folder: Path = published / request.param
    return folder


def test_exactly_one_of_each_pair_succeeds(outcomes: Path) -> None:
    for number in range(PAIRS):
        said = [(outcomes / f"{who}.{number:02d}").read_text(encoding="utf-8") for who in ("ada", "ben")]
        won = [who for who, text in zip(("ada", "ben"), said, strict=True) if text.startswith("published")]
        assert len(won) == 1, said
        masters = outcomes / f"{number:02d}" / "master"
        assert sorted(path.name for path in masters.iterdir()) == ["master.v001.yaml", "master.v002.yaml"]
        assert f"by: {won[0]}" in (masters / "master.v002.yaml").read_text(encoding="utf-8")
        lost = next(text for text in said if not text.startswith("published"))
        assert "v002" in lost and ("tried against master v001" in lost or "could not be written" in lost)


@pytest.fixture
def folder(make_sequence: MakeSequence) -> Path:
    return make_sequence(master=LIGHT, shots={"A": LIGHT})


def test_a_candidate_is_next_to_what_its_author_has_seen(folder: Path) -> None:
    seen = open_session(folder)
    publish(candidate_from(open_session(folder), "A", "ada"))
    late = candidate_from(seen, "A", "ben")
    assert late.version == 2 and late.tried_text == "tried against master v001"
    with pytest.raises(PublishError, match=r"tried against master v001, and now v002 is the newest"):
        publish(late)
    assert publish(candidate_from(open_session(folder), "A", "ben")).name == "master.v003.yaml"


def test_also_where_the_newest_cannot_be_read_or_has_another_ending(folder: Path) -> None:
    candidate = candidate_from(open_session(folder), "A", "ada")
    other = folder / "master" / "master.v002.json"
    other.write_text("{", encoding="utf-8")
    with pytest.raises(PublishError, match="v002 is the newest"):
        publish(candidate)
    with pytest.raises(PublishError, match="cannot be tried against the current master"):
        candidate_from(open_session(folder), "A", "ada")
    assert candidate_from(open_session(folder), "A", "ada", despite_breaks=True).version == 3


def test_a_master_that_was_edited_in_place_is_another(folder: Path) -> None:
    candidate = candidate_from(open_session(folder), "A", "ada")
    master = folder / "master" / "master.v001.yaml"
    text = master.read_text(encoding="utf-8")
    master.write_text(text.replace("azimuth: 130", "azimuth: 131"), encoding="utf-8")
    with pytest.raises(PublishError, match="master v001, which it was tried against, has changed since"):
        publish(candidate)
    master.write_text(text + "\n# a remark changes no value\n", encoding="utf-8")
    assert publish(candidate).name == "master.v002.yaml"


def test_the_first_master_is_tried_against_none(make_sequence: MakeSequence) -> None:
    folder = make_sequence(shots={"A": LIGHT})
    first, second = (candidate_from(open_session(folder), "A", who) for who in ("ada", "ben"))
    assert first.tried_text == "the first"
    publish(first)
    with pytest.raises(PublishError, match="it was the first, and now v001 is the newest"):
        publish(second)


class TestWithoutHardLinks:
    @pytest.fixture(autouse=True)
    def _none(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(os, "link", no_links)

    def test_a_file_is_never_written_over(self, tmp_path: Path) -> None:
        path = tmp_path / "one"
        write_new({path: "first"})
        with pytest.raises(WriteError, match="File exists"):
            write_new({path: "second"})
        assert path.read_text("utf-8") == "first"
        assert [one.name for one in tmp_path.iterdir()] == ["one"]

    def test_nor_is_a_link_to_nothing(self, tmp_path: Path) -> None:
        path = tmp_path / "one"
        path.symlink_to(tmp_path / "nothing")
        with pytest.raises(WriteError, match="File exists"):
            write_new({path: "second"})
        assert path.is_symlink() and not path.exists()

    def test_one_that_was_stopped_leaves_a_claim_that_is_named(self, tmp_path: Path) -> None:
        path, claim = tmp_path / "one", tmp_path / ".one.claim"
        claim.touch()
        with pytest.raises(WriteError, match=r"remove \.one\.claim beside it"):
            write_new({path: "first"})
        assert not path.exists() and claim.exists()
        claim.unlink()
        write_new({path: "first"})
        assert [one.name for one in tmp_path.iterdir()] == ["one"]

    def test_a_claim_goes_where_the_write_fails(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def full(*_: object) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        monkeypatch.setattr(Path, "rename", full)
        with pytest.raises(WriteError, match="No space"):
            write_new({tmp_path / "one": "first"})
        assert list(tmp_path.iterdir()) == []
