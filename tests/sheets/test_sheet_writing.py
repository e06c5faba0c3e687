"""What is written is read back as it was, by this program and by any reader of YAML 1.1; and files are written whole."""

import errno
import itertools
import json
import os
import stat
import threading
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.sheets import writing
from samelight.sheets.errors import SamelightError
from samelight.sheets.resources import sample_sequence
from samelight.sheets.trees import parse_document, read_document
from samelight.sheets.writing import WriteError, json_text, write_new, write_sheet, write_whole, yaml_text
from sheets.sheet_help import JSON, YAML, tree_of
from thoroughness import examples

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
WORDS = """
    1e3 010 yes no On 12:30 ~ null << = y N 0x1F 0o17 1_000 .inf nan NaN 1e400 2026-09-14 &a *a !a %a @a `a | > ' " \\
    é 日本 😀 --- ... {a} [a] a,b a: :a # *
"""
AWKWARD = st.sampled_from(
    [
        *WORDS.split(),
        *(
            "",
            " ",
            "a: b",
            "a #b",
            "- a",
            "? a",
            "- ",
            "true ",
            "3.5 m",
            "a" * 5000,
            "\n",
            "a\nb",
            "a\n",
            "\na",
        ),
        *("\t", "\r", "\x85", "\u2028", "\u2029", "\ufeff", "\0", "\x1b", "\xa0"),
    ]
)
ANY_TEXT = TEXT | AWKWARD
NUMBER = (
    st.integers(-(10**300), 10**300)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.sampled_from([1e-5, 5e-324, 1e-300, 1e16, 1.5e300, -0.0, 0.1])
)
TREES = st.dictionaries(
    ANY_TEXT.filter(bool),
    st.recursive(
        st.none() | st.booleans() | NUMBER | ANY_TEXT,
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(ANY_TEXT.filter(bool), inner, max_size=4),
        max_leaves=15,
    ),
    max_size=5,
)


USUAL = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E)) | st.text(
    "abc -:#?,[]{}&*!|>'\"%@`~01.eE+\\/_=<"
)
NAME = USUAL.filter(lambda text: 0 < len(text) <= 40)
USUAL_TREES = st.dictionaries(
    NAME,
    st.recursive(
        st.none() | st.booleans() | NUMBER | USUAL,
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(NAME, inner, max_size=4),
        max_leaves=15,
    ),
    max_size=5,
)


class TestRoundTrips:
    @given(TREES)
    def test_yaml(self, tree: dict[str, Any]) -> None:
        read = tree_of(yaml_text(tree)) if tree else {}
        assert read == tree
        assert repr(read) == repr(tree)

    @given(TREES)
    def test_json(self, tree: dict[str, Any]) -> None:
        assert repr(tree_of(json_text(tree), JSON)) == repr(tree)

    @given(TREES)
    def test_yaml_by_a_reader_of_yaml_1_1(self, tree: dict[str, Any]) -> None:
        # The pure Python reader of PyYAML; what it refuses are characters that YAML 1.1 does not know.
        assert repr(yaml.load(yaml_text(tree), yaml.SafeLoader)) == repr(tree)

    @given(st.dictionaries(ANY_TEXT.filter(bool), ANY_TEXT, min_size=1, max_size=3))
    def test_text_alone(self, tree: dict[str, str]) -> None:
        assert tree_of(yaml_text({"a": tree, "b": list(tree)})) == {"a": tree, "b": list(tree)}

    @pytest.mark.parametrize(
        "path", sorted(sample_sequence("harbour").glob("**/*.yaml")), ids=lambda p: p.name
    )
    def test_every_sample(self, path: Path) -> None:
        tree = read_document(path).data
        assert tree_of(yaml_text(tree)) == tree
        assert tree_of(json_text(tree), JSON) == tree

    @pytest.mark.parametrize(
        "number", [1e-5, 1e-300, 5e-324, 1e16, 1.7976931348623157e308, -0.0, 64.0, 64, 10**20]
    )
    def test_numbers_keep_their_type_for_everyone(self, number: float) -> None:
        text = yaml_text({"a": number})
        for read in (tree_of(text)["a"], yaml.load(text, yaml.SafeLoader)["a"]):
            assert repr(read) == repr(number)


