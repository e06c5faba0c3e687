"""The pages of the lighters as plain text, for a chat or a mail: no marks of any program, one line a thing to set."""

from __future__ import annotations

from collections.abc import Iterator

from samelight.drift.words import counted
from samelight.reports.lighter_pages import HandOver, LighterPage, Task
from samelight.reports.shown import shown
from samelight.sequence.crew import NOBODY


def pages_text(handed: HandOver) -> str:
    """All pages, one under the other."""
    if not handed.pages:
        return f"{shown(handed.title)}: nothing is to be mended.\n"
    return "\n".join("\n".join(_page(page, handed)) + "\n" for page in handed.pages)


def _page(page: LighterPage, handed: HandOver) -> Iterator[str]:
    whose = "Nobody's shots" if page.lighter == NOBODY else shown(page.lighter)
    against = "" if handed.master is None else f", against master v{handed.master:03d}"
    things, shots = counted(page.count, "thing"), counted(len(page.shots), "shot")
    yield f"{whose}: {things} to mend in {shots} of {shown(handed.title)}{against}"
    for part in page.shots:
        version = "no sheet" if part.version is None else f"sheet v{part.version:03d}"
        yield ""
        yield f"{shown(part.shot)}, {version}"
        yield from (f"  {shown(sentence, 600)}" for sentence in part.says)
        for task in part.tasks:
            yield from _task(task)


def _task(task: Task) -> Iterator[str]:
    state = "" if task.state == "undecided" else f", {task.state}"
    yield f"  - {shown(task.parameter)}: {shown(task.off)}{state}"
    if task.put:
        yield f"    {shown(task.put, 1000)}"
    if task.advice:
        yield f"    {shown(task.advice, 600)}"
    yield from (f"    {shown(reason, 1000)}" for reason in task.why)
