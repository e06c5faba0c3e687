"""What was said in dailies, as Markdown to read and as CSV to sort: notes and verdicts, shot by shot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from itertools import groupby

from samelight.decisions.decision import Decision, Verb
from samelight.drift.words import counted
from samelight.reports.as_csv import LONGEST, csv_text
from samelight.reports.as_markdown import escaped
from samelight.sequence.crew import Crew

WORDS: dict[Verb, str] = {
    Verb.NOTE: "note",
    Verb.INTEND: "intended",
    Verb.RETURN: "sent back",
    Verb.TAKE_UP: "taken up",
    Verb.CLOSE: "closed",
}
COLUMNS = ("shot", "when", "who", "what", "parameters", "text", "lighter", "seen")


@dataclass(frozen=True, slots=True)
class NoteLine:
    """One note or verdict; a verdict holds all parameters of the shot that were decided in one go. `lighter` is whose the
    shot is, empty where it is nobody's; `seen` which frame and picture it is about, empty where none was grabbed."""

    shot: str
    when: datetime
    who: str
    what: str
    parameters: tuple[str, ...]
    text: str
    lighter: str = ""
    seen: str = ""


def lines_of(
    decisions: Iterable[Decision],
    cut: Sequence[str],
    since: datetime | None = None,
    crew: Crew | None = None,
) -> list[NoteLine]:
    """Decisions as lines: in cut order, then as they were made; of shots that left the cut last.

    `decisions` are those that stand; `since` leaves out what is older (decisions are timed to the second).
    """
    start = since.replace(microsecond=0) if since is not None else None
    places = {shot: place for place, shot in enumerate(cut)}
    chosen = [decision for decision in decisions if start is None or decision.when >= start]
    chosen.sort(key=lambda one: (places.get(one.shot, len(places)), one.shot, one.batch or one.id, one.id))
    lines = []
    for _, same in groupby(chosen, key=lambda one: (one.shot, one.batch or one.id)):
        made = list(same)
        first = made[0]
        parameters = tuple(one.parameter for one in made if one.parameter)
        whose = crew.who(first.shot) if crew is not None else ""
        what = WORDS[first.verb]
        said = first.reason, whose, first.seen.says
        lines.append(NoteLine(first.shot, first.when, first.who, what, parameters, *said))
    return lines


def as_markdown(title: str, lines: Sequence[NoteLine], zone: tzinfo | None = None) -> str:
    """Lines as Markdown (CommonMark), a heading for each shot, below one for each lighter where the sequence names some. Times are of
    `zone`, or of this machine."""
    shots = len({line.shot for line in lines})
    said = f"{counted(len(lines), 'entry', 'entries')} on {counted(shots, 'shot', 'shots')}."
    parts = [f"# {_plain(title)}", "", said if lines else "Nothing was said."]
    named = any(line.lighter for line in lines)
    for lighter, of_lighter in _by_lighter(lines):
        if named:
            parts += ["", f"## {_plain(lighter) or 'Nobody'}"]
        for shot, of_shot in groupby(of_lighter, key=lambda line: line.shot):
            parts += ["", f"{'###' if named else '##'} {_plain(shot)}", ""]
            for line in of_shot:
                parts += _entry(line, zone)
    return "\n".join(parts) + "\n"


def _by_lighter(lines: Sequence[NoteLine]) -> list[tuple[str, list[NoteLine]]]:
    """Lines by whose their shot is, each in the order that they have; last those of nobody."""
    found: dict[str, list[NoteLine]] = {}
    for line in lines:
        found.setdefault(line.lighter, []).append(line)
    return sorted(found.items(), key=lambda item: not item[0])


def _entry(line: NoteLine, zone: tzinfo | None) -> list[str]:
    when = line.when.astimezone(zone).strftime("%Y-%m-%d %H:%M")
    text = f": {_plain(line.text)}" if line.text else ""
    seen = f" ({_plain(line.seen)})" if line.seen else ""
    head = f"- {when}, {_plain(line.who)}, **{line.what}**{text}{seen}"
    return [head, *(f"  - {_plain(parameter)}" for parameter in line.parameters)]


def as_csv(lines: Sequence[NoteLine], zone: tzinfo | None = None) -> str:
    """Lines as a table with its head, in which nothing is a formula; times in ISO 8601 with their zone."""
    return csv_text(
        COLUMNS,
        (
            (
                line.shot,
                line.when.astimezone(zone).isoformat(timespec="seconds"),
                _one_line(line.who),
                line.what,
                ", ".join(line.parameters),
                _one_line(line.text),
                _one_line(line.lighter),
                _one_line(line.seen),
            )
            for line in lines
        ),
    )


def _plain(text: str) -> str:
    """Text that Markdown shows as it was typed, in one line.

    >>> _plain("sun\\n*is* 2 < 3")
    'sun \\\\*is\\\\* 2 \\\\< 3'
    """
    return escaped(_one_line(text), LONGEST)


def _one_line(text: str) -> str:
    return " ".join(text.split())
