"""One decision: on one cell, or on what a finding says of one shot, bound to the values it was made on."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from samelight.sheets.errors import Faults, Found, SheetError, nearest_name
from samelight.sheets.upgrades import DECISION, up_to_date
from samelight.sheets.values import Bound, decoded_bound, encoded
from samelight.sheets.vocabulary import FORMAT_VERSION


class Verb(StrEnum):
    """What a decision says. A note says something of a shot and decides nothing."""

    INTEND = "intend"
    RETURN = "return"
    TAKE_UP = "take-up"
    CLOSE = "close"
    WITHDRAW = "withdraw"
    NOTE = "note"


VERDICTS = (Verb.INTEND, Verb.RETURN)
"""The verbs that decide about a cell."""

STEPS = (*VERDICTS, Verb.TAKE_UP, Verb.CLOSE)
"""The verbs that a case goes on by: what is decided about it, who mends it, and that it is mended."""


@dataclass(frozen=True, slots=True)
class Grabbed:
    """What was on the screen when something was said: the number of the frame, None where it has none, and the file of the picture that
    was grabbed of it, by its name."""

    frame: int | None = None
    picture: str = ""

    @property
    def says(self) -> str:
        """In words; empty where nothing was grabbed.

        >>> Grabbed(1025, "LA_020.1025.png").says, Grabbed(None, "a.png").says, Grabbed().says
        ('frame 1025, picture LA_020.1025.png', 'picture a.png', '')
        """
        parts = [f"frame {self.frame}"] if self.frame is not None else []
        return ", ".join([*parts, *([f"picture {self.picture}"] if self.picture else [])])


NOT_GRABBED = Grabbed()


@dataclass(frozen=True, slots=True)
class Decision:
    """A decision as its file has it.

    `follows` names the decisions on the same cell that its maker saw: order comes from that, never from
    clocks. A `withdraw` names in `withdraws` the decision it takes back. `batch` joins decisions made in one go, and `of`
    says how many they are: they stand together, or none of them does. `saw` names the latest entries of the whole ledger
    that its maker knew, each with the digest of its file; None in a file of before there was such a thing.
    `version` is that of the shot's sheet that its maker saw; None where it is not known, as in a file of before it was kept.
    A `note` has its text in `reason`; its `parameter` is empty where it is about the whole shot.
    """

    id: str
    verb: Verb
    shot: str
    parameter: str
    value: Bound | None
    master: Bound | None
    reason: str
    who: str
    when: datetime
    follows: tuple[str, ...] = ()
    withdraws: str | None = None
    batch: str = ""
    until: int | None = None
    """The last master version on which the decision holds; None has no end."""
    of: int | None = None
    saw: tuple[str, ...] | None = None
    version: int | None = None
    seen: Grabbed = NOT_GRABBED

    @property
    def why(self) -> str:
        """The reason, and what was on the screen where that was grabbed."""
        return f"{self.reason} ({self.seen.says})".strip() if self.seen.says else self.reason


def new_id(now: datetime | None = None) -> str:
    """A unique id that sorts by time and is safe as a file name.

    >>> len(new_id()) == len("2026-09-14T081530.123456Z-0123456789ab")
    True
    """
    moment = (now or datetime.now(UTC)).astimezone(UTC)
    return f"{moment:%Y-%m-%dT%H%M%S.%f}Z-{secrets.token_hex(6)}"


def to_tree(decision: Decision) -> dict[str, Any]:
    """A decision as plain data, in the order in which people read it."""
    tree: dict[str, Any] = {
        "samelight_decision": FORMAT_VERSION,
        "id": decision.id,
        # Before all that a file must have, so that one that was cut off anywhere lacks something.
        **({} if decision.saw is None else {"saw": list(decision.saw)}),
        "verb": str(decision.verb),
        "shot": decision.shot,
        "parameter": decision.parameter,
        "value": encoded(decision.value),
        "master": encoded(decision.master),
        "reason": decision.reason,
        "who": decision.who,
        "when": decision.when.astimezone(UTC).isoformat().replace("+00:00", "Z"),
    }
    if decision.version is not None:
        tree["version"] = decision.version
    if decision.seen.frame is not None:
        tree["frame"] = decision.seen.frame
    if decision.seen.picture:
        tree["picture"] = decision.seen.picture
    if decision.withdraws:
        tree["withdraws"] = decision.withdraws
    if decision.follows:
        tree["follows"] = list(decision.follows)
    if decision.batch:
        tree["batch"] = decision.batch
    if decision.until is not None:
        tree["until"] = decision.until
    if decision.of is not None:
        tree["of"] = decision.of
    if decision.saw is not None:
        tree["whole"] = True
    return tree


_REQUIRED = ("id", "verb", "shot", "parameter", "who", "when")
_OPTIONAL = (
    "value",
    "master",
    "reason",
    "withdraws",
    "follows",
    "batch",
    "until",
    "of",
    "saw",
    "whole",
    "version",
    "frame",
    "picture",
)
KEYS = frozenset({*_REQUIRED, *_OPTIONAL, "samelight_decision"})


def from_tree(data: Any, faults: Faults) -> Decision | None:
    """The decision that `to_tree` wrote; None after faults were noted."""
    if not isinstance(data, Mapping):
        faults.add((), "a decision", data)
        return None
    before = len(faults)
    data = _of_today(data, faults)
    if data is None or len(faults) > before:
        return None
    texts = _texts(data, faults)
    verb = _verb(texts["verb"], faults)
    if verb is not None:
        _check_words(verb, texts, faults)
    when = _moment(texts["when"], faults)
    values = {key: _value(data, key, faults) for key in ("value", "master")}
    follows, saw = _names(data, "follows", faults), _names(data, "saw", faults)
    until = _count(data, "until", "the number of a master version", faults)
    version = _count(data, "version", "the version of the shot's sheet", faults)
    of = _count(data, "of", "how many decisions the batch has", faults)
    frame = _frame(data, faults)
    if len(faults) > before or verb is None or when is None:
        return None
    return Decision(
        id=texts["id"],
        verb=verb,
        shot=texts["shot"],
        parameter=texts["parameter"],
        value=values["value"],
        master=values["master"],
        reason=texts["reason"],
        who=texts["who"],
        when=when,
        follows=follows,
        withdraws=texts["withdraws"] or None,
        batch=texts["batch"],
        until=until,
        of=of,
        saw=saw if "saw" in data else None,
        version=version,
        seen=Grabbed(frame, texts["picture"]),
    )


def _of_today(data: Mapping[str, Any], faults: Faults) -> Mapping[str, Any] | None:
    """A decision's file as one of the newest format; None where it states no format that is known."""
    if "samelight_decision" not in data:
        faults.add(("samelight_decision",), f"format version {FORMAT_VERSION}", None)
        return None
    try:
        return up_to_date(data, "samelight_decision", DECISION, faults)
    except SheetError:
        return None


