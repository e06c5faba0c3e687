"""The formats of the files of a sequence beside its sheets as JSON Schemas (draft 2020-12): sequence.yaml, a policy, a decision, a
saved view.

An editor completes and checks by them what is typed; what must agree with what, only reading the file tells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from samelight.decisions.decision import Verb
from samelight.drift.cells import GRADES
from samelight.drift.policy import LIMITS
from samelight.findings.registry import FINDING_NAMES
from samelight.light.spaces import SPACES
from samelight.sequence.saved_views import LONGEST_FILTER, Order, Show, Shown
from samelight.sheets.vocabulary import FORMAT_VERSION, KINDS, UNITS_KEYS

Schema = dict[str, Any]
_ANY: Schema = {}
_SWITCH: Schema = {"type": "boolean"}


def _text(means: str) -> Schema:
    return {"type": ["string", "number"], "description": means}


def _whole(means: str, least: int = 1) -> Schema:
    return {"type": "integer", "minimum": least, "description": means}


def _list(of: Schema, means: str) -> Schema:
    return {"type": ["array", "null"], "items": of, "description": means}


def _words(words: Iterable[str], means: str) -> Schema:
    return {"enum": [*map(str, words)], "description": means}


def _by_name(of: Schema, means: str) -> Schema:
    return {"type": ["object", "array", "null"], "additionalProperties": of, "description": means}


def _keys(properties: Mapping[str, Schema], required: Iterable[str] = (), means: str = "") -> Schema:
    return {
        "type": "object",
        **({"description": means} if means else {}),
        "properties": dict(properties),
        "required": [*required],
        "additionalProperties": False,
    }


def _file(name: str, title: str, keys: Schema) -> Schema:
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:samelight:{name}:{FORMAT_VERSION}",
        "title": title,
        **keys,
    }


_SHOTS = {
    "anyOf": [_list(_text("A shot, a run of the cut such as HB_050-HB_080, or a pattern"), ""), _text("")],
    "description": "Shots, runs of the cut such as HB_050-HB_080, patterns such as HB_1*",
}
_LOCK = {
    "anyOf": [
        {"type": "string"},
        _keys({"pattern": _text("Which parameters"), "why": _text("Why they are locked")}, ["pattern"]),
    ]
}
_LIGHTERS = _by_name(_SHOTS, "Who lights which shots, by name")
_FORMAT: Schema = {
    "type": "integer",
    "minimum": 1,
    "maximum": FORMAT_VERSION,
    "description": "The version of this format",
}
_MASTER: Schema = {"anyOf": [_whole("A version"), {"const": "latest"}, {"type": "null"}]}
_SETUP = _keys(
    {
        "shots": _SHOTS,
        "key_shot": _text("The shot that its masters are made of"),
        "master": _MASTER,
        "policy": _text("A policy of its own, on top of the sequence's"),
        "locks": _list(_LOCK, "What must never differ in it"),
        "lighters": {"anyOf": [_LIGHTERS, _SHOTS]},
        "from": _text("The set-up to whose master its own is held"),
        "except": _list(_text("A pattern of groups"), "What of that it has for itself"),
        "notes": _ANY,
    }
)


def sequence_schema() -> Schema:
    """The schema of sequence.yaml."""
    return _file(
        "sequence",
        "Samelight sequence.yaml",
        _keys(
            {
                "samelight_sequence": _FORMAT,
                "samelight": _FORMAT,
                "title": _text("What the sequence is called"),
                "cut": {
                    "anyOf": [_list(_text("A shot"), ""), {"type": "string"}],
                    "description": "The shots in cut order, or the name of an .otio or .edl file",
                },
                "frame_rate": {"type": ["number", "null"], "exclusiveMinimum": 0, "maximum": 1000},
                "up_axis": _words(("Y", "Z", "y", "z"), "Which axis is up"),
                "north": {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3},
                "units": _keys(dict.fromkeys(sorted(UNITS_KEYS), _text("What a bare number counts in"))),
                "working_space": _text(f"The working space of colours: {', '.join(sorted(SPACES))}"),
                "ocio": _text(
                    "An OpenColorIO config: a file, or ocio:// and the name of one that is built in"
                ),
                "policy": _text("The policy's file in the sequence folder"),
                "key_shot": _text("The shot that masters are made of"),
                "master": _MASTER,
                "pinned": _by_name(_MASTER, "Shots and the version of the sheet that counts"),
                "scenes": {
                    "anyOf": [_by_name({"type": "string"}, "A scene for each shot"), {"type": "string"}]
                },
                "master_layers": _text("A pattern of names with a {version}"),
                "allow_roots": {"anyOf": [_list({"type": "string"}, "Folders"), {"type": "string"}]},
                "lighters": _LIGHTERS,
                "notes": _ANY,
                "place": _ANY,
                "setups": _by_name(_SETUP, "Day and night, inside and outside: each with its own masters"),
                "follows": _by_name(_text("A shot"), "Shots that are compared with another shot"),
            }
        ),
    )


def policy_schema() -> Schema:
    """The schema of a policy."""
    amount: Schema = {"type": ["number", "string"], "description": "How much, with its unit, such as 0.15 st"}
    level = _words(GRADES, "How bad it is by itself")
    return _file(
        "policy",
        "Samelight policy",
        _keys(
            {
                "samelight_policy": _FORMAT,
                "samelight": _FORMAT,
                "tolerances": _by_name(
                    {
                        "anyOf": [
                            amount,
                            _keys(
                                {
                                    "at_most": amount,
                                    "seen": amount
                                    | {"description": "Of a place, degrees from the nearest mark"},
                                    "share": amount
                                    | {"description": "Of an angle, per cent of its reference"},
                                    "why": _text("Why so much is fine"),
                                },
                                ["at_most"],
                            ),
                        ]
                    },
                    "What a drift may be, by kind or by a pattern of parameters",
                ),
                "locks": _list(_LOCK, "What must never differ"),
                "kinds": _by_name(_words(KINDS, "How it is compared"), "The kind of parameters, by pattern"),
                "defaults": _by_name(_ANY, "What a renderer takes when nothing was set, by pattern"),
                "limits": _keys({key: {"type": "number"} for key in LIMITS}),
                "findings": {
                    "type": ["object", "null"],
                    "propertyNames": _words(FINDING_NAMES, "A finding"),
                    "additionalProperties": {
                        "anyOf": [
                            level,
                            _keys({"level": level, "likely": level, "why": _text("Why")}, ["level"]),
                        ]
                    },
                },
                "notes": _ANY,
            }
        ),
    )


def decision_schema() -> Schema:
    """The schema of a decision, of which each is a file that nobody edits."""
    bound = {"description": "A canonical value, as `samelight check --format json` states it under rests"}
    return _file(
        "decision",
        "Samelight decision",
        _keys(
            {
                "samelight_decision": _FORMAT,
                "id": {"type": "string", "minLength": 1, "description": "Unique, and sorts by time"},
                "verb": _words(Verb, "What was decided"),
                "shot": _text("Which shot"),
                "parameter": {
                    "type": "string",
                    "description": "Which parameter or finding; empty for a note",
                },
                "value": bound,
                "master": bound,
                "reason": {"type": ["string", "number", "null"], "description": "Why"},
                "who": _text("Who decided"),
                "when": {"type": "string", "format": "date-time", "description": "When, with its zone"},
                "withdraws": {"type": "string", "description": "The decision that it takes back"},
                "follows": _list({"type": "string"}, "The decisions on the same that its maker had seen"),
                "batch": {"type": "string", "description": "What was decided in one go"},
                "until": _whole("The last master version on which it holds"),
                "of": _whole("How many were decided in one go"),
                "saw": _list({"type": "string"}, "The newest of the ledger that its maker had seen"),
                "whole": _SWITCH,
                "version": _whole("The version of the shot's sheet that it was made on", 0),
                "frame": {"type": "integer", "description": "The frame that was looked at"},
                "picture": {
                    "type": "string",
                    "description": "The picture that was grabbed of it, by the name of its file",
                },
            },
            ["id", "verb", "shot", "parameter", "who", "when"],
        ),
    )


def view_schema() -> Schema:
    """The schema of a saved view."""
    names = _list(_text("A group, parameter or shot"), "Names")
    return _file(
        "view",
        "Samelight saved view",
        _keys(
            {
                "samelight_view": _FORMAT,
                "rows": _words(Show, "Which rows are listed"),
                "filter": {"type": ["string", "number"], "maxLength": LONGEST_FILTER},
                "order": _words(Order, "In which order"),
                "cells": _words(Shown, "What a cell says"),
                "only_my_shots": _SWITCH,
                "column_width": {"type": ["number", "null"], "exclusiveMinimum": 0},
                "fitted": _SWITCH,
                **dict.fromkeys(("expanded", "pinned", "hidden_rows", "hidden_shots", "together"), names),
            }
        ),
    )


FILE_SCHEMAS: Mapping[str, Callable[[], Schema]] = {
    "sequence": sequence_schema,
    "policy": policy_schema,
    "decision": decision_schema,
    "view": view_schema,
}
"""What makes each of them, by the name that a command line takes."""
