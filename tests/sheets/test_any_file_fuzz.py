"""Three hundred damages, the same every time, to each kind of file that people write: a sentence each, or a sound file."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from samelight.decisions.decision import from_tree
from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.sheets.errors import SheetError
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sequence import read_sequence
from samelight.sheets.sheet import read_sheet
from samelight.sheets.trees import LARGEST_FILE, read_document

TIMES = 300
DEEP = 100_000

SHEET = (sample_sequence("harbour") / "shots/HB_020/HB_020.v002.yaml").read_text(encoding="utf-8")
JSON_SHEET = (sample_sequence("first_steps") / "shots/FS_030/FS_030.v001.json").read_text(encoding="utf-8")
POLICY = (sample_sequence("harbour") / "policy.yaml").read_text(encoding="utf-8")
SEQUENCE = (
    "title: Quay\ncut: [A, B]\nkey_shot: A\npinned: {A: 2}\nlighters: {Ines: [A]}\nunits: {length: cm}\n"
)
DECISION = """samelight_decision: 2
id: 2026-09-14T081530.123456Z-0123456789ab
verb: intend
shot: A
parameter: lights.sun.level
value: {level: 3.2, quantity: relative}
master: {level: 1.6, quantity: relative}
reason: the story wants it
who: lead
when: '2026-09-14T08:15:30Z'
"""


def _sheet(path: Path) -> object:
    return read_sheet(path)


def _policy(path: Path) -> object:
    read_policy(path, Policy())
    return read_policy(path, default_policy())


def _sequence(path: Path) -> object:
    return read_sequence(path.parent)


def _decision(path: Path) -> object:
    document = read_document(path)
    made = from_tree(document.data, document.faults)
    document.faults.raise_if_any()
    return made


KINDS: dict[str, tuple[str, str, Callable[[Path], object]]] = {
    "sheet": ("HB_020.v002.yaml", SHEET, _sheet),
    "sheet in JSON": ("FS_030.v001.json", JSON_SHEET, _sheet),
    "policy": ("policy.yaml", POLICY, _policy),
    "sequence": ("sequence.yaml", SEQUENCE, _sequence),
    "decision": ("2026.yaml", DECISION, _decision),
}

ODD: dict[str, bytes] = {
    "lists without end": b"a: " + b"[" * DEEP,
    "lists inside each other": b"a: " + b"[" * DEEP + b"]" * DEEP,
    "mappings without end": b"{a: " * DEEP,
    "a block without end": b"- " * DEEP + b"a",
    "questions without end": b"? " * DEEP + b"a",
    "a whole number of 5,000 digits": b"a: 1" + b"0" * 5000,
    "one in base 16": b"a: 0x" + b"f" * 5000,
    "one with a point": b"a: 1" + b"0" * 5000 + b".5",
    "one as key": b"1" + b"0" * 5000 + b": 1",
    "an exponent": b"a: 1e99999",
    "aliases that grow": b"a: &a [1,1,1,1,1,1,1,1,1]\n"
    + b"".join(b"%c: &%c [%s]\n" % (98 + n, 98 + n, b",".join([b"*%c" % (97 + n)] * 9)) for n in range(12)),
    "an alias in itself": b"a: &a [*a]",
    "an alias of nothing": b"a: *b",
    "merged groups": b"a: &a {b: 1}\nc: {<<: *a, <<: *a, b: 2}",
    "a merge of nothing": b"<<: 3",
    "a merge that grows": b"a: &a {x: 1}\n" + b"b: {<<: [" + b",".join([b"*a"] * 5000) + b"]}",
    "a tab": b"lights:\n\tsun: {}\n",
    "a tab in a value": b"title: a\tb\n",
    "a byte order mark": b"\xef\xbb\xbf" + b"a: 1\n",
    "one in the middle": b"a: 1\n\xef\xbb\xbfb: 1\n",
    "UTF-16": "a: 1\n".encode("utf-16"),
    "UTF-16 of an odd length": "a: 1\n".encode("utf-16")[:-1],
    "UTF-16 with half a pair": b"\xff\xfea\x00:\x00 \x00\x00\xd8",
    "NUL": b"a: \x00\n",
    "half a pair in escapes": b'a: "\\ud83d"\n',
    "half a pair as bytes": b"a: \xed\xa0\xbd\n",
    "a control character": b"a: \x07\n",
    "a line break of another kind": "a: 1\u2028b: 2\x85c: 3".encode(),
    "a tag": b"a: !!python/object/apply:os.system [ls]\n",
    "a directive": b"%YAML 9.9\n---\na: 1\n",
    "two documents": b"a: 1\n---\nb: 2\n",
    "a text without end": b'a: "' + b"x" * DEEP,
    "comments alone": b"# a\n" * 1000,
}


def _only_sentences(read: Callable[[Path], object], path: Path) -> bool:
    """Whether it is a sound file; where it is none, every fault can be shown on one line."""
    try:
        read(path)
    except SheetError as error:
        assert error.faults
        for fault in error.faults:
            assert fault.expected and fault.found
            assert (fault.expected + fault.found + fault.path).isprintable()
            assert len(str(fault)) < 1500
        return False
    return True


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("odd", ODD)
def test_what_nobody_would_write(tmp_path: Path, kind: str, odd: str) -> None:
    name, _, read = KINDS[kind]
    (tmp_path / name).write_bytes(ODD[odd])
    _only_sentences(read, tmp_path / name)


PLACED = (
    "without end",
    "inside each other",
    "5,000 digits",
    "grow",
    "a tab",
    "NUL",
    "half a pair in",
    "control",
)


@pytest.mark.parametrize("odd", [name for name in ODD if any(part in name for part in PLACED)])
@pytest.mark.parametrize("name", ["a.yaml", "a.json"])
def test_it_is_told_with_its_line(tmp_path: Path, odd: str, name: str) -> None:
    (tmp_path / name).write_bytes(ODD[odd])
    with pytest.raises(SheetError) as caught:
        read_sheet(tmp_path / name)
    assert any(fault.line is not None for fault in caught.value.faults), str(caught.value)


def _mutated(text: str, dice: random.Random) -> bytes:
    raw = bytearray(text.encode())
    for _ in range(dice.randrange(1, 5)):
        at = dice.randrange(len(raw) + 1)
        words = list(re.finditer(rb"[^\s,:\[\]{}\"]+", bytes(raw)))
        word = dice.choice(words) if words else None
        match dice.randrange(7):
            case 0:
                raw[at:at] = bytes(dice.randrange(256) for _ in range(dice.randrange(1, 5)))
            case 1:
                del raw[at : at + dice.randrange(1, 80)]
            case 2:
                del raw[at:]
            case 3 if word:
                raw[word.start() : word.end()] = dice.choice(list(ODD.values()))[:2000]
            case 4 if word:
                raw[word.start() : word.end()] = b""
            case 5:
                raw[at:at] = raw[at : at + dice.randrange(1, 200)] * dice.randrange(1, 4)
            case _ if word:
                new = dice.choice(
                    [b"~", b"{}", b"[]", b"-0,5", b"1e400", b"!!set", b"*a", b"&a", b"<<", b"'", b"x: y"]
                )
                raw[word.start() : word.end()] = new
        if not raw:
            break
    assert len(raw) < LARGEST_FILE
    return bytes(raw)


@pytest.mark.parametrize("kind", KINDS)
def test_three_hundred_damages(tmp_path: Path, kind: str) -> None:
    name, text, read = KINDS[kind]
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    assert _only_sentences(read, path), "the one that is damaged is sound"
    dice = random.Random(20260914)
    sound = 0
    for _ in range(TIMES):
        path.write_bytes(_mutated(text, dice))
        sound += _only_sentences(read, path)
    assert sound < TIMES
