"""A report as one HTML file that needs nothing else: no network, no server, no script to be read."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import Any

from jinja2.runtime import Context
from markupsafe import Markup

from samelight import __version__
from samelight.decisions.state import State
from samelight.drift.explanations import tolerance_text
from samelight.drift.scale import GRADE_MARKS
from samelight.drift.words import bound_text, drift_text, value_text
from samelight.reports.held import against_text
from samelight.reports.html_heat import (
    LEFT,
    ROW_HEIGHT,
    TOP,
    WIDTH,
    colour_steps,
    heat_map,
    step_of,
)
from samelight.reports.html_parts import digest, environment, source
from samelight.reports.html_traces import HEIGHT, light_plots
from samelight.reports.render_plan import ESTIMATE
from samelight.reports.report import Report, ReportLine
from samelight.reports.shown import shown
from samelight.reports.signs import STATE_MARKS, standing_text
from samelight.sequence.troubles import failure

MOST_OPENED = 1500
"""With more cells than this the shots are folded when the page opens; a click unfolds one, printing unfolds all."""

MOST_FINDINGS = 300
"""Findings that are written out; they are ranked, and the rest is in the JSON."""


_PARTS = {
    "glance": "The picture of the sequence at a glance",
    "findings": "The list of findings",
    "lights": "The plots of the lights",
    "overview": "The table of shots",
    "shot": "The table of a shot's cells",
    "plan": "The render plan",
}
"""What each block of the template is, of which one that fails takes no other along."""


@dataclass(frozen=True, slots=True)
class HtmlPage:
    """A document, and a sentence for each part of it that could not be drawn; the document has them too."""

    text: str
    failed: tuple[str, ...] = ()


def html_text(report: Report) -> str:
    """The document."""
    return html_page(report).text


def html_page(report: Report) -> HtmlPage:
    """The document, also where a part of it fails."""
    page = _drawn(report)
    if page.failed:  # what is said first is known only now
        page = replace(_drawn(replace(report, troubles=(*page.failed, *report.troubles))), failed=page.failed)
    return page


def _drawn(report: Report) -> HtmlPage:
    template = environment().get_template("report.html.j2")
    failed: dict[str, None] = {}
    context = template.new_context(_values(report))
    for name, (block, *_) in context.blocks.items():
        context.blocks[name] = [partial(_attempt, _PARTS[name], block, failed)]
    return HtmlPage("".join(template.root_render_func(context)), tuple(failed))


def _attempt(
    part: str, block: Callable[[Context], Iterator[str]], failed: dict[str, None], context: Context
) -> Iterator[str]:
    """A block's text whole, or that it could not be drawn."""
    try:
        yield "".join(block(context))
    except Exception as error:  # noqa: BLE001 - the other parts are drawn
        failed[failure(part, error).says] = None
        yield f"<p>{part} could not be drawn: see above.</p>\n"


def _values(report: Report) -> dict[str, Any]:
    """What the template asks for."""
    style = environment().get_template("report.css.j2").render(steps=colour_steps())
    script = source("report.js")
    return {
        "report": report,
        "against": _against(report),
        "heat_map": lambda: heat_map(report),
        "light_plots": lambda: light_plots(report),
        "style": Markup(style),
        "script": Markup(script),
        "style_hash": digest(style),
        "script_hash": digest(script),
        "unfolded": sum(len(shot.lines) for shot in report.shots) <= MOST_OPENED,
        "findings": report.findings[:MOST_FINDINGS],
        "findings_left": max(len(report.findings) - MOST_FINDINGS, 0),
        "shot_number": {shot.name: index for index, shot in enumerate(report.shots)},
        "estimate": ESTIMATE,
        "left": LEFT,
        "width": WIDTH,
        "top": TOP,
        "row_height": ROW_HEIGHT,
        "plot_height": HEIGHT,
        "cell": _cell,
        "standing": standing_text,
        "states": list(State),
        "sign": STATE_MARKS.__getitem__,
        "bound": lambda case: shown(bound_text(case.value, "")),
        "breakable": lambda name: _breakable(shown(name)),
        "step_of": step_of,
        "plans": {plan.shot: plan for plan in report.plan.shots} if report.plan else {},
        "linked": {shot.name for shot in report.shots if shot.lines or shot.told or shot.trouble},
        "program_version": __version__,
    }


def _against(report: Report) -> str:
    text = shown(against_text(report.master, report.held), 1000)
    return text if report.held else text[:1].upper() + text[1:]


@dataclass(frozen=True, slots=True)
class _Said:
    """What a row of a shot's table says."""

    parameter: Markup
    master: str
    value: str
    drift: str
    size: str
    step: int
    mark: str
    level: str
    tolerance: str
    state: str
    sign: str
    remark: str


def _cell(line: ReportLine, report: Report) -> _Said:
    cell = line.cell
    drift = drift_text(cell)
    return _Said(
        parameter=_breakable(shown(cell.parameter)),
        master=shown(value_text(cell.master, cell.value_kind, report.north)),
        value=shown(value_text(cell.value, cell.value_kind, report.north)),
        drift=shown(drift or cell.grade.word, 60),
        size=f"{min(line.severity, 1e9):.4g}" if math.isfinite(line.severity) else "1e9",
        step=step_of(line.severity),
        mark=GRADE_MARKS.get(cell.grade, ""),
        level=cell.grade.word,
        tolerance=tolerance_text(cell).removeprefix("none: "),
        state=str(line.state),
        sign=STATE_MARKS[line.state],
        remark="" if cell.remark == drift else shown(cell.remark),
    )


@lru_cache(maxsize=65536)
def _breakable(name: str) -> Markup:
    """A name that may break into lines after its dots and underscores, and nowhere else while there is room."""
    parts = re.split(r"(?<=[._])", name)
    return Markup("<wbr>").join(parts)
