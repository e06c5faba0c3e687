"""How a figure of the picture came about: what was measured in both frames, and what the sheets lead one to expect."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from samelight.drift.computed.expected import Expected, expected_in
from samelight.drift.words import number_text
from samelight.light.region_figures import Figures
from samelight.sheets.measured import MeasuredFrame, Witness
from samelight.sheets.sheet import Sheet


def picture_words(
    mark: str, leaf: str, held: Sheet | None, shot: Sheet, measured: Mapping[str, Witness]
) -> list[str]:
    """The inputs of a cell of the picture, in words: the shot's frame, that which it is compared with, and, of what is unexplained,
    the ball that both sheets lead one to expect."""
    sheets = [("shot", shot), ("compared with", held)]
    lines: list[str] = []
    balls: list[str] = []
    for whose, sheet in sheets:
        witness = None if sheet is None else measured.get(sheet.shot)
        if sheet is None or witness is None or mark not in witness.measured.marks:
            continue
        lines.append(f"{whose}: {_frame(witness.measured, mark, leaf)}")
        if leaf == "unexplained":
            balls += _ball(witness.measured, mark, sheet)
    if len(balls) == 2:
        lines.append(
            f"expected: as in the frame it is compared with, and as much as {balls[0]} lies over {balls[1]}"
        )
    return lines


def _frame(frame: MeasuredFrame, mark: str, leaf: str) -> str:
    figures = frame.marks[mark].figures
    at = f"{frame.picture}, {figures.pixels:,} pixels"
    light = leaf.removeprefix("unexplained.")
    if light != leaf and light in frame.marks[mark].lights:
        said = f"{_stops(frame.marks[mark].lights[light])} in the mean of the layer of {light}"
        return f"{at}, {said}; in {frame.colours}"
    return f"{at}, {_figure(figures, leaf)}, noise {_stops(figures.noise)}; in {frame.colours}"


def _figure(figures: Figures, leaf: str) -> str:
    match leaf:
        case "colour":
            return f"u'v' {figures.u:.5f}, {figures.v:.5f}"
        case "spread":
            return f"{_stops(figures.spread)} from its darkest twentieth to its brightest"
        case "side":
            side = "right" if figures.side > 0.0 else "left"
            return f"its {side} half brighter by {_stops(abs(figures.side))}"
        case _:
            return f"{_stops(figures.level)} in the mean (0 is a luminance of 1)"


def _ball(frame: MeasuredFrame, mark: str, sheet: Sheet) -> Iterator[str]:
    expected = expected_in(frame, mark, sheet)
    if isinstance(expected, Expected):
        yield f"a ball under the lights of {sheet.shot} ({_stops(expected.figures.level)})"


def _stops(stops: float) -> str:
    return f"{number_text(stops, 3)} stops"
