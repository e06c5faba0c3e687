"""Views on disk: they come back as they were saved, and a file that is wrong says where."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sequence import saved_views
from samelight.sequence.saved_views import (
    Order,
    Show,
    Shown,
    View,
    checked_name,
    delete_view,
    list_views,
    own_folder,
    read_view,
    save_view,
    shared_folder,
    view_text,
)
from samelight.sheets.errors import SamelightError, SheetError

# Half of a surrogate pair is no text that a file can hold; `write_whole` says so.
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
names = st.lists(texts, max_size=5, unique=True).map(tuple)
views = st.builds(
    View,
    rows=st.sampled_from(Show),
    filter=texts,
    order=st.sampled_from(Order),
    cells=st.sampled_from(Shown),
    only_my_shots=st.booleans(),
    column_width=st.none() | st.floats(0.5, 9999, allow_nan=False),
    fitted=st.booleans(),
    expanded=names,
    pinned=names,
    hidden_rows=names,
    hidden_shots=names,
    together=names,
)


@given(views)
def test_a_view_comes_back_as_it_was_saved(tmp_path_factory: pytest.TempPathFactory, view: View) -> None:
    folder = tmp_path_factory.mktemp("views")
    path = save_view(folder, "Night", view)
    assert read_view(path) == view
    (saved,) = list_views(folder).saved
    assert (saved.name, saved.view) == ("Night", view)
    assert [one.name for one in folder.iterdir()] == ["Night.yaml"]  # no temporary file is left


@given(st.text(max_size=100))
def test_every_name_is_a_safe_file_or_refused(tmp_path_factory: pytest.TempPathFactory, name: str) -> None:
    folder = tmp_path_factory.mktemp("views")
    try:
        path = save_view(folder, name, View())
    except SamelightError:
        assert not list(folder.iterdir())
        return
    assert path.parent == folder and path.is_file()
    assert list_views(folder).named(name) is not None


@pytest.mark.parametrize(
    "name",
    [
        "",
        "  ",
        "../up",
        "a/b",
        "a\\b",
        "what?",
        "a:b",
        'a"b',
        "CON",
        "nul.x",
        "com1",
        ".hidden",
        "dot.",
        "a\nb",
        "x" * 81,
    ],
)
def test_a_name_that_no_file_can_have_everywhere(tmp_path: Path, name: str) -> None:
    with pytest.raises(SamelightError, match="view"):
        save_view(tmp_path, name, View())
    assert not list(tmp_path.iterdir())


def test_names_may_have_spaces_and_signs_of_any_script() -> None:
    for name in ("Sun and sky", "Tomas (night)", "Früh & spät", "夜明け", "v2.1"):
        assert checked_name(f" {name} ") == name


def test_saving_again_replaces_also_when_capitals_differ(tmp_path: Path) -> None:
    save_view(tmp_path, "Sun", View(filter="sun"))
    save_view(tmp_path, "sun", View(filter="sun direction"))
    (saved,) = list_views(tmp_path).saved
    assert saved.view.filter == "sun direction"


def test_of_two_whose_names_differ_by_capitals_the_one_that_is_named_is_replaced(tmp_path: Path) -> None:
    for name in ("Sun", "sun"):
        (tmp_path / f"{name}.yaml").write_text(f"filter: {name}\n", encoding="utf-8")
    if len(list(tmp_path.iterdir())) < 2:
        pytest.skip("files do not tell capitals apart here")
    save_view(tmp_path, "sun", View(filter="moon"))
    assert {one.name: one.view.filter for one in list_views(tmp_path).saved} == {"Sun": "Sun", "sun": "moon"}


@pytest.mark.parametrize("name", ["Sun", "sun", " SUN "])
def test_a_file_that_cannot_be_read_is_not_written_over(tmp_path: Path, name: str) -> None:
    faulty = tmp_path / "Sun.yaml"
    faulty.write_text("rwos: everything\nfilter: sun\n", encoding="utf-8")
    with pytest.raises(SamelightError) as caught:
        save_view(tmp_path, name, View())
    assert str(caught.value) == (
        f"{name.strip()} is there and cannot be read: mend or delete its file, or take another name"
    )
    assert faulty.read_text(encoding="utf-8") == "rwos: everything\nfilter: sun\n"
    assert [path.name for path in tmp_path.iterdir()] == ["Sun.yaml"]
    save_view(tmp_path, "Sun and sky", View())
    faulty.unlink()
    save_view(tmp_path, name, View(filter="moon"))
    found = list_views(tmp_path).named("Sun")
    assert found is not None and found.view.filter == "moon"


def test_a_deleted_view_is_gone_and_twice_is_no_error(tmp_path: Path) -> None:
    save_view(tmp_path, "Sun", View())
    (saved,) = list_views(tmp_path).saved
    delete_view(saved)
    delete_view(saved)
    assert list_views(tmp_path).saved == ()


def test_a_view_that_cannot_be_deleted_is_told(tmp_path: Path) -> None:
    save_view(tmp_path, "Sun", View())
    (saved,) = list_views(tmp_path).saved
    saved.path.unlink()
    saved.path.mkdir()
    with pytest.raises(SamelightError, match=r"Sun\.yaml: could not be deleted"):
        delete_view(saved)


def test_a_file_where_the_folder_should_be_is_told(tmp_path: Path) -> None:
    place = shared_folder(tmp_path)
    place.write_text("rows: everything\n", encoding="utf-8")
    listed = list_views(place)
    assert listed.saved == ()
    ((path, fault),) = listed.faults
    assert path == place and fault.startswith(f"{place}: expected a folder that can be read, found ")


def test_no_folder_has_no_views(tmp_path: Path) -> None:
    listed = list_views(tmp_path / "nowhere")
    assert (listed.saved, listed.faults) == ((), ())
    assert shared_folder(tmp_path) == tmp_path / "views" and own_folder().name == "views"


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("rows: what is undecidde\n", 1, "did you mean what is undecided?"),
        ("samelight_view: 2\nrwos: everything\n", 2, "did you mean rows?"),
        ("filter: [a]\n", 1, "expected text"),
        (f"filter: {'a' * 1001}\n", 1, "expected at most 1000 letters, found 1001"),
        ("cells: 3\n", 1, "expected one of drift, value, both"),
        ("only_my_shots: maybe\n", 1, "expected true or false"),
        ("column_width: 0\n", 1, "a width in pixels"),
        ("column_width: true\n", 1, "a width in pixels"),
        ("fitted: 3\n", 1, "expected true or false"),
        ("pinned: lights.sun\n", 1, "expected a list of names"),
        ("pinned:\n  - lights.sun\n  - {a: 1}\n", 3, "expected a name"),
        ("samelight_view: 3\n", 1, "of a newer program"),
        ("samelight_view: one\n", 1, "the format version, samelight_view: 2"),
        ("- a\n", 1, "keys and values"),
        ("rows: [\n", None, "Broken.yaml"),
        ("", None, "Broken.yaml"),
    ],
)
def test_a_bad_file_is_told_with_its_line_and_skipped(
    tmp_path: Path, text: str, line: int | None, says: str
) -> None:
    save_view(tmp_path, "Good", View(filter="sun"))
    broken = tmp_path / "Broken.yaml"
    broken.write_text(text, encoding="utf-8")
    with pytest.raises(SheetError):
        read_view(broken)
    listed = list_views(tmp_path)
    assert [one.name for one in listed.saved] == ["Good"]
    ((path, fault),) = listed.faults
    assert path == broken and says in fault
    if line is not None:
        assert f"Broken.yaml:{line}:" in fault


def test_what_a_file_does_not_state_is_as_it_is_at_first(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("filter: 010\nhidden_shots: [020, yes]\nexpanded:\n", encoding="utf-8")
    assert read_view(tmp_path / "a.yaml") == View(filter="010", hidden_shots=("020", "yes"))


def test_names_that_a_sequence_does_not_have() -> None:
    view = View(expanded=("lights.sun", "lights.moon"), pinned=("lights.moon",), hidden_shots=("A", "B"))
    assert view.unknown({"lights.sun"}, {"A"}) == ["lights.moon", "B"]


def test_a_file_is_easy_to_read() -> None:
    view = View(rows=Show.UNDECIDED, filter="sun", expanded=("lights.sun", "lights.rim"), column_width=48.0)
    assert view_text(view) == (
        "samelight_view: 2\nrows: what is undecided\nfilter: sun\norder: as in the sheet\ncells: drift\n"
        "only_my_shots: false\ncolumn_width: 48.0\nfitted: false\nexpanded: [lights.sun, lights.rim]\n"
        "pinned: []\nhidden_rows: []\nhidden_shots: []\ntogether: []\n"
    )


def test_a_fitted_view_states_no_width() -> None:
    text = view_text(View(fitted=True))
    assert "fitted: true\n" in text and "column_width" not in text


def test_a_view_that_came_meanwhile_is_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody else saved the same new name after the folder was looked at."""
    monkeypatch.setattr(saved_views, "list_views", lambda folder: saved_views.ViewFolder())
    path = save_view(tmp_path, "Sun", View(filter="theirs"))
    with pytest.raises(SamelightError, match="File exists"):
        save_view(tmp_path, "Sun", View(filter="mine"))
    assert read_view(path).filter == "theirs"
