"""YAML and JSON text as plain trees: what is read, and what is wrong with what is not."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sheets.building import DEEPEST, LARGEST_TREE
from samelight.sheets.errors import SheetError
from samelight.sheets.trees import parse_document
from sheets.sheet_help import JSON, YAML, tree_fault, tree_of

BOTH = pytest.mark.parametrize("path", [YAML, JSON], ids=["yaml", "json"])


class TestWhatIsRead:
    def test_plain_values(self) -> None:
        text = "a: 010\nb: 1e-5\nc: 12:30\nd: yes\ne: ~\nf:\ng: 'yes'\nh: \"1\\u00e9\"\ni: [1, two, 3.0]\n"
        assert tree_of(text) == {
            "a": 10,
            "b": 1e-5,
            "c": "12:30",
            "d": True,
            "e": None,
            "f": None,
            "g": "yes",
            "h": "1é",
            "i": [1, "two", 3.0],
        }

    def test_keys_are_text(self) -> None:
        text = ["on: 1\noff: 2\nyes: 3\n010: 4\n1.0: 5\n~: 6\nnull: 7\n2026-09-14: 8\n12:30: 9", "'': x"][0]
        assert list(tree_of(text)) == ["on", "off", "yes", "010", "1.0", "~", "null", "2026-09-14", "12:30"]

    def test_the_order_of_keys_stays(self) -> None:
        assert list(tree_of("z: 1\na: 2\nm: 3")) == ["z", "a", "m"]

    def test_blocks_of_text(self) -> None:
        assert tree_of("a: |\n  one\n  two\nb: >-\n  one\n  two\n") == {"a": "one\ntwo\n", "b": "one two"}

    def test_a_tag_that_says_text_makes_it_text(self) -> None:
        assert tree_of("a: !!str 010\n!!str c: 1\nd: !!map {x: 1}\ne: !!seq [1]") == {
            "a": "010",
            "c": 1,
            "d": {"x": 1},
            "e": [1],
        }

    def test_aliases_stand_for_what_they_name(self) -> None:
        text = "a: &far {range: 3.5 m}\nb: *far\nc: &n 3\nd: [*n, *n]\n&k e: 1\nf: *k"
        assert tree_of(text) == {
            "a": {"range": "3.5 m"},
            "b": {"range": "3.5 m"},
            "c": 3,
            "d": [3, 3],
            "e": 1,
            "f": "e",
        }

    def test_an_anchor_may_be_used_again(self) -> None:
        assert tree_of("a: &x 1\nb: *x\nc: &x 2\nd: *x") == {"a": 1, "b": 1, "c": 2, "d": 2}

    def test_mappings_merge_and_what_stands_there_wins(self) -> None:
        text = "base: &b {x: 1, y: 2}\nmore: &m {y: 3, z: 4}\nsun: {<<: [*b, *m], x: 9}\nrim: {<<: *b}"
        tree = tree_of(text)
        assert tree["sun"] == {"x": 9, "y": 2, "z": 4}
        assert tree["rim"] == {"x": 1, "y": 2}

    def test_a_quoted_merge_key_is_a_key(self) -> None:
        assert tree_of('"<<": {a: 1}') == {"<<": {"a": 1}}

    @pytest.mark.parametrize("text", ["5", "[1, 2]", "~", "---", "--- # nothing\n..."])
    def test_a_root_may_be_anything_for_whoever_reads_on(self, text: str) -> None:
        assert tree_of(text) in (5, [1, 2], None)

    def test_json(self) -> None:
        text = '{"a": 10, "b": 1e-5, "c": [true, null, "yes"], "d": "\\ud83d\\ude00", "<<": {"e": 1.0}}'
        assert tree_of(text, JSON) == {
            "a": 10,
            "b": 1e-5,
            "c": [True, None, "yes"],
            "d": "😀",
            "<<": {"e": 1.0},
        }

    def test_windows_line_ends(self) -> None:
        assert tree_of("a: 1\r\nb: [1,\r\n  2]\r\n") == {"a": 1, "b": [1, 2]}
        assert tree_of('{"a": 1,\r\n"b": 2}\r\n', JSON) == {"a": 1, "b": 2}


class TestKeys:
    @BOTH
    def test_equal_keys_are_a_fault_that_names_both_lines(self, path: Path) -> None:
        text = '{"sun": {"samples": 64,\n"cone": 3,\n"samples": 32}}'
        fault = tree_fault(text, path)
        assert (fault.path, fault.line, fault.column) == ("sun.samples", 3, 1)
        assert (fault.expected, fault.found) == ("each key once", "a second one, after line 1")

    def test_block_mappings_as_well(self) -> None:
        fault = tree_fault("lights:\n  sun:\n    cone: 30\n    samples: 64\n    cone: 32\n")
        assert (
            str(fault)
            == "quay.yaml:5:5: lights.sun.cone: expected each key once, found a second one, after line 3"
        )

    def test_a_key_in_other_quotes_is_the_same_key(self) -> None:
        assert tree_fault("a: 1\n'a': 2").line == 2

    def test_keys_that_differ_only_as_numbers_are_two_keys(self) -> None:
        assert tree_of("1: a\n01: b\n1.0: c") == {"1": "a", "01": "b", "1.0": "c"}

    @pytest.mark.parametrize(
        ("text", "found", "column"),
        [
            ("? [1, 2]\n: 3", "a list or a group", 3),
            ("? {a: 1}\n: 3", "a list or a group", 3),
            ("a: &x 1\n? *x\n: 3", "an alias", 3),
            ("'': 3", "an empty one", 1),
        ],
    )
    def test_a_key_is_a_name(self, text: str, found: str, column: int) -> None:
        fault = tree_fault(text)
        assert (fault.expected, fault.found, fault.column) == ("a name as key", found, column)

    def test_an_empty_key_in_json(self) -> None:
        fault = tree_fault('{"a": {"": 1}}', JSON)
        assert (fault.path, fault.expected, fault.found, fault.column) == (
            "a",
            "a name as key",
            "an empty one",
            8,
        )

    @pytest.mark.parametrize(
        ("text", "place"),
        [("a: {<<: 3}", "a.<<"), ("a: {<<: [{b: 1}, 3]}", "a.<<"), ("a: {<<: [[1]]}", "a.<<")],
    )
    def test_only_mappings_merge(self, text: str, place: str) -> None:
        fault = tree_fault(text)
        assert (fault.path, fault.expected) == (place, "a group to merge")


class TestNumbers:
    @BOTH
    @pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e400", "9" * 400, "9" * 5000])
    def test_what_is_not_finite(self, path: Path, number: str) -> None:
        fault = tree_fault(f'{{"a": 1,\n "b": [2, {number}]}}', path)
        assert (fault.path, fault.line) == ("b[1]", 2)
        assert fault.expected == "a finite number, or text in quotes"
        assert fault.found.startswith(f"'{number[:50]}")

    def test_all_of_them_and_equal_keys_are_told_together(self) -> None:
        for path in (YAML, JSON):
            with pytest.raises(SheetError) as caught:
                parse_document(path, '{"a": NaN,\n"b": 1,\n"b": Infinity,\n"c": 1e999}').faults.raise_if_any()
            assert [(fault.line, fault.path) for fault in caught.value.faults] == [
                (1, "a"),
                (3, "b"),
                (4, "c"),
            ]

    def test_text_that_looks_so_may_be_quoted(self) -> None:
        assert tree_of("a: 'nan'\nb: \".inf\"") == {"a": "nan", "b": ".inf"}


class TestTags:
    @pytest.mark.parametrize(
        ("text", "place", "tag"),
        [
            ("a: !!python/object:os.system {}", "a", "!!python/object:os.system"),
            ("a: !!python/object/apply:os.system [ls]", "a", "!!python/object/apply:os.system"),
            ("a: !!python/name:os.system x", "a", "!!python/name:os.system"),
            ("a: !lamp 3", "a", "!lamp"),
            ("!lamp {a: 1}", "", "!lamp"),
            ("a: !!set {x, y}", "a", "!!set"),
            ("a: !!binary aGk=", "a", "!!binary"),
            ("a: !!int '3'", "a", "!!int"),
            ("a: !!float 3", "a", "!!float"),
            ("!!int 3: x", "3", "!!int"),
            ("a: [1, !lamp [2]]", "a[1]", "!lamp"),
        ],
    )
    def test_are_never_followed(self, text: str, place: str, tag: str) -> None:
        fault = tree_fault(text)
        assert (fault.path, fault.expected, fault.found) == (place, "a value without a tag", f"the tag {tag}")
        assert fault.line == 1


class TestAliases:
    def test_an_alias_without_its_anchor(self) -> None:
        fault = tree_fault("a: 1\nb: *far")
        assert str(fault) == "quay.yaml:2:1: expected an anchor &far above its alias, found *far alone"

    @pytest.mark.parametrize("text", ["a: &x [*x]", "a: &x {b: *x}", "&x {<<: *x}", "a: &x {b: [{c: *x}]}"])
    def test_a_cycle(self, text: str) -> None:
        fault = tree_fault(text)
        assert (fault.expected, fault.found) == ("an alias outside its own anchor", "*x inside it")
        assert fault.line == 1

    def test_aliases_that_grow_out_of_hand(self) -> None:
        rows = ["a0: &a0 [lol, lol, lol, lol, lol, lol, lol, lol, lol, lol]"]
        rows += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 10)]
        fault = tree_fault("\n".join(rows))
        assert fault.expected == f"at most {LARGEST_TREE:,} values"
        assert fault.found == "aliases that expand to more"
        assert fault.line == 6

    def test_merges_that_grow_out_of_hand(self) -> None:
        rows = ["a0: &a0 {" + ", ".join(f"k{n}: {n}" for n in range(100)) + "}"]
        rows += [f"a{n}: &a{n} {{x: *a{n - 1}, y: *a{n - 1}, <<: *a{n - 1}}}" for n in range(1, 30)]
        assert tree_fault("\n".join(rows)).found == "aliases that expand to more"

    def test_an_alias_shares_what_it_stands_for(self) -> None:
        tree = tree_of("a: &x {b: [1]}\nc: *x")
        assert tree["a"] is tree["c"]


class TestDepth:
    def nested(self, depth: int, path: Path) -> str:
        return "[" * depth + "]" * depth if path == JSON else "a: " + "[" * (depth - 1) + "]" * (depth - 1)

    @BOTH
    def test_as_deep_as_it_may_be(self, path: Path) -> None:
        tree = tree_of(self.nested(DEEPEST, path), path)
        for _ in range(DEEPEST - 1):
            (tree,) = tree.values() if isinstance(tree, dict) else tree
        assert tree == []

    @BOTH
    @pytest.mark.parametrize("depth", [DEEPEST + 1, 1000, 100_000, 2_000_000])
    def test_deeper(self, path: Path, depth: int) -> None:
        fault = tree_fault(self.nested(depth, path), path)
        assert (fault.expected, fault.found) == (f"at most {DEEPEST} levels of nesting", "more")
        assert fault.line == 1

    @pytest.mark.parametrize("unit", ["- ", "{a: ", "["])
    @pytest.mark.parametrize("depth", [DEEPEST + 1, 100_000])
    def test_other_ways_to_nest(self, unit: str, depth: int) -> None:
        assert tree_fault(unit * depth).expected == f"at most {DEEPEST} levels of nesting"

    @pytest.mark.parametrize("depth", [DEEPEST + 1, 100_000])
    def test_mappings_as_keys(self, depth: int) -> None:
        with pytest.raises(SheetError) as caught:
            parse_document(YAML, "? " * depth)
        assert f"at most {DEEPEST} levels of nesting" in [fault.expected for fault in caught.value.faults]

    def test_by_indentation(self) -> None:
        text = "".join(" " * depth + "a:\n" for depth in range(500))
        fault = tree_fault(text)
        assert (fault.expected, fault.line) == (f"at most {DEEPEST} levels of nesting", DEEPEST)

    def test_json_objects(self) -> None:
        assert tree_fault('{"a":' * 5000 + "1" + "}" * 5000, JSON).found == "more"

    @BOTH
    def test_too_many_values(self, path: Path) -> None:
        text = "[" + ",".join("0" for _ in range(LARGEST_TREE + 1)) + "]"
        fault = tree_fault(text, path)
        assert (fault.expected, fault.found) == (f"at most {LARGEST_TREE:,} values", "more")


class TestSyntax:
    @pytest.mark.parametrize(
        ("text", "line", "column", "expected", "found"),
        [
            ("a: b: c", 1, 5, "one key: value on a line, or quotes", "a colon where no key can stand"),
            ("a: 1\n  b: 2", 2, 4, "one key: value on a line, or quotes", "a colon where no key can stand"),
            ("a: 1\nlights\nb: 2", 2, 1, "a colon after the key", "none on this line"),
            ("a: [1, 2\nb: 3", 2, 2, "a comma, or the ] of the list", "':'"),
            ("a: [1, 2", 2, 1, "a comma, or the ] of the list", "the end of the file"),
            ("a: {b: 1, c: {d: 2}\n", 2, 1, "a comma, or the } of the mapping", "the end of the file"),
            ("a: {b: 1 c: 2}", 1, 11, "a comma, or the } of the mapping", "':'"),
            ("a: [1,, 2]", 1, 7, "a value", "','"),
            ("a:\n  b: 1\n c: 2", 3, 2, "a key, indented as those above it", "'c:'"),
            ("a:\n - 1\n b: 2", 3, 2, "an item that starts with a dash, as those above it", "'b:'"),
            ("\ta: 1", 1, 1, "spaces to indent with", "a tab"),
            ("a:\n\tb: 1", 2, 1, "spaces to indent with", "a tab"),
            ("a: @b", 1, 4, "quotes around text that starts so", "'@b'"),
            ("a: `b`", 1, 4, "quotes around text that starts so", "'`b`'"),
            ("a: %b", 1, 4, "quotes around text that starts so", "'%b'"),
            ("a: 'b\nc: 1\n", 1, 4, "a closing quote", "the end of the file"),
            ('a: "b\n---\nc: 1', 1, 4, "a closing quote", "the end of the document"),
            ('a: "\\q"', 1, 5, "a backslash followed by n, t, u, a quote or a backslash", "'\\\\q\"'"),
            ('a: "\\uZZ"', 1, 7, "the code of a character after the backslash", "'ZZ\"'"),
            ('a: "\\ud800"', 1, 7, "the code of a character after the backslash", "'d800\"'"),
            ("a: 1\n---\nb: 2", 2, 1, "one document in a file", "a second one, after ---"),
            ("{a: 1}}", 1, 7, "the end of the file", "'}'"),
            ("a: 1\n...\nb", 3, 1, "the end of the file", "'b'"),
            ("%YAML 3.0\n---\na: 1", 1, 1, "YAML 1.1 or 1.2", "another version"),
            ("%LAMP\n---\na: 1", 1, 6, "a key or a value", "a line that starts with %"),
            ("a: \x07", 1, 4, "printable text", "the control character U+0007"),
            ("a: 1\nb: x\x1by", 2, 5, "printable text", "the control character U+001B"),
        ],
    )
    def test_of_yaml(self, text: str, line: int, column: int, expected: str, found: str) -> None:
        fault = tree_fault(text)
        assert (fault.expected, fault.found) == (expected, found)
        assert (fault.line, fault.column) == (line, column)

    @pytest.mark.parametrize(
        ("text", "line", "column", "expected", "found"),
        [
            ('{"a": }', 1, 7, "a value", "'}'"),
            ("{'a': 1}", 1, 2, "a key in double quotes", "\"'a':\""),
            ("{a: 1}", 1, 2, "a key in double quotes", "'a:'"),
            ('{"a" 1}', 1, 6, "a colon after the key", "'1}'"),
            ('{"a": 1\n"b": 2}', 2, 1, "a comma, or the closing bracket", "'\"b\":'"),
            ('{"a": 010}', 1, 8, "a comma, or the closing bracket", "'10}'"),
            ("[1, 2", 1, 6, "a comma, or the closing bracket", "the end of the file"),
            ('{"a": 1} x', 1, 10, "the end of the file", "'x'"),
            ('{"a": "b', 1, 7, "a closing quote", "the end of the file"),
            ('{"a": "b\tc"}', 1, 9, "text without line breaks and tabs", "one inside the quotes"),
            (
                '{"a": "\\q"}',
                1,
                8,
                "a backslash followed by n, t, u and four digits, a quote or a backslash",
                None,
            ),
            ("// lights\n{}", 1, 1, "a value", "'//'"),
            ("nul", 1, 1, "a value", "'nul'"),
        ],
    )
    def test_of_json(self, text: str, line: int, column: int, expected: str, found: str | None) -> None:
        fault = tree_fault(text, JSON)
        assert fault.expected == expected
        assert found is None or fault.found == found
        assert (fault.line, fault.column) == (line, column)

    def test_json_that_is_odd_before_it_is_malformed(self) -> None:
        fault = tree_fault('{"a": 1, "a": 2, "b" 3}', JSON)
        assert (fault.expected, fault.line) == ("a colon after the key", 1)

    @pytest.mark.parametrize("depth", [DEEPEST + 1, 5000, 2_000_000])
    @pytest.mark.parametrize("start", ["", '{"a": 1, "b": '])
    def test_json_that_is_deep_before_it_is_malformed(self, depth: int, start: str) -> None:
        assert tree_fault(start + "[" * depth, JSON).expected == f"at most {DEEPEST} levels of nesting"

    def test_json_that_is_malformed_before_it_is_deep(self) -> None:
        assert (
            tree_fault('{"a": [1 2], "b": ' + "[" * 5000, JSON).expected == "a comma, or the closing bracket"
        )
        assert tree_fault('{"a" "[[[[' + "[" * 5000, JSON).expected == "a colon after the key"

    @BOTH
    @pytest.mark.parametrize("text", ["", " ", "\n\n", "\t\n"])
    def test_an_empty_file(self, path: Path, text: str) -> None:
        fault = tree_fault(text, path)
        assert (fault.expected, fault.found, fault.line) == ("keys and values", "an empty file", None)

    @pytest.mark.parametrize("text", ["# only\n# comments\n", "\n# x", "# x\n\n\n"])
    def test_only_comments(self, text: str) -> None:
        fault = tree_fault(text)
        assert (fault.expected, fault.found) == ("keys and values", "a file with nothing but comments")

    def test_faults_before_the_malformed_part_are_told_too(self) -> None:
        with pytest.raises(SheetError) as caught:
            parse_document(YAML, "a: 1\na: 2\nb: .nan\nc: [1\n")
        assert [fault.line for fault in caught.value.faults] == [2, 3, 5]

    def test_half_a_character_of_json(self) -> None:
        for text in ('{"a": {"b": "\\ud83d"}}', '{"a": {"b": "\\ude00x"}}'):
            fault = tree_fault(text, JSON)
            assert (fault.path, fault.expected) == ("a.b", "whole characters")
        assert tree_fault('{"\\ud83d": 1}', JSON).expected == "a name as key"

    def test_half_a_character_of_a_caller(self) -> None:
        assert tree_fault("a: \ud83d").expected == "whole characters"


class TestWhereThingsStand:
    TEXT = 'samelight: 2\nlights:\n  sun: {cone: 030, links: [a,\n    "b"]}\n  rim:\n    cone: ~\n'

    @pytest.mark.parametrize(
        ("place", "position"),
        [
            ((), (1, 1)),
            (("lights",), (2, 1)),
            (("lights", "sun"), (3, 3)),
            (("lights", "sun", "cone"), (3, 9)),
            (("lights", "sun", "links", 0), (3, 28)),
            (("lights", "sun", "links", 1), (4, 5)),
            (("lights", "rim", "cone"), (6, 5)),
            (("lights", "rim", "color", 2), (5, 3)),
            (("lights", "fill"), (2, 1)),
            (("notes",), (1, 1)),
        ],
    )
    def test_a_fault_points_at_a_key_an_item_or_the_nearest_above(
        self, place: tuple[int | str, ...], position: tuple[int, int]
    ) -> None:
        document = parse_document(YAML, self.TEXT)
        document.faults.add(place, "x", 1)
        with pytest.raises(SheetError) as caught:
            document.faults.raise_if_any()
        (fault,) = caught.value.faults
        assert (fault.line, fault.column) == position

    def test_what_was_written(self) -> None:
        written = parse_document(YAML, self.TEXT).written
        assert written(("lights", "sun", "cone")) == "030"
        assert written(("lights", "sun", "links", 1)) == "b"
        assert written(("lights", "sun")) is None
        assert written(("lights", "moon")) is None

    def test_in_json(self) -> None:
        document = parse_document(
            JSON, '{\n  "lights": {"sun": {"cone": 3.50, "links": ["a{", "b"]}},\n "x": "é😀", "y": 1}'
        )
        assert document.written(("lights", "sun", "cone")) == "3.50"
        document.faults.add(("lights", "sun", "links", 1), "x", 1)
        document.faults.add(("y",), "x", 1)
        with pytest.raises(SheetError) as caught:
            document.faults.raise_if_any()
        assert [(fault.line, fault.column) for fault in caught.value.faults] == [(2, 52), (3, 13)]

    def test_an_alias_is_where_it_is_used(self) -> None:
        document = parse_document(YAML, "a: &x {b: 1}\nc: *x\n")
        document.faults.add(("c", "b"), "x", 1)
        with pytest.raises(SheetError, match=r":2:1: c\.b"):
            document.faults.raise_if_any()

    def test_of_equal_keys_the_first_counts(self) -> None:
        document = parse_document(YAML, "a: {b: 1}\na: {b: 2}\n")
        assert document.data == {"a": {"b": 1}}
        assert document.written(("a", "b")) == "1"


TREES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**20), 10**20)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"]), min_size=1), inner, max_size=4)
    ),
    max_leaves=20,
)


@given(TREES, st.sampled_from([None, 1, 4]), st.booleans())
def test_json_is_read_as_python_reads_it(tree: Any, indent: int | None, ascii_only: bool) -> None:
    text = json.dumps(tree, indent=indent, ensure_ascii=ascii_only)
    read = tree_of(text, JSON)
    assert read == tree
    assert repr(read) == repr(tree)


@given(TREES, st.sampled_from([None, 1]))
def test_every_place_of_json_is_found(tree: Any, indent: int | None) -> None:
    text = json.dumps(tree, indent=indent, ensure_ascii=False)
    document = parse_document(JSON, text)

    def check(value: Any, place: tuple[int | str, ...]) -> None:
        written = document.written(place)
        if isinstance(value, dict | list):
            assert written is None
            for step, item in value.items() if isinstance(value, dict) else enumerate(value):
                check(item, (*place, step))
        else:
            assert written == (value if isinstance(value, str) else json.dumps(value))

    check(tree, ())
