"""Files that are no sheets: missing, too large, of another encoding. Nothing but SheetError may come of any of them."""

import codecs
import os
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.sheet import read_sheet
from samelight.sheets.trees import LARGEST_FILE, read_document, read_text

TEXT = "samelight: 2\nnotes: Lanterne du môle\n"


def fault_of(path: Path) -> Fault:
    with pytest.raises(SheetError) as caught:
        read_sheet(path)
    assert len(caught.value.faults) == 1, str(caught.value)
    (fault,) = caught.value.faults
    assert fault.file == str(path)
    return fault


Write = Callable[..., Path]
"""Writes a file of these bytes, under a name where one is given."""


@pytest.fixture
def file(tmp_path: Path) -> Write:
    def write(raw: bytes, name: str = "HB_010.v001.yaml") -> Path:
        path = tmp_path / name
        path.write_bytes(raw)
        return path

    return write


@pytest.mark.parametrize(
    "raw",
    [
        TEXT.encode(),
        codecs.BOM_UTF8 + TEXT.encode(),
        TEXT.encode("utf-16"),
        codecs.BOM_UTF16_LE + TEXT.encode("utf-16-le"),
        codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"),
        TEXT.replace("\n", "\r\n").encode(),
    ],
    ids=["utf-8", "utf-8 with mark", "utf-16", "utf-16-le", "utf-16-be", "windows line ends"],
)
def test_encodings_that_are_read(file: Write, raw: bytes) -> None:
    assert read_sheet(file(raw)).typed == {"samelight": 2, "notes": "Lanterne du môle"}


def test_json_with_a_byte_order_mark(file: Write) -> None:
    assert read_document(file(codecs.BOM_UTF8 + b'{"samelight": 2}', "a.json")).data == {"samelight": 2}


def test_latin_1(file: Write) -> None:
    fault = fault_of(file(TEXT.encode("latin-1")))
    assert (fault.expected, fault.found) == ("UTF-8 text", "the byte 0xF4, as in a file of another encoding")
    assert (fault.line, fault.column) == (2, 21)


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-32"])
def test_wide_characters_without_a_mark_that_says_so(file: Write, encoding: str) -> None:
    fault = fault_of(file(("samelight: 2\n").encode(encoding)))
    assert fault.expected == "UTF-8 text"
    assert fault.found == "NUL bytes, as in UTF-16 without a byte order mark"
    assert fault.line is not None


def test_a_nul_byte(file: Write) -> None:
    fault = fault_of(file(b"samelight: 2\nnotes: a\0b\n"))
    assert (fault.found, fault.line) == ("NUL bytes, as in UTF-16 without a byte order mark", 2)


@pytest.mark.parametrize("raw", [b"\xff\xfe\x41", b"\xff\xfe\x00\xd8", b"\xfe\xff\xd8\x00\x00"])
def test_utf_16_that_breaks_off(file: Write, raw: bytes) -> None:
    assert fault_of(file(raw)).expected == "UTF-8 text"


@pytest.mark.parametrize("raw", [b"", b"\n\n", codecs.BOM_UTF8, codecs.BOM_UTF16_LE])
@pytest.mark.parametrize("name", ["a.yaml", "a.json"])
def test_an_empty_file(file: Write, raw: bytes, name: str) -> None:
    fault = fault_of(file(raw, name))
    assert (fault.expected, fault.found) == ("keys and values", "an empty file")


def test_a_file_of_50_megabytes(file: Write) -> None:
    path = file(b"")
    with path.open("wb") as grown:
        grown.truncate(50 * 2**20)
    fault = fault_of(path)
    assert (fault.expected, fault.found) == ("at most 16 MiB", "50.0 MiB")


def test_a_file_as_large_as_it_may_be(file: Write) -> None:
    raw = b"samelight: 2\n#" + b" " * (LARGEST_FILE - 14)
    assert read_sheet(file(raw)).typed == {"samelight": 2}
    assert fault_of(file(raw + b" ")).found == "16.0 MiB"


def test_a_file_that_grows_while_it_is_read_is_not_read_without_end(
    file: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = file(b"samelight: 2\n#" + b" " * (LARGEST_FILE + 100))
    state = path.stat()
    small = os.stat_result((*state[:6], 12, *state[7:]))
    monkeypatch.setattr(Path, "stat", lambda self, **kwargs: small)
    with pytest.raises(SheetError, match=r"expected at most 16 MiB, found 16\.0 MiB"):
        read_text(path)


def test_a_missing_file(tmp_path: Path) -> None:
    fault = fault_of(tmp_path / "HB_010.v001.yaml")
    assert (fault.expected, fault.found) == ("a file that can be read", "no such file")


def test_a_file_in_a_file(file: Write) -> None:
    fault = fault_of(file(b"x") / "HB_010.v001.yaml")
    assert fault.found == "a file where a folder should be"


def test_a_folder(tmp_path: Path) -> None:
    fault = fault_of(tmp_path)
    assert (fault.expected, fault.found) == ("a file", "a folder")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "HB_010.v001.yaml"
    os.mkfifo(path)
    assert fault_of(path).found == "a pipe or a device"


def test_a_file_that_must_not_be_read(file: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    # The user who runs the tests may be allowed everything, so that the refusal itself is made here.
    def refuse(path: Path, *args: Any, **kwargs: Any) -> None:
        raise PermissionError(13, "Permission denied")

    path = file(TEXT.encode())
    monkeypatch.setattr(os, "open", refuse)
    fault = fault_of(path)
    assert (fault.expected, fault.found) == ("a file that can be read", "no permission to read it")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="this user may read every file")
def test_a_file_without_permissions(file: Write) -> None:
    path = file(TEXT.encode())
    path.chmod(0)
    try:
        assert fault_of(path).found == "no permission to read it"
    finally:
        path.chmod(stat.S_IRUSR | stat.S_IWUSR)


def test_other_trouble_of_the_system_is_told_in_its_words(
    file: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(path: Path, *args: Any, **kwargs: Any) -> None:
        raise OSError(5, "Input/output error")

    path = file(TEXT.encode())
    monkeypatch.setattr(os, "open", fail)
    assert fault_of(path).found == "Input/output error"


@pytest.mark.parametrize("name", ["a\0b.yaml", "x" * 5000 + ".yaml"])
def test_a_name_that_no_file_can_have(tmp_path: Path, name: str) -> None:
    assert fault_of(tmp_path / name).line is None


@pytest.mark.parametrize("text", ["5", "[1, 2]", "~", "lights", "'samelight: 2'", "true"])
def test_a_root_that_is_no_mapping(file: Write, text: str) -> None:
    fault = fault_of(file(text.encode()))
    assert fault.expected == "keys and values, samelight: 2 first"
    assert fault.path == ""
    assert (fault.line, fault.column) == (1, 1)


def test_a_second_document(file: Write) -> None:
    fault = fault_of(file(b"samelight: 2\n---\nsamelight: 1\n"))
    assert (fault.expected, fault.found, fault.line) == (
        "one document in a file",
        "a second one, after ---",
        2,
    )


def test_a_link_to_nowhere(tmp_path: Path) -> None:
    path = tmp_path / "HB_010.v001.yaml"
    path.symlink_to(tmp_path / "gone.yaml")
    assert fault_of(path).found == "no such file"


def test_a_link_to_itself(tmp_path: Path) -> None:
    path = tmp_path / "HB_010.v001.yaml"
    path.symlink_to(path)
    assert fault_of(path).expected == "a file that can be read"
