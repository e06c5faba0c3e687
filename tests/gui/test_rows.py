from __future__ import annotations

import numpy as np

from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.gui.rows import GridState, Show, as_text
from samelight.session import Session


def names(state: GridState) -> list[str]:
    table = state.table
    return [
        state.groups[line.group].name if line.row is None else table.rows[line.row].parameter
        for line in state.lines
    ]


def spot(state: GridState, parameter: str, shot: str) -> tuple[int, int]:
    row, column = state.table.row(parameter), state.table.column(shot)
    assert row is not None and column is not None
    return row, column


def test_at_first_only_groups_are_listed(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    assert all(line.row is None for line in state.lines)
    assert names(state)[:3] == ["lights.sun", "lights.bounce", "lights.lantern_spot"]


def test_expanding_lists_the_rows_of_one_group(harbour_session: Session) -> None:
    state = GridState(harbour_session, expanded={"lights.sun"})
    listed = names(state)
    assert "lights.sun.direction" in listed
    assert not any(name.startswith("lights.bounce.") for name in listed)


def test_only_what_drifts_lists_the_rows_that_drift(harbour_session: Session) -> None:
    state = GridState(harbour_session, show=Show.DRIFTING)
    for line in state.lines:
        if line.row is not None:
            assert (state.table.grade[line.row] >= Grade.DRIFT).any()
    assert "lights.sun.direction" in names(state)
    assert "lights.sun.angle" not in names(state)


def test_what_was_intended_is_no_longer_open(harbour_session: Session) -> None:
    state = GridState(harbour_session, show=Show.OPEN)
    before = state.counts()
    cell = spot(state, "lights.rim.colour", "HB_110")
    assert "lights.rim.colour" in names(state)
    harbour_session.decide(Verb.INTEND, [cell], "lead", "asked for in dailies")
    state.refresh()
    after = state.counts()
    assert after["open"] == before["open"] - 1
    assert after["intended"] == before["intended"] + 1
    assert "lights.rim.colour" not in names(state)


def test_words_must_all_be_in_the_name(harbour_session: Session) -> None:
    state = GridState(harbour_session, words="SUN dir")
    assert [name for name in names(state) if name.count(".") == 2] == ["lights.sun.direction"]


def test_the_next_open_cell_goes_down_a_shot_and_on_in_the_cut(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    order = []
    here = (-1, 0)
    for _ in range(int(state.open_mask().sum())):
        found = state.next_open(*here)
        assert found is not None
        order.append(found)
        here = found
    rows, columns = np.nonzero(state.open_mask())
    expected = sorted(zip(rows.tolist(), columns.tolist(), strict=True), key=lambda cell: (cell[1], cell[0]))
    assert order == expected
    assert state.next_open(*here) == expected[0]
    assert state.next_open(*expected[0], -1) == expected[-1]


def test_deciding_on_a_group_means_all_that_drifts_in_that_shot(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    line = next(line for line in state.lines if state.groups[line.group].name == "lights.window_fill")
    column = state.table.column("HB_180")
    assert column is not None
    parameters = {state.table.rows[row].parameter for row, _ in state.cells_of(line, column)}
    assert parameters == {"lights.window_fill.direction", "lights.window_fill.position"}


def test_a_hidden_row_is_revealed(harbour_session: Session) -> None:
    state = GridState(harbour_session, words="volume")
    row, _ = spot(state, "lights.sun.direction", "HB_060")
    state.reveal(row)
    found = state.line_of(row)
    assert found is not None
    assert state.lines[found].row == row


def test_cells_copy_as_tab_separated_text(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    cells = [spot(state, "lights.sun.direction", shot) for shot in ("HB_050", "HB_060")]
    text = as_text(state, cells, dict.fromkeys(cells, "11.0°"))
    assert text == "\tHB_050\tHB_060\nlights.sun.direction\t11.0°\t11.0°"
