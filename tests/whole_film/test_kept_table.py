"""Tables kept from another day: what is shown is what comparing everything anew would show, whatever changed since."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from film_files import LONG_AGO, SHOTS, sheet_text, shot_file, write, write_film
from samelight.decisions.ledger import open_ledger
from samelight.drift.rows import Entry
from samelight.drift.table import Table
from samelight.sequence import keeping, references, stored_table
from samelight.sequence.contents import Contents, SheetStore, read_contents
from samelight.sequence.references import compare
from samelight.sequence.stored_ledger import KeptDecisions
from samelight.sheets.sheet import Sheet
from thoroughness import examples


@pytest.fixture
def compared(monkeypatch: pytest.MonkeyPatch) -> list[Contents]:
    """What was compared as a whole."""
    found: list[Contents] = []

    def noting(contents: Contents, *others: object) -> references.Comparison:
        found.append(contents)
        return compare(contents, *others)  # type: ignore[arg-type] # whatever the caller asks

    monkeypatch.setattr(references, "compare", noting)
    monkeypatch.setattr(keeping, "compare", noting)
    return found


def opened(film: Path) -> tuple[Contents, Table]:
    """What the program has after opening, and keeps."""
    contents = read_contents(SheetStore(film))
    opened = keeping.first_comparison(contents)
    keep = keeping.keeping(opened, open_ledger(film), KeptDecisions())
    assert keep is not None
    keep()
    return contents, opened.comparison.table


def as_said(table: Table) -> list[object]:
    """Everything in a table, of figures that are no number too, rows and shots by name."""
    lines = [repr(table.line(row)) for row in range(len(table.rows))]
    figures = [repr(np.asarray(array).tolist()) for array in (table.drift, table.severity, table.grade)]
    return [table.shots, table.rows, lines, figures]


def check(film: Path) -> Table:
    """Open it, and hold what came against a comparison of all that is there."""
    contents, table = opened(film)
    assert as_said(table) == as_said(compare(read_contents(SheetStore(film))).table)
    assert set(table.shots) == set(contents.shots)
    return table


def test_nothing_is_compared_where_nothing_changed(film: Path, cache: Path, compared: list[Contents]) -> None:
    first = check(film)
    assert len(compared) == 1
    second = check(film)
    assert len(compared) == 1
    assert as_said(first) == as_said(second)
    assert np_types(first) == np_types(second)


def test_of_a_kept_table_each_entry_is_made_once_when_it_is_asked_for(
    film: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, made = check(film), []

    def making(*stated: object) -> Entry:
        made.append(stated)
        return Entry(*stated)  # type: ignore[arg-type] # as the table has them

    monkeypatch.setattr(stored_table, "Entry", making)
    contents = read_contents(SheetStore(film))
    (kept,) = stored_table.load_tables(contents)
    assert kept is not None and made == []
    table = kept[0]
    assert table.entry(0, 0) == first.entry(0, 0) and len(made) == 1
    assert table.entry(0, 0) is table.entry(0, 0) and list(table.pool) == list(first.pool)
    assert len(made) == len(table.pool) - 1
    with pytest.raises(IndexError):
        table.pool[len(table.pool)]


def np_types(table: Table) -> list[str]:
    return [str(array.dtype) for array in (table.codes, *table.of_entries, table.grade)]


def test_only_the_shot_that_changed_is_compared(film: Path, cache: Path, compared: list[Contents]) -> None:
    check(film)
    compared.clear()
    write(shot_file(film, 3), sheet_text("F_003", 128))
    table = check(film)
    row, column = table.row("lights.sun.samples"), table.column("F_003")
    assert row is not None and column is not None
    entry = table.entry(row, column)
    assert entry is not None and entry.value == 128.0
    assert compared == []


def test_a_new_version_is_a_changed_shot(film: Path, cache: Path, compared: list[Contents]) -> None:
    check(film)
    compared.clear()
    write(film / "shots/F_004/F_004.v002.yaml", sheet_text("F_004", 16).replace("version: 1", "version: 2"))
    check(film)
    assert compared == []


SETUPS = """setups:
  day: {key_shot: F_001, shots: F_000-F_039}
  night: {key_shot: F_041, shots: F_040-F_069, from: day, except: [lights.fill.*]}
