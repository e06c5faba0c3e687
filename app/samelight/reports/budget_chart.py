"""A chart of a render budget: machine hours that there are up to each day, and what each sequence needs by its last day."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from html import escape

from samelight.reports.production_plan import LONGEST, Due, SequencePlan, schedule
from samelight.reports.shown import shown
from samelight.sheets.budget import Budget

_WIDTH, _HEIGHT = 960, 540
_LEFT, _RIGHT, _TOP, _BOTTOM = 80, 190, 48, 56
_GRID = (1.0, 2.0, 5.0, 10.0)
_LATE, _FINE, _LINE = "#d55e00", "#0072b2", "#333333"


def budget_chart(title: str, plans: Sequence[SequencePlan], budget: Budget) -> str:
    """An SVG document. The line is what may be rendered up to a day; a sequence is a dot at its last day, at the height of all that
    has to be rendered by then: a dot above the line is late. Without a last day it stands where it is rendered."""
    due = schedule(plans, budget)
    end = _end(due, budget)
    days = (end - budget.start).days + 1
    capacity = _capacity(budget, days)
    demand = [sum(one.hours for one in due[: index + 1]) for index in range(len(due))]
    most = max(*demand, capacity[-1] if capacity[-1] < 3 * (demand[-1] or 1) else 0.0, 1.0) if due else 1.0
    axes = _Axes(budget.start, days, most)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" font-family="sans-serif" font-size="12">',
        f"<title>{_text(title)}: render budget</title>",
        f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="#ffffff"/>',
        f'<text x="{_LEFT}" y="24" font-size="16" fill="{_LINE}">{_text(title)}: machine hours there are, and are needed</text>',
        *axes.drawn(),
    ]
    line = " ".join(f"{axes.x(day + 1):.1f},{axes.y(hours):.1f}" for day, hours in enumerate(capacity))
    parts.append(
        f'<polyline points="{_LEFT},{axes.y(0.0):.1f} {line}" fill="none" stroke="{_LINE}" stroke-width="2"/>'
    )
    last = -math.inf
    for one, hours in sorted(zip(due, demand, strict=True), key=lambda pair: -pair[1]):
        last = max(axes.y(hours) + 4, last + 14)
        parts += _sequence(axes, one, one.until or one.done or end, hours, last)
    return "\n".join([*parts, "</svg>"]) + "\n"


@dataclass(frozen=True, slots=True)
class _Axes:
    """Days from a first one across, and machine hours up to the `most`."""

    start: date
    days: int
    most: float

    def x(self, day: float) -> float:
        return _LEFT + (_WIDTH - _LEFT - _RIGHT) * day / self.days

    def y(self, hours: float) -> float:
        return _HEIGHT - _BOTTOM - (_HEIGHT - _TOP - _BOTTOM) * min(hours / self.most, 1.0)

    def drawn(self) -> Iterator[str]:
        """The lines of hours, and the dates below."""
        step = _step(self.most)
        for index in range(int(self.most / step) + 1):
            at = self.y(index * step)
            yield f'<line x1="{_LEFT}" x2="{_WIDTH - _RIGHT}" y1="{at:.1f}" y2="{at:.1f}" stroke="#dddddd"/>'
            yield (
                f'<text x="{_LEFT - 8}" y="{at + 4:.1f}" text-anchor="end" fill="{_LINE}">{index * step:,.0f} h</text>'
            )
        for day in range(0, self.days, max(1, math.ceil(self.days / 8))):
            said = (self.start + timedelta(days=day)).isoformat()
            yield (
                f'<text x="{self.x(day):.1f}" y="{_HEIGHT - _BOTTOM + 20}" text-anchor="middle" fill="{_LINE}">{said}</text>'
            )


def _sequence(axes: _Axes, one: Due, at_day: date, hours: float, words: float) -> list[str]:
    """The dot of a sequence, and what is said of it at the height of its `words`."""
    colour = _LATE if one.is_late or one.done is None else _FINE
    at = axes.x(min(max((at_day - axes.start).days + 1, 0), axes.days))
    when = "never" if one.done is None else one.done.isoformat()
    mark = f"{shown(one.name, 18)}, {when}" + (" late" if one.is_late else "")
    return [
        f'<circle cx="{at:.1f}" cy="{axes.y(hours):.1f}" r="5" fill="{colour}"/>',
        f'<line x1="{at:.1f}" x2="{_WIDTH - _RIGHT + 4}" y1="{axes.y(hours):.1f}" y2="{words - 4:.1f}" stroke="{colour}" '
        'stroke-width="0.5"/>',
        f'<text x="{_WIDTH - _RIGHT + 8}" y="{words:.1f}" fill="{colour}">{_text(mark)}</text>',
    ]


def _end(due: Sequence[Due], budget: Budget) -> date:
    """The last day that is drawn."""
    days = [day for one in due for day in (one.until, one.done) if day is not None]
    latest = max(days, default=budget.start)
    return min(max(latest, budget.start), budget.start + timedelta(days=LONGEST))


def _capacity(budget: Budget, days: int) -> list[float]:
    """Machine hours that there are up to the end of each day."""
    found, total = [], 0.0
    for day in range(days):
        total += budget.on(budget.start + timedelta(days=day))
        found.append(total)
    return found


def _step(most: float) -> float:
    """Hours between lines of the grid: some five of them."""
    power = math.pow(10.0, math.floor(math.log10(most / 5.0))) if most > 0.0 else 1.0
    return next((power * size for size in _GRID if power * size * 5.0 >= most), power * 10.0)


def _text(text: str) -> str:
    return escape(shown(text, 100))