class TestTheQuickWay:
    """What libyaml writes is to the letter what PyYAML's own emitter writes, or is not taken."""

    @staticmethod
    def assert_alike(tree: dict[str, Any]) -> None:
        assert yaml_text(tree) == writing.written_by(writing.Dumper, tree)

    @settings(max_examples=examples(400))
    @given(TREES | USUAL_TREES)
    def test_any_tree(self, tree: dict[str, Any]) -> None:
        self.assert_alike(tree)

    @settings(max_examples=examples(200))
    @given(USUAL_TREES)
    def test_usual_text_goes_the_quick_way(self, tree: dict[str, Any]) -> None:
        assert writing.written_by(writing.QuickDumper, tree) == yaml_text(tree)

    @pytest.mark.parametrize("letter", ["a", " ", ":", "'", "é", "日", "😀"])
    def test_names_of_every_length(self, letter: str) -> None:
        for length in range(1, 140):
            name = letter * length
            self.assert_alike({name: 1, "lights": {name: {name: [name, 0.5]}}, "links": [name]})

    def test_every_character(self) -> None:
        named_by_a_rule = (range(0x20, 0x800), range(0x2000, 0x2100), range(0xFE00, 0xFF00))
        others = (range(0x800, 0x2000, 23), range(0x2100, 0xD800, 23), range(0xE000, 0x10000, 7), [0x1F600])
        for code in itertools.chain(*named_by_a_rule, *others):
            one = chr(code)
            self.assert_alike({"a": [one, f"a{one}", f"{one}a", f"a {one} b"]})

    @given(st.one_of(TREES, USUAL_TREES))
    def test_a_tree_is_its_items_one_after_the_other(self, tree: dict[str, Any]) -> None:
        if tree:
            assert yaml_text(tree) == "".join(yaml_text({key: value}) for key, value in tree.items())


class TestForm:
    def test_a_light_stays_on_a_line(self) -> None:
        tree = {
            "samelight": 2,
            "units": {"length": "cm"},
            "lights": {"sun": {"type": "distant", "links": ["*"]}, "rim": None},
            "remarks": [],
            "cost": {},
        }
        assert yaml_text(tree) == (
            "samelight: 2\n"
            "units: {length: cm}\n"
            "lights:\n"
            "  sun: {type: distant, links: ['*']}\n"
            "  rim: null\n"
            "remarks: []\n"
            "cost: {}\n"
        )

    def test_a_long_line_is_not_broken(self) -> None:
        text = yaml_text({"lights": {"sun": {f"parameter_{n}": n for n in range(200)}}})
        assert text.count("\n") == 2

    def test_what_looks_like_something_else_is_quoted(self) -> None:
        text = yaml_text({"a": ["1e3", "010", "yes", "12:30", "~", "<<", "n", "sun"]})
        assert text == "a: ['1e3', '010', 'yes', '12:30', '~', '<<', 'n', sun]\n"

    def test_umlauts_stay_readable(self) -> None:
        assert yaml_text({"notes": "Môle, 24°"}) == "notes: Môle, 24°\n"

    def test_the_same_list_twice_is_no_alias(self) -> None:
        links = ["/set/nets"]
        assert yaml_text({"a": links, "b": links}) == "a: [/set/nets]\nb: [/set/nets]\n"

    def test_json_is_laid_out_in_lines(self) -> None:
        assert json_text({"a": [1, "é"]}) == '{\n  "a": [\n    1,\n    "é"\n  ]\n}\n'

    @pytest.mark.parametrize(
        "value",
        [float("nan"), float("inf"), {1, 2}, b"x", object(), np.float64(3), np.array([1]), 1j, Path("a")],
    )
    def test_what_is_no_plain_data_is_refused(self, value: Any) -> None:
        with pytest.raises(ValueError, match="cannot be written"):
            yaml_text({"a": [value]})
        with pytest.raises((TypeError, ValueError)):
            json_text({"a": [value if not isinstance(value, np.float64) else object()]})