follows: {F_068: F_066, F_069: F_066}
"""


@pytest.fixture
def setups(film: Path) -> Path:
    """The film as two set-ups, of which the second comes from the first, and two shots that follow another."""
    text = (film / "sequence.yaml").read_text()
    write(film / "sequence.yaml", text + SETUPS)
    master = film / "master/master.v001.yaml"
    write(film / "master/night.v001.yaml", sheet_text("", 66))
    master.rename(film / "master/day.v001.yaml")
    return film


def masters_differ(film: Path) -> None:
    write(film / "master/day.v002.yaml", sheet_text("", 96).replace("version: 1", "version: 2"))


def own_differs(film: Path) -> None:
    text = sheet_text("", 66).replace("radius: 35", "radius: 45")
    write(film / "master/night.v001.yaml", text, LONG_AGO + 9)


def more_is_its_own(film: Path) -> None:
    text = (film / "sequence.yaml").read_text()
    write(film / "sequence.yaml", text.replace("[lights.fill.*]", "[lights.*]"))


def another_is_followed(film: Path) -> None:
    text = (film / "sequence.yaml").read_text()
    write(film / "sequence.yaml", text.replace("F_069: F_066", "F_069: F_067"))


def the_followed_differs(film: Path) -> None:
    write(shot_file(film, 66), sheet_text("F_066", 128))


def a_key_shot_differs(film: Path) -> None:
    write(shot_file(film, 1), sheet_text("F_001", 64) + "marks: {face: {position: [0.3, 1.6, 0.1]}}\n")


def test_each_setup_is_kept_by_itself(setups: Path, cache: Path, compared: list[Contents]) -> None:
    def names() -> list[str]:
        compared.clear()
        opened(setups)
        return [part.follows or part.name for part in compared if not part.setups]

    assert names() == ["day", "night", "F_066"]
    assert names() == []
    write(shot_file(setups, 3), sheet_text("F_003", 128))
    assert names() == []
    own_differs(setups)
    assert names() == ["night"]
    masters_differ(setups)
    assert names() == ["day", "night"]
    assert names() == []
    check(setups)


@pytest.mark.parametrize(
    "change",
    [
        masters_differ,
        own_differs,
        more_is_its_own,
        another_is_followed,
        the_followed_differs,
        a_key_shot_differs,
    ],
    ids=lambda change: change.__name__,
)
def test_whatever_changed_the_table_of_setups_is_that_of_now(
    setups: Path, cache: Path, change: object
) -> None:
    before = check(setups)
    assert callable(change)
    change(setups)
    assert as_said(check(setups)) != as_said(before)
    check(setups)


def without_a_sheet(film: Path) -> None:
    shot_file(film, 8).unlink()


def at_fault(film: Path) -> None:
    write(shot_file(film, 8), "samelight: 2\nlights: [1\n")


def with_another_light(film: Path) -> None:
    text = sheet_text("F_002", 64)
    write(shot_file(film, 2), text.replace("lights:\n", "lights:\n  rim: {type: spot, intensity: 2}\n"))


def with_another_master(film: Path) -> None:
    write(film / "master/master.v002.yaml", sheet_text("", 96).replace("version: 1", "version: 2"))


def with_the_master_rewritten(film: Path) -> None:
    write(film / "master/master.v001.yaml", sheet_text("", 65), LONG_AGO + 9)


def with_another_policy(film: Path) -> None:
    write(film / "policy.yaml", "samelight_policy: 2\ntolerances: {lights.sun.samples: 5 x}\n")


def with_a_lock(film: Path) -> None:
    write(film / "policy.yaml", "samelight_policy: 2\nlocks: [lights.sun.samples]\n")


def in_another_order(film: Path) -> None:
    text = (film / "sequence.yaml").read_text()
    write(film / "sequence.yaml", text.replace("  - F_000\n", "") + "  - F_000\n")


def with_a_shot_left_out(film: Path) -> None:
    text = (film / "sequence.yaml").read_text()
    write(film / "sequence.yaml", text.replace("  - F_005\n", ""))


def with_a_key_shot(film: Path) -> None:
    text = (film / "sequence.yaml").read_text()
    write(film / "sequence.yaml", text + "key_shot: F_009\n")
    write(shot_file(film, 9), sheet_text("F_009", 64) + "marks: {face: {position: [0.3, 1.6, 0.1]}}\n")


CHANGES = (
    without_a_sheet,
    at_fault,
    with_another_light,
    with_another_master,
    with_the_master_rewritten,
    with_another_policy,
    with_a_lock,
    in_another_order,
    with_a_shot_left_out,
    with_a_key_shot,
)


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_whatever_changed_the_table_is_that_of_now(film: Path, cache: Path, change: object) -> None:
    before = check(film)
    assert callable(change)
    change(film)
    assert as_said(check(film)) != as_said(before)
    check(film)


@settings(
    max_examples=examples(15), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.lists(
        st.lists(st.tuples(st.integers(0, SHOTS - 1), st.sampled_from([16, 64, 65, 66, 128])), max_size=12),
        max_size=3,
    )
)
def test_days_of_changes(
    tmp_path_factory: pytest.TempPathFactory, cache: Path, days: list[list[tuple[int, int]]]
) -> None:
    """Each day some sheets change, a few or many, some back to what they were."""
    film = write_film(tmp_path_factory.mktemp("film"))
    check(film)
    for day, changes in enumerate(days):
        for number, samples in changes:
            write(shot_file(film, number), sheet_text(f"F_{number:03d}", samples), LONG_AGO + 100 * (day + 1))
        check(film)


def test_a_damaged_table_is_compared_anew(film: Path, cache: Path, compared: list[Contents]) -> None:
    check(film)
    (file,) = cache.glob("*.table")
    whole = file.read_bytes()
    for place in range(0, len(whole), len(whole) // 17):
        damaged = bytearray(whole)
        damaged[place] ^= 0x2A
        file.write_bytes(damaged)
        compared.clear()
        check(film)
        assert len(compared) == 1
    file.write_bytes(whole[: len(whole) // 2])
    check(film)


@pytest.mark.parametrize("body", [b"{}\n", b"[]", b"", b'{"head": 1}\nabc'])
def test_what_is_whole_and_is_no_table_counts_as_nothing(film: Path, cache: Path, body: bytes) -> None:
    check(film)
    (file,) = cache.glob("*.table")
    file.write_bytes(hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
    check(film)


def test_a_table_without_the_sheets_it_was_of(film: Path, cache: Path) -> None:
    """One of the two files was deleted: what the changed shots were is not known any more."""
    check(film)
    (file,) = cache.glob("*.json")
    file.unlink()
    write(shot_file(film, 3), sheet_text("F_003", 128))
    check(film)


def test_the_sheets_are_those_of_the_folder(film: Path, cache: Path) -> None:
    """What the table was of is not taken for what there is."""
    check(film)
    write(shot_file(film, 3), sheet_text("F_003", 128))
    contents, _ = opened(film)
    sheet: Sheet = contents.sheets["F_003"]
    assert sheet.value("lights", "sun", "samples") == 128.0
