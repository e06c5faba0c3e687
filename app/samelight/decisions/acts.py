"""What is decided in one go, put into words and onto disk: all of it or nothing."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

from samelight.decisions.decision import Decision, to_tree
from samelight.decisions.entries import LedgerEntry, digest_of, entry_of
from samelight.decisions.folder import Folder
from samelight.sheets.errors import SamelightError
from samelight.sheets.stamps import stamp_of
from samelight.sheets.trees import LARGEST_FILE
from samelight.sheets.writing import WriteError, make_folder, write_new, yaml_text

_ACT = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}")


class DecisionError(SamelightError):
    """A decision that cannot be made as asked."""


@dataclass(frozen=True, slots=True)
class Act:
    """Decisions made in one go, and the text of each by the name of its file."""

    decisions: tuple[Decision, ...]
    texts: Mapping[str, str]

    def rests_on(self) -> set[str]:
        """The ids of what was known when it was made and that it names."""
        return {name.rpartition(":")[0] for decision in self.decisions[:1] for name in decision.saw or ()} | {
            decision.withdraws for decision in self.decisions if decision.withdraws
        }

    def pending(self) -> list[LedgerEntry]:
        """The entries as they will be once they are written, without a stamp."""
        return [
            entry_of(name, (0, 0, 0, 0), digest_of(text), decision)
            for decision, (name, text) in zip(self.decisions, self.texts.items(), strict=True)
        ]

    def write(self, files: Folder) -> list[LedgerEntry]:
        """Write all of the files or none, and clear away what others left; they are on disk when it returns.

        Only the folder of decisions itself is ever made, in a sequence that is there. Raises `WriteError`, `OfflineError`.
        """
        if not self.texts:
            return []
        files.check()
        folder = files.path
        if folder.parent.is_dir():
            make_folder(folder)
        paths = [folder / name for name in self.texts]
        write_new(dict(zip(paths, self.texts.values(), strict=True)))
        try:
            stamps = [stamp_of(path) for path in paths]
        except OSError as error:
            for path in paths:
                with suppress(OSError):
                    path.unlink()
            raise WriteError(f"{folder}: could not be written: {error.strerror or error}") from None
        entries = [one._replace(stamp=stamp) for one, stamp in zip(self.pending(), stamps, strict=True)]
        files.add(entries)
        files.clean(max(stamp[0] for stamp in stamps))
        return entries


def check_act(act: str) -> None:
    """Raises `DecisionError` for a name of an act that cannot be part of the name of a file."""
    if not _ACT.fullmatch(act):
        raise DecisionError(
            f"the name of an act has letters, digits, points, hyphens and underscores, 80 at most; found {act!r}"
        )


def id_in_act(act: str, decision: Decision) -> str:
    """The id of a decision under the name of an act: the same whenever the same is decided under it."""
    said = json.dumps([str(decision.verb), decision.shot, decision.parameter, decision.withdraws])
    return f"{act}-{hashlib.sha256(said.encode('utf-8', 'surrogatepass')).hexdigest()[:12]}"


def compose(decisions: Sequence[Decision], heads: tuple[str, ...]) -> Act:
    """Decisions as they are written: the first names the latest entries that are known, each other the one before it.

    What they have in common is put into words once. Raises `DecisionError` for what a file cannot hold.
    """
    lines = _Lines()
    made, texts, saw = [], {}, heads
    for decision in decisions:
        chained = replace(decision, saw=saw)
        text = "".join(lines.line(key, value) for key, value in to_tree(chained).items())
        if len(text) * 4 > LARGEST_FILE and len(text.encode()) > LARGEST_FILE:
            raise DecisionError(f"a decision has at most {LARGEST_FILE // 2**20} MiB, reason and all")
        made.append(chained)
        texts[f"{decision.id}.yaml"] = text
        saw = (f"{decision.id}:{digest_of(text)}",)
    return Act(tuple(made), texts)


_FIGURE = re.compile(
    r"\d{4}-\d\d-\d\dT\d{6}\.\d{6}Z-[0-9a-f]{12}(?::[0-9a-f]{16})?|(?:^|(?<=[ \[(]))-?\d+\.\d+(?=[,\])}]|$)",
    re.ASCII,
)
"""An id, one with a digest, and a plain number: how a line is laid out and quoted does not hang on which of its kind each is."""


def _kind(figure: re.Match[str]) -> str:
    """What stands for a figure in a shape: no text has a line break as `repr` says it."""
    return "\n:" if ":" in figure[0] else "\nT" if "T" in figure[0] else "\n"


class _Lines:
    """Lines of decisions. Of those that differ in ids and numbers alone one is put into words, and these into it."""

    def __init__(self) -> None:
        self._whole: dict[tuple[str, str], str] = {}
        self._between: dict[tuple[str, str], list[str]] = {}

    def line(self, key: str, value: Any) -> str:
        """A key and what stands behind it, as YAML."""
        said = repr(value)  # equal numbers may be written differently
        line = self._whole.get((key, said))
        if line is None:
            figures, shape = _FIGURE.findall(said), (key, _FIGURE.sub(_kind, said))
            between = self._between.get(shape)
            if between is None:
                line = _line(key, value)
                if _FIGURE.findall(line) == figures:
                    self._between[shape] = _FIGURE.split(line)
            else:
                line = between[0] + "".join(map("".join, zip(figures, between[1:], strict=True)))
            self._whole[key, said] = line
        return line


def _line(key: str, value: Any) -> str:
    tree = {key: value}
    try:
        # Half a character, as a command line in another encoding leaves it, would make a file that nobody can read.
        json.dumps(tree, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        found = error.object[error.start : error.end]
        raise DecisionError(f"{found!a} is no whole character and cannot be kept") from None
    return yaml_text(tree)
