"""The format of `samelight check --format json` as a JSON Schema (draft 2020-12), made of the names the code uses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.metrics import SCALES
from samelight.findings.finding import Action, Concern, Sureness
from samelight.findings.registry import FINDING_NAMES
from samelight.sheets.vocabulary import CURVE, FORMAT_VERSION, KINDS, PRESENCE

_STANDS = ("undecided", "sent_back", "intended")
_GRADES = [grade.word for grade in Grade if grade.word]
_STATES = [str(state) for state in State]
_OF_A_FINDING = [
    "finding",
    "shots",
    "parameters",
    "says",
    "sure",
    "known",
    "guessed",
    "do",
    "cells",
    "concern",
    "actions",
    "level",
    "state",
    "cases",
    "harm",
]
Schema = dict[str, Any]


def _text(means: str) -> Schema:
    return {"type": "string", "description": means}


def _one_of(words: list[str], means: str) -> Schema:
    return {"enum": words, "description": means}


def _list(of: Schema, means: str) -> Schema:
    return {"type": "array", "items": of, "description": means}


def _object(properties: Mapping[str, Schema], required: list[str], means: str) -> Schema:
    return {
        "type": "object",
        "description": means,
        "properties": dict(properties),
        "required": required,
        # Whoever reads it must let names pass that a later version adds.
        "additionalProperties": True,
    }


def check_schema() -> Schema:
    """The schema of a whole result."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Result of samelight check",
        **_result(),
        "$defs": {"cell": _cell(), "finding": _finding(), "case": _case(), "setup": _setup(), **_standing()},
    }


def _standing() -> dict[str, Schema]:
    """How the cases of one shot, and of one lighter, stand."""
    count = {"type": "integer", "minimum": 0}
    stands = dict.fromkeys(_STANDS, count)
    return {
        "by_shot": _object(
            {
                "shot": _text("Name of the shot"),
                "lighters": _list({"type": "string"}, "Who lights it, by sequence.yaml"),
                **stands,
            },
            ["shot", "lighters", *_STANDS],
            "One shot, and how its cases at or above the level drift stand",
        ),
        "by_lighter": _object(
            {
                "lighter": {"type": ["string", "null"], "description": "Name; null for nobody"},
                "shots": {**count, "description": "How many of the shots looked at are theirs"},
                **stands,
            },
            ["lighter", "shots", *_STANDS],
            "One lighter, and how the cases in their shots stand; a shot of two counts with both",
        ),
    }


def _setup() -> Schema:
    """Some shots, and what they are compared with."""
    return _object(
        {
            "setup": _text("Name of the set-up; empty where the sequence states none"),
            "master": {"type": ["integer", "null"], "description": "Version of its master setup"},
            "key_shot": {"type": ["string", "null"], "description": "The shot that its masters are made of"},
            "follows": {
                "type": ["string", "null"],
                "description": "The shot that these are compared with in place of a master",
            },
            "shots": _list({"type": "string"}, "Its shots that were looked at, in cut order"),
        },
        ["setup", "master", "key_shot", "follows", "shots"],
        "Shots that are compared with one thing",
    )


def _result() -> Schema:
    """What stands at the top."""
    count = {"type": "integer", "minimum": 0}
    return _object(
        {
            "samelight": {"const": FORMAT_VERSION, "description": "Version of this format"},
            "sequence": _text("Title of the sequence"),
            "master": {
                "type": ["integer", "null"],
                "description": "Version of the master setup; null without one, and where there are setups",
            },
            "setups": _list(
                {"$ref": "#/$defs/setup"},
                "Where shots are compared with several masters or against other shots: which against which",
            ),
            "shots": _list({"type": "string"}, "The shots that were looked at, in cut order"),
            "cells": _list(
                {"$ref": "#/$defs/cell"}, "Every cell above the level same; all of them with --all"
            ),
            "findings": _list({"$ref": "#/$defs/finding"}, "Ranked"),
            "counts": _object(
                dict.fromkeys(_GRADES, count), _GRADES, "Cells of each level, in the shots looked at"
            ),
            "cases": _object(
                dict.fromkeys(_STANDS, count),
                list(_STANDS),
                "How the cases at or above the level drift stand, in the shots looked at: cells that do not follow from "
                "others, and findings that are decided on by themselves. The check passes when none is undecided or sent back",
            ),
            "by_shot": _list({"$ref": "#/$defs/by_shot"}, "Every shot that was looked at, in cut order"),
            "by_lighter": _list(
                {"$ref": "#/$defs/by_lighter"},
                "The lighters whom sequence.yaml names and who have a shot among these, in its order, then nobody; empty "
                "where it names none",
            ),
            "troubles": _list({"type": "string"}, "What could not be read or used, in words"),
            "ledger": _text(
                "How many decisions were judged by, and a digest of them: equal where they are the same"
            ),
        },
        [
            "samelight",
            "sequence",
            "master",
            "cells",
            "findings",
            "counts",
            "cases",
            "by_shot",
            "by_lighter",
            "troubles",
        ],
        "What `samelight check --format json` prints",
    )


