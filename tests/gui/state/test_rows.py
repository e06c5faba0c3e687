from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.gui.paint.shades import INTENDED, ShadePicture, cell_codes
from samelight.gui.state.remaining import next_unsettled
from samelight.gui.state.rows import GridState, Line, Order, Show, as_text
from samelight.gui.state.selection import cells_to_decide
from samelight.sequence.saved_views import View
from samelight.sequence.session import Session


def names(state: GridState) -> list[str]:
    table = state.table
    return [
        state.groups[line.group].name if line.row is None else table.rows[line.row].parameter
        for line in state.listing.lines
    ]


def spot(state: GridState, parameter: str, shot: str) -> tuple[int, int]:
    row, column = state.table.row(parameter), state.table.column(shot)
    assert row is not None and column is not None
    return row, column


def test_at_first_only_groups_are_listed(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    assert all(line.row is None for line in state.listing.lines)
    assert names(state)[:3] == ["lights.sun", "lights.bounce", "lights.lantern_spot"]


def test_expanding_lists_the_rows_of_one_group(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(expanded=("lights.sun",)))
    listed = names(state)
    assert "lights.sun.direction" in listed
    assert not any(name.startswith("lights.bounce.") for name in listed)


def test_only_what_drifts_lists_the_rows_that_drift(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(rows=Show.DRIFTING))
    for line in state.listing.lines:
        if line.row is not None:
            assert (state.table.grade[line.row] >= Grade.DRIFT).any()
    assert "lights.sun.direction" in names(state)
    assert "lights.sun.angle" not in names(state)


def test_what_was_intended_is_no_longer_open(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(rows=Show.UNDECIDED))
    before = state.counts()
    cell = spot(state, "lights.rim.colour", "HB_110")
    assert "lights.rim.colour" in names(state)
    harbour_session.decide(Verb.INTEND, [cell], "lead", "asked for in dailies")
    state.refresh()
    after = state.counts()
    assert after["unsettled"] == before["unsettled"] - 1
    assert after["intended"] == before["intended"] + 1
    assert "lights.rim.colour" not in names(state)


def test_words_must_all_be_in_the_name(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(filter="SUN dir"))
    assert [name for name in names(state) if name.count(".") == 2] == ["lights.sun.direction"]


def test_the_next_open_cell_goes_down_a_shot_and_on_in_the_cut(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    order = []
    here = (-1, 0)
    for _ in range(int(state.my_cases.unsettled_mask().sum())):
        found = next_unsettled(state, *here)
        assert found is not None
        order.append(found)
        here = found
    rows, columns = np.nonzero(state.my_cases.unsettled_mask())
    expected = sorted(zip(rows.tolist(), columns.tolist(), strict=True), key=lambda cell: (cell[1], cell[0]))
    assert order == expected
    assert next_unsettled(state, *here) == expected[0]
    assert next_unsettled(state, *expected[0], -1) == expected[-1]


def test_deciding_on_a_group_means_all_that_drifts_in_that_shot(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    line = next(line for line in state.listing.lines if state.groups[line.group].name == "lights.window_fill")
    column = state.table.column("HB_180")
    assert column is not None
    index, place = state.listing.lines.index(line), state.listing.places[column]
    cells = cells_to_decide(state, [(index, index, place, place)])
    parameters = {state.table.rows[row].parameter for row, _ in cells}
    assert parameters == {"lights.window_fill.direction", "lights.window_fill.position"}


def test_all_groups_selected_in_all_shots_mean_every_cell_that_drifts(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    ends = 0, len(state.listing.lines) - 1, 0, len(state.listing.columns) - 1
    drifting = np.argwhere(state.table.grade >= Grade.DRIFT).tolist()
    assert sorted(cells_to_decide(state, [ends])) == [(row, column) for row, column in drifting]


class Unread(list[Line]):
    """Lines that nobody may go through."""

    def __iter__(self) -> Iterator[Line]:
        raise AssertionError


def test_the_line_of_a_row_is_known_and_not_looked_for(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(expanded=("lights.sun",), pinned=("lights.rim.level",)))
    lines, group_of = [*state.listing.lines], state.groups.of_row
    listing = replace(state.listing, lines=Unread(lines))
    for row in range(len(state.table.rows)):
        found = listing.line_of(row)
        shown = [line for line in lines if line.group == group_of[row] and line.row in (row, None)]
        assert (None if found is None else lines[found]) == max(
            shown, key=lambda line: line.row == row, default=None
        )


def test_a_hidden_row_is_revealed(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(filter="volume"))
    row, _ = spot(state, "lights.sun.direction", "HB_060")
    state.reveal(row)
    found = state.listing.line_of(row)
    assert found is not None
    assert state.listing.lines[found].row == row


def test_cells_copy_as_tab_separated_text(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    cells = [spot(state, "lights.sun.direction", shot) for shot in ("HB_050", "HB_060")]
    text = as_text(state, cells, dict.fromkeys(cells, "11.0°"))
    assert text == "\tHB_050\tHB_060\nlights.sun.direction\t11.0°\t11.0°"


def groups(state: GridState) -> list[str]:
    return [state.groups[line.group].name for line in state.listing.lines if line.row is None]


def test_the_worst_drift_comes_first_when_asked(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(order=Order.WORST, expanded=("lights.sun",)))
    severity, grade = state.table.severity, state.table.grade
    opened = state.my_cases.unsettled_mask()

    def key(name: str) -> tuple[bool, int, float]:
        rows = next(group.rows for group in state.groups if group.name == name)
        cells = [(row, column) for row in rows for column in range(len(state.table.shots))]
        return max((bool(opened[c]), int(grade[c]), min(float(severity[c]), 900.0)) for c in cells)

    keys = [key(name) for name in groups(state)]
    assert keys == sorted(keys, reverse=True)
    rows = [line.row for line in state.listing.lines if line.row is not None]
    assert state.table.rows[rows[0]].parameter == "lights.sun.direction"
    state.show(replace(state.view, order=Order.SHEET))
    assert groups(state)[:3] == ["lights.sun", "lights.bounce", "lights.lantern_spot"]


def test_most_shots_first_counts_shots_in_which_something_drifts(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(order=Order.SHOTS))
    counts = []
    for name in groups(state):
        rows = list(next(group.rows for group in state.groups if group.name == name))
        # What follows from others is counted with these.
        counts.append(int(harbour_session.cases.case_mask()[rows].any(axis=0).sum()))
    assert counts == sorted(counts, reverse=True)
    assert counts[0] >= 4


def test_order_is_judged_by_the_shots_that_are_listed(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(order=Order.SHOTS))
    first = groups(state)[0]
    rows = list(next(group.rows for group in state.groups if group.name == first))
    state.hide_shots(np.flatnonzero((state.table.grade[rows] >= Grade.DRIFT).any(axis=0)).tolist())
    assert groups(state)[0] != first


def test_hidden_rows_and_shots_are_left_out_and_come_back(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(expanded=("lights.sun",)))
    lines, columns = len(state.listing.lines), len(state.listing.columns)
    direction = next(
        line for line in state.listing.lines if state.listing.name_of(line) == "lights.sun.direction"
    )
    state.hide([direction])
    state.hide_shots([3, 5])
    assert len(state.listing.lines) == lines - 1 and "lights.sun.direction" not in names(state)
    assert len(state.listing.columns) == columns - 2
    assert (state.listing.place(3), state.listing.place(4), state.listing.place(6)) == (None, 3, 4)
    assert state.counts()["hidden rows"] == 1 and state.counts()["hidden shots"] == 2
    # What is hidden is neither shown by the group nor decided on with it.
    header = state.listing.lines[0]
    column = harbour_session.table.column("HB_070")
    assert column is not None
    assert state.table.rows[state.listing.row_at(header, column)].parameter != "lights.sun.direction"
    place = state.listing.places[column]
    decided = cells_to_decide(state, [(0, 0, place, place)])
    assert not any(state.table.rows[row].leaf == "direction" for row, _ in decided)
    state.show_hidden()
    assert (len(state.listing.lines), len(state.listing.columns)) == (lines, columns)


def test_a_hidden_group_goes_whole_and_the_last_shot_stays(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(expanded=("lights.sun",)))
    state.hide([state.listing.lines[0]])
    assert not any(name.startswith("lights.sun") for name in names(state))
    state.hide_shots(range(len(state.table.shots)))
    assert len(state.listing.columns) == len(state.table.shots)


def test_pinned_lines_stand_first_whatever_the_filter(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(expanded=("lights.rim",)))
    colour = next(line for line in state.listing.lines if state.listing.name_of(line) == "lights.rim.colour")
    gi = next(line for line in state.listing.lines if state.listing.name_of(line) == "render.gi")
    state.pin([colour, gi])
    assert names(state)[:2] == ["lights.rim.colour", "render.gi"] and state.listing.pins == 2
    assert names(state).count("lights.rim.colour") == 1
    assert state.listing.is_lone(0) and not state.listing.is_lone(1)
    state.show(replace(state.view, filter="volume samples"))
    assert names(state)[:2] == ["lights.rim.colour", "render.gi"]
    assert names(state)[2].startswith("render.volume")
    state.pin([colour])
    assert names(state)[0] == "render.gi" and state.listing.pins == 1


def test_a_pinned_group_brings_its_rows_while_it_is_expanded(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    gi = next(line for line in state.listing.lines if state.listing.name_of(line) == "render.gi")
    state.pin([gi])
    assert state.listing.pins == 1
    state.show(replace(state.view, expanded=("render.gi",)))
    assert names(state)[: state.listing.pins] == [
        "render.gi",
        *(f"render.gi.{leaf}" for leaf in ("on", "range", "bounces", "samples")),
    ]
    state.hide([gi])
    assert state.listing.pins == 0 and not state.view.pinned


def test_the_next_open_cell_passes_over_what_is_hidden_until_nothing_else_is_left(
    harbour_session: Session,
) -> None:
    state = GridState(harbour_session)
    first = next_unsettled(state, -1, 0)
    assert first is not None
    state.hide_shots([first[1]])
    then = next_unsettled(state, -1, 0)
    assert then is not None and then[1] != first[1]
    state.show(replace(state.view, hidden_rows=tuple(group.name for group in state.groups)))
    assert next_unsettled(state, -1, 0) == first


def test_going_to_a_hidden_cell_brings_it_back(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    row, column = spot(state, "lights.sun.direction", "HB_060")
    state.hide([state.listing.lines[0]])
    state.hide_shots([column])
    state.reveal(row, column)
    line = state.listing.line_of(row)
    assert line is not None and state.listing.lines[line].row == row
    assert state.listing.place(column) is not None


def test_a_sequence_read_again_is_shown_the_same_way(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(expanded=("lights.rim",), order=Order.WORST))
    state.pin([line for line in state.listing.lines if state.listing.name_of(line) == "lights.rim.colour"])
    state.hide([line for line in state.listing.lines if state.listing.name_of(line) == "render.gi"])
    state.hide_shots([2])
    again = state.renewed()
    assert again is not state
    assert (
        names(again) == names(state)
        and again.listing.columns == state.listing.columns
        and again.listing.pins == state.listing.pins
    )


def test_cells_know_whether_a_finding_explains_them(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    assert spot(state, "lights.sun.direction", "HB_060") in state.explained
    assert spot(state, "render.gi.range", "HB_120") in state.explained
    # Nobody knows why the window fill moved, and a cell that does not drift needs no explaining.
    assert spot(state, "lights.window_fill.position", "HB_180") not in state.explained
    assert spot(state, "lights.sun.direction", "HB_010") not in state.explained


def test_what_is_shown_after_a_change_is_as_if_opened_then(
    harbour_session: Session, harbour_folder: Path
) -> None:
    state, picture = GridState(harbour_session, View(hidden_rows=("lights.sun.direction",))), ShadePicture()
    picture.codes(state)
    shot, row = "HB_120", "render.gi.range"
    harbour_session.decide(Verb.INTEND, [spot(state, "lights.rim.colour", "HB_110")], "lead", "asked for")
    path = harbour_session.contents.sheets[shot].path
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("range: 350,", "range: 500,"), encoding="utf-8")
    before = harbour_session.table.entry(*spot(state, row, shot))
    assert harbour_session.reload()
    after = harbour_session.table.entry(*spot(state, row, shot))
    assert before and after and after.value == 500.0 != before.value
    renewed = state.renewed()
    fresh = GridState(harbour_session, View(hidden_rows=("lights.sun.direction",)))
    assert renewed.listing.lines == fresh.listing.lines and renewed.counts() == fresh.counts()
    np.testing.assert_array_equal(renewed.listing.worst, fresh.listing.worst)
    np.testing.assert_array_equal(picture.codes(renewed), ShadePicture().codes(fresh))
    renewed.show_hidden()
    fresh.show_hidden()
    np.testing.assert_array_equal(renewed.listing.worst, fresh.listing.worst)
    np.testing.assert_array_equal(picture.codes(renewed), ShadePicture().codes(fresh))


def test_each_cell_is_coloured_as_by_itself(harbour_session: Session) -> None:
    every = View(rows=Show.ALL, expanded=tuple(group.name for group in GridState(harbour_session).groups))
    harbour_session.decide(
        Verb.INTEND, [spot(GridState(harbour_session), "lights.rim.colour", "HB_110")], "lead", "asked for"
    )
    state = GridState(harbour_session, every)
    table, codes = state.table, ShadePicture().codes(state)
    alone = cell_codes(np.asarray(table.severity), table.grade, state.standing.states)
    places = [(place, line.row) for place, line in enumerate(state.listing.lines) if line.row is not None]
    assert len(places) > 100 and INTENDED in alone
    for place, row in places:
        assert codes[place].tolist() == alone[row].tolist()