class TestWritingWhole:
    def test_a_new_file_in_a_new_folder(self, tmp_path: Path) -> None:
        path = tmp_path / "shots" / "HB_010" / "HB_010.v001.yaml"
        write_whole(path, "é\n")
        assert path.read_bytes() == b"\xc3\xa9\n"
        assert [entry.name for entry in path.parent.iterdir()] == [path.name]

    def test_a_file_is_replaced(self, tmp_path: Path) -> None:
        path = tmp_path / "a.yaml"
        path.write_text("old")
        write_whole(path, "new")
        assert path.read_text() == "new"

    def test_a_file_is_not_replaced_where_that_is_not_wanted(self, tmp_path: Path) -> None:
        path = tmp_path / "a.yaml"
        path.write_text("old")
        with pytest.raises(WriteError, match="could not be written: File exists"):
            write_whole(path, "new", overwrite=False)
        assert path.read_text() == "old"
        assert list(tmp_path.iterdir()) == [path]

    def test_of_many_writers_one_is_first(self, tmp_path: Path) -> None:
        path = tmp_path / "a.yaml"
        outcomes: list[int | None] = []

        def write(number: int) -> None:
            try:
                write_whole(path, str(number), overwrite=False)
                outcomes.append(number)
            except WriteError:
                outcomes.append(None)

        threads = [threading.Thread(target=write, args=(number,)) for number in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        (winner,) = [number for number in outcomes if number is not None]
        assert path.read_text() == str(winner)

    def test_without_hard_links(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def refuse(*args: Any, **kwargs: Any) -> None:
            raise OSError(errno.EPERM, "Operation not permitted")

        monkeypatch.setattr(os, "link", refuse)
        path = tmp_path / "a.yaml"
        write_whole(path, "new", overwrite=False)
        assert path.read_text() == "new"
        with pytest.raises(WriteError, match="File exists"):
            write_whole(path, "newer", overwrite=False)
        assert path.read_text() == "new"
        assert list(tmp_path.iterdir()) == [path]

    def test_a_disk_that_is_full_leaves_the_old_file(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fail(handle: int) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        path = tmp_path / "a.yaml"
        path.write_text("old")
        monkeypatch.setattr(os, "fsync", fail)
        with pytest.raises(WriteError, match=r"a\.yaml: could not be written: No space left on device"):
            write_whole(path, "new")
        assert path.read_text() == "old"
        assert list(tmp_path.iterdir()) == [path]

    def test_a_folder_that_cannot_be_synced_does_not_matter(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def refuse(*args: Any, **kwargs: Any) -> None:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

        # Only the folder is opened by its descriptor.
        monkeypatch.setattr(os, "open", refuse)
        write_whole(tmp_path / "a.yaml", "new")
        assert (tmp_path / "a.yaml").read_text() == "new"

    def test_a_reader_never_sees_a_part(self, tmp_path: Path) -> None:
        path, done, seen = tmp_path / "a.yaml", threading.Event(), set()
        write_whole(path, "0" * 100_000)

        def read() -> None:
            while not done.is_set():
                text = path.read_text()
                seen.add((len(text), text[:1], text[-1:]))

        reader = threading.Thread(target=read)
        reader.start()
        for number in range(1, 30):
            write_whole(path, str(number % 10) * 100_000)
        done.set()
        reader.join()
        assert {size for size, _, _ in seen} == {100_000}
        assert all(first == last for _, first, last in seen)

    @pytest.mark.skipif(os.name != "posix", reason="permissions of this form are POSIX's")
    def test_permissions_stay(self, tmp_path: Path) -> None:
        path = tmp_path / "a.yaml"
        path.write_text("old")
        path.chmod(0o664)
        write_whole(path, "new")
        assert stat.S_IMODE(path.stat().st_mode) == 0o664

    def test_a_link_stays_a_link(self, tmp_path: Path) -> None:
        target, link = tmp_path / "published" / "a.yaml", tmp_path / "a.yaml"
        target.parent.mkdir()
        target.write_text("old")
        link.symlink_to(target)
        write_whole(link, "new")
        assert link.is_symlink()
        assert target.read_text() == "new"

    @pytest.mark.parametrize("name", ["a\0b.yaml", "x" * 5000 + ".yaml", "y" * 250 + ".yaml"])
    def test_awkward_names(self, tmp_path: Path, name: str) -> None:
        try:
            write_whole(tmp_path / name, "new")
        except WriteError as error:
            assert "could not be written" in str(error)
        else:
            assert (tmp_path / name).read_text() == "new"

    def test_a_file_where_a_folder_should_be(self, tmp_path: Path) -> None:
        (tmp_path / "a").write_text("x")
        with pytest.raises(WriteError, match="could not be written"):
            write_whole(tmp_path / "a" / "b.yaml", "new")

    def test_a_folder_where_a_file_should_be(self, tmp_path: Path) -> None:
        (tmp_path / "a.yaml").mkdir()
        with pytest.raises(WriteError, match="could not be written"):
            write_whole(tmp_path / "a.yaml", "new")
        assert [entry.name for entry in tmp_path.iterdir()] == ["a.yaml"]

    @pytest.mark.parametrize("path", [Path(), Path("/")], ids=["here", "root"])
    def test_a_folder_without_a_name(self, path: Path) -> None:
        with pytest.raises(WriteError, match="it is a folder"):
            write_whole(path, "new")

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
    @pytest.mark.parametrize("overwrite", [True, False])
    @pytest.mark.parametrize("linked", [True, False])
    def test_a_pipe_is_not_done_away_with(self, tmp_path: Path, overwrite: bool, linked: bool) -> None:
        pipe, link = tmp_path / "pipe", tmp_path / "link"
        os.mkfifo(pipe)
        link.symlink_to(pipe)
        with pytest.raises(WriteError, match="it is a pipe or a device"):
            write_whole(link if linked else pipe, "new", overwrite=overwrite)
        assert stat.S_ISFIFO(pipe.stat().st_mode)
        assert sorted(entry.name for entry in tmp_path.iterdir()) == ["link", "pipe"]

    def test_text_that_is_not_whole(self, tmp_path: Path) -> None:
        with pytest.raises(WriteError, match="half of a character"):
            write_whole(tmp_path / "a.yaml", "\ud83d")
        assert list(tmp_path.iterdir()) == []

    def test_its_error_is_for_the_user(self) -> None:
        assert issubclass(WriteError, SamelightError)


@pytest.mark.parametrize("count", [1, 3, 40])
class TestWritingSeveralNewFiles:
    """A few are written one after the other, many at once."""

    def contents(self, folder: Path, count: int) -> dict[Path, str]:
        return {folder / f"{number:03d}.yaml": f"number: {number}\n" for number in range(count)}

    def test_all_of_them_are_there(self, tmp_path: Path, count: int) -> None:
        contents = self.contents(tmp_path / "new" / "folder", count)
        write_new(contents)
        assert {path: path.read_text() for path in (tmp_path / "new" / "folder").iterdir()} == contents

    def test_each_is_synced_before_any_is_seen_and_the_folder_after_all(
        self, tmp_path: Path, count: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        contents, synced = self.contents(tmp_path, count), []
        real = os.fsync

        def noting(handle: int) -> None:
            named = sum(path.exists() for path in contents)
            synced.append(("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file", named))
            real(handle)

        monkeypatch.setattr(os, "fsync", noting)
        write_new(contents)
        assert synced == [*[("file", 0)] * count, ("folder", count)]

    @pytest.mark.parametrize("broken", ["fsync", "link"])
    def test_where_one_cannot_be_written_none_is_there(
        self, tmp_path: Path, count: int, broken: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "before.yaml").write_text("old")
        calls: list[Any] = []
        real = getattr(os, broken)

        def full(*args: Any, **more: Any) -> Any:
            calls.append(args)
            if len(calls) > count // 2:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return real(*args, **more)

        monkeypatch.setattr(os, broken, full)
        monkeypatch.setattr(Path, "rename", full)
        with pytest.raises(WriteError, match=r"\.yaml: could not be written: No space left on device"):
            write_new(self.contents(tmp_path, count))
        assert [path.name for path in tmp_path.iterdir()] == ["before.yaml"]

    def test_what_was_there_stays_as_it_was(self, tmp_path: Path, count: int) -> None:
        contents = self.contents(tmp_path, count)
        last = list(contents)[-1]
        last.write_text("old")
        with pytest.raises(WriteError, match=f"{last.name}: could not be written: File exists"):
            write_new(contents)
        assert [path.name for path in tmp_path.iterdir()] == [last.name]
        assert last.read_text() == "old"

    def test_text_that_is_not_whole(self, tmp_path: Path, count: int) -> None:
        contents = self.contents(tmp_path, count)
        contents[list(contents)[-1]] = "\ud83d"
        with pytest.raises(WriteError, match="half of a character"):
            write_new(contents)
        assert list(tmp_path.iterdir()) == []


SHEET = {"samelight": 2, "shot": "010", "lights": {"sun": {"intensity": 1e-5}}}


class TestWritingSheets:
    @pytest.mark.parametrize("name", ["a.yaml", "a.yml", "a.json", "a.JSON"])
    def test_by_the_ending(self, tmp_path: Path, name: str) -> None:
        path = tmp_path / name
        write_sheet(path, SHEET)
        assert read_document(path).data == SHEET
        is_json = path.read_text().startswith("{")
        assert is_json is (path.suffix.lower() == ".json")

    @pytest.mark.parametrize("name", ["a.yaml", "a.json"])
    @pytest.mark.parametrize("value", [float("nan"), object(), {1}])
    def test_what_cannot_be_written_leaves_nothing(self, tmp_path: Path, name: str, value: Any) -> None:
        with pytest.raises(WriteError, match=rf"{name}: could not be written"):
            write_sheet(tmp_path / name, {"a": value})
        assert list(tmp_path.iterdir()) == []

    def test_not_over_another(self, tmp_path: Path) -> None:
        write_sheet(tmp_path / "a.yaml", SHEET)
        with pytest.raises(WriteError, match="File exists"):
            write_sheet(tmp_path / "a.yaml", {}, overwrite=False)


def test_what_python_writes_as_json_is_read(tmp_path: Path) -> None:
    tree = {"samelight": 2, "notes": "é😀\u2028"}
    assert parse_document(JSON, json.dumps(tree)).data == tree
    assert parse_document(YAML, yaml_text(tree)).data == tree