def _texts(data: Mapping[str, Any], faults: Faults) -> dict[str, str]:
    """What is text in a decision, by key; of one that is unknown, or of a file that is cut off, a fault is noted."""
    for key in data:
        if key not in KEYS:
            faults.unknown_key((key,), "a key of a decision", KEYS)
    if "saw" in data and data.get("whole") is not True:
        cut_off = Found("a file that is not complete yet, or was cut off")
        faults.add(("whole",), "the last line, whole: true", cut_off)
    whole_shot = data.get("verb") in (Verb.NOTE, Verb.WITHDRAW) and data.get("parameter") == ""
    required = {*_REQUIRED} - ({"parameter"} if whole_shot else set())
    keys = (*_REQUIRED, "reason", "withdraws", "batch", "picture")
    return {key: _text(data, key, key in required, faults) for key in keys}


def _frame(data: Mapping[str, Any], faults: Faults) -> int | None:
    frame = data.get("frame")
    if frame is None or type(frame) is int:
        return frame
    faults.add(("frame",), "the number of a frame", frame)
    return None


def _check_words(verb: Verb, texts: Mapping[str, str], faults: Faults) -> None:
    """Note what a decision of this verb has to say and does not."""
    if verb is Verb.INTEND and not texts["reason"].strip():
        faults.add(("reason",), "a reason for what is intended", Found("none"))
    if verb is Verb.NOTE and not texts["reason"].strip():
        faults.add(("reason",), "the text of the note", Found("none"))
    if verb is Verb.WITHDRAW and not texts["withdraws"]:
        faults.add(("withdraws",), "the id of the decision taken back", Found("none"))


def _names(data: Mapping[str, Any], key: str, faults: Faults) -> tuple[str, ...]:
    names = data.get(key, [])
    if not isinstance(names, list) or not all(isinstance(item, str) for item in names):
        faults.add((key,), "a list of ids", names)
        return ()
    return tuple(names)


def _count(data: Mapping[str, Any], key: str, expected: str, faults: Faults) -> int | None:
    number = data.get(key)
    if number is None:
        return None
    if isinstance(number, bool) or not isinstance(number, int) or number < 1:
        faults.add((key,), expected, number)
        return None
    return number


def _text(data: Mapping[str, Any], key: str, required: bool, faults: Faults) -> str:
    value = data.get(key)
    if value is None and not required:
        return ""
    if isinstance(value, int | float) and not isinstance(value, bool) and key in ("shot", "reason", "who"):
        return str(value)
    if not isinstance(value, str) or (required and not value.strip()):
        faults.add((key,), "text", value)
        return ""
    return value


def _verb(text: str, faults: Faults) -> Verb | None:
    try:
        return Verb(text)
    except ValueError:
        if text:
            faults.add(("verb",), f"one of {', '.join(Verb)}", text, nearest_name(text, list(Verb)))
        return None


def _moment(text: str, faults: Faults) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        if text:
            faults.add(("when",), "a date and time with its zone, such as 2026-09-14T08:15:30Z", text)
        return None
    return moment


def _value(data: Mapping[str, Any], key: str, faults: Faults) -> Bound | None:
    try:
        return decoded_bound(data.get(key))
    except ValueError as error:
        faults.add((key,), "a canonical value", Found(str(error)))
        return None