def _cell() -> Schema:
    """One parameter of one shot."""
    rests = _rests()
    units = sorted({scale.unit for scale in SCALES.values()})
    return _object(
        {
            "shot": _text("Name of the shot"),
            "parameter": _text(
                "Full name, such as lights.sun.direction; without a last part, the presence of a group"
            ),
            "kind": _one_of(
                sorted({*KINDS, CURVE, PRESENCE}), "How it is compared; curve where a side is animated"
            ),
            "of": _one_of(sorted(KINDS), "For a curve, what its values are"),
            "master": _text("The reference's value, in words"),
            "value": _text("The shot's value, in words"),
            "drift": {
                "type": ["number", "null"],
                "description": "In the unit; for x the ratio shot over master. Null where it has no finite number",
            },
            "unit": _one_of(units, "Unit of drift and tolerance; empty where values are equal or not"),
            "tolerance": {"type": "number", "description": "What the drift may be"},
            "level": _one_of(
                ["", *_GRADES], "How bad it is; empty where the reference has no value to compare with"
            ),
            "state": _one_of(_STATES, "What was decided"),
            "remark": _text("What must be said beside it"),
            "rests": {
                **rests,
                "description": f"Of a group that only the shot has, all that it holds. {rests['description']}",
            },
            "follows": _list(
                {"type": "string"},
                "Of a computed cell, the parameters that it follows from in its shot: it is no case, and stands as they do",
            ),
            "baseline": {"const": True, "description": "Present where --baseline accepts the cell"},
        },
        ["shot", "parameter", "kind", "master", "value", "drift", "unit", "tolerance", "level", "state"],
        "One parameter of one shot",
    )


def _case() -> Schema:
    """What is decided on of a finding in one shot."""
    return _object(
        {
            "shot": _text("Name of the shot"),
            "parameter": _text("The name by which it is decided on, such as findings.one-frame.background"),
            "value": _text("What the finding rests on in that shot, in words"),
            "master": _text("The reference of that, in words; empty where it is the master setup"),
            "level": _one_of(_GRADES, "How bad it is, by the policy"),
            "state": _one_of(_STATES, "What was decided"),
            "rests": _rests(),
            "baseline": {"const": True, "description": "Present where --baseline accepts the case"},
        },
        ["shot", "parameter", "value", "master", "level", "state", "rests"],
        "What is decided on of a finding in one shot, where no cell of it is out of tolerance",
    )


def _rests() -> Schema:
    """What a decision is bound to."""
    return _object(
        {"value": {}, "master": {}},
        ["value", "master"],
        "What a decision on it is bound to: the same as data, as a decision's file has it",
    )


def _finding() -> Schema:
    """Why cells differ."""
    return _object(
        {
            "finding": _one_of(list(FINDING_NAMES), "Its short name, which --only takes"),
            "shots": _list({"type": "string"}, "The shots it is about"),
            "lighters": _list({"type": "string"}, "Who lights these, by sequence.yaml"),
            "parameters": _list({"type": "string"}, "The parameters it is about"),
            "says": _text("The finding as a sentence"),
            "sure": _one_of([str(sure) for sure in Sureness], "How sure it is"),
            "known": _text("What the data shows"),
            "guessed": _text("What is inferred from it"),
            "do": _text("What to do"),
            "cells": _list(
                {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2},
                "The cells it explains, as [shot, parameter]",
            ),
            "worst": _text("Its furthest cell, in words"),
            "tolerances_off": {
                "type": ["number", "null"],
                "description": "How many tolerances that one is off",
            },
            "concern": _one_of([concern.name.lower() for concern in Concern], "Where it shows"),
            "actions": _list(
                {"enum": [str(action) for action in Action]}, "What can be done about it in one step"
            ),
            "level": _one_of(
                ["", *_GRADES], "The worst of its cells and cases; empty where there is nothing to decide on"
            ),
            "state": _one_of(_STATES, "Of these the state that asks for a decision most"),
            "cases": _list({"$ref": "#/$defs/case"}, "What is decided on of it beside cells"),
            "setup": _text("The set-up that it is about, where there are several"),
            "harm": _harm(),
            "frames": _list(
                _frame(), "Of a mark that is unsteady each frame, in order, in stops over the first one"
            ),
        },
        _OF_A_FINDING,
        "Why cells differ",
    )


def _frame() -> Schema:
    """A mark in one of the measured frames of a shot."""
    number: Schema = {"type": "number"}
    maybe: Schema = {"type": ["number", "null"]}
    said: dict[str, Schema] = {
        "frame": {**number, "description": "Which frame it is"},
        "level": {**number, "description": "How bright the mark is there"},
        "expected": {**number, "description": "How bright the sheet leads one to expect it"},
        "noise": {**number, "description": "By how much noise may put the level off, each way"},
        "beside": {
            **maybe,
            "description": "How bright the frames beside it would have it, the last one: the first; null for the first",
        },
        "limit": {**maybe, "description": "How far from that it may be before it is told"},
        "told": {"type": "boolean", "description": "Whether it is the one that the finding tells"},
    }
    return _object(said, list(said), "A mark in one measured frame")


def _harm() -> Schema:
    """What a finding does to the light on a mark."""
    return {
        "type": ["object", "null"],
        "description": "What it does to the light on the mark that it changes most; null where no mark shows it",
        "properties": {
            "shot": _text("In which shot it does so"),
            "mark": _text("Name of the mark"),
            "stops": {
                "type": ["number", "null"],
                "description": "How much brighter the mark gets; null where it goes dark",
            },
            "steps": {
                "type": "number",
                "description": "About how far its colour moves, in steps of CIE TN 001:2014",
            },
            "side": _text("From where its key comes for where, such as left for right; empty where it stays"),
        },
        "required": ["shot", "mark", "stops", "steps", "side"],
    }
