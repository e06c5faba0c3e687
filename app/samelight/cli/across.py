"""`samelight across`: what goes through all sequences of a production, in story order."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from samelight.cli.production import production_of
from samelight.cli.terminal import (
    ALL_SETTLED,
    COULD_NOT_RUN,
    UNSETTLED,
    complain,
    print_json,
    print_line,
    print_text,
)
from samelight.drift.words import counted
from samelight.reports.as_csv import csv_text
from samelight.reports.kept_summary import read_summary
from samelight.reports.over_film import (
    CAUTION,
    Shared,
    StoryPlace,
    SunPlace,
    course_says,
    names_say,
    shared_things,
    story_places,
    sun_places,
)
from samelight.reports.plan_text import aligned
from samelight.reports.shown import shown
from samelight.reports.summary import Summary
from samelight.reports.traced import Traced, trace, trace_lines
from samelight.sequence.contents import common_policy
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import Production
from samelight.sheets.vocabulary import FORMAT_VERSION

EXAMPLES = """examples:
  samelight across town
  samelight across town --trace lights.sun
  samelight across town --trace environments.dawn_sky --format csv > dawn_sky.csv
  samelight across town --format json
"""

_NAME = 40


DESCRIPTION = (
    "Say which lights and environments several sequences share (by one name, one path in their scenes or one file) "
    "and in what they are not one, and whether each sun stands where it stood at the moment that production.yaml or its "
    f"master states, without going back within a day. {CAUTION} Exit status: 0 nothing to look at; 1 something; 2 not "
    "every sequence could be read."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "folder", type=Path, help="the production: production.yaml's folder, or a folder of sequences"
    )
    parser.add_argument(
        "--trace",
        metavar="NAME",
        help="follow one light or environment, such as lights.sun, through all shots of all sequences in story order",
    )
    parser.add_argument(
        "--format",
        choices=("text", "json", "csv"),
        default="text",
        help="how to print (default: text); csv goes with --trace",
    )


def run(arguments: argparse.Namespace) -> int:
    """Say it. Raises `SamelightError` where there is no such production, or nothing of that name in it."""
    production = production_of(arguments)
    if arguments.format == "csv" and not arguments.trace:
        raise SamelightError("--format csv goes with --trace NAME: one light or environment, a line a shot")
    policy = common_policy(production.policy)
    if arguments.trace:
        return _trace(production, arguments)
    summaries, broken = _summaries(production)
    places = story_places(summaries, production.story)
    shared, suns = shared_things(places, policy), sun_places(places, policy)
    said = course_says(suns)
    if arguments.format == "json":
        print_json(_data(production, places, shared, suns, broken))
    else:
        _print(production, summaries, shared, suns)
    if broken:
        return COULD_NOT_RUN
    return UNSETTLED if said or any(one.differs for one in shared) else ALL_SETTLED


def _summaries(production: Production) -> tuple[dict[str, Summary], dict[str, str]]:
    """What is known of each sequence, and why of others nothing is."""
    found: dict[str, Summary] = {}
    broken: dict[str, str] = {}
    for name, folder in production.sequences.items():
        try:
            found[name] = read_summary(folder, production.common(name))
        except (SamelightError, OSError) as error:
            broken[name] = str(error)
            for line in str(error).splitlines():
                complain(f"{name}: {line}")
    return found, broken


def _print(
    production: Production, summaries: Mapping[str, Summary], shared: list[Shared], suns: list[SunPlace]
) -> None:
    print_line(f"{production.title}: {counted(len(summaries), 'sequence')} in story order")
    if suns:
        rows = [_sun_row(one) for one in suns]
        head = ("set-up", "light", "moment", "az", "el", "sun az", "sun el", "apart", "")
        print_text("\n" + "\n".join(aligned(head, rows)) + "\n")
    if any(one.moment for one in suns):
        print_line(CAUTION)
    elif suns:
        print_line(
            "No moment is stated, so that no sun is compared with where it stood: state story.times in production.yaml, or sun: in "
            "a master."
        )
    for line in course_says(suns):
        print_line(line)
    one = [thing for thing in shared if not thing.differs]
    other = [thing for thing in shared if thing.differs and not thing.is_of_name_alone]
    print_line("")
    print_line(
        f"{counted(len(shared), 'light or environment', 'lights and environments')} in more than one sequence, "
        f"{len(one)} of them one over all of it."
    )
    for thing in other:
        print_line(f"{thing.says} Known as one by {' and '.join(thing.known_by)}.")
        for differs in thing.differs:
            print_line(f"  {differs.parameter}")
            for value, places in differs.values:
                print_line(f"    {value}: {', '.join(places)}")
    for line in names_say(shared):
        print_line(line)


def _sun_row(one: SunPlace) -> tuple[str, ...]:
    def degrees(place: tuple[float, float] | None) -> tuple[str, str]:
        return ("", "") if place is None else (f"{place[0]:.1f}", f"{place[1]:.1f}")

    remark = "to look at" if one.is_off else ""
    if one.sun is not None and not one.is_up:
        remark = "the sun is below the horizon: not compared with it"
    return (
        shown(one.place, _NAME),
        shown(one.light, _NAME),
        one.moment.text if one.moment is not None else "",
        *degrees(one.lit),
        *degrees(one.sun),
        "" if one.apart is None else f"{one.apart:.1f}",
        remark,
    )


def _data(
    production: Production,
    places: list[StoryPlace],
    shared: list[Shared],
    suns: list[SunPlace],
    broken: Mapping[str, str],
) -> dict[str, Any]:
    return {
        "samelight": FORMAT_VERSION,
        "production": production.title,
        "places": [one.name for one in places],
        "shared": [
            {
                "section": one.section,
                "name": one.name,
                "known_by": list(one.known_by),
                "places": list(one.places),
                "everywhere": one.everywhere,
                "differs": [
                    {
                        "parameter": differs.parameter,
                        "values": [{"value": value, "places": list(at)} for value, at in differs.values],
                    }
                    for differs in one.differs
                ],
            }
            for one in shared
        ],
        "suns": [_sun_data(one) for one in suns],
        "course": course_says(suns),
        "caution": CAUTION,
        "troubles": [{"name": name, "error": why} for name, why in broken.items()],
    }


def _sun_data(one: SunPlace) -> dict[str, Any]:
    return {
        "place": one.place,
        "light": one.light,
        "moment": None if one.moment is None else one.moment.when.isoformat(),
        "azimuth": round(one.lit[0], 6),
        "elevation": round(one.lit[1], 6),
        "sun_azimuth": None if one.sun is None else round(one.sun[0], 6),
        "sun_elevation": None if one.sun is None else round(one.sun[1], 6),
        "apart": None if one.apart is None else round(one.apart, 6),
        "tolerance": one.tolerance,
        "off": one.is_off,
    }


def _trace(production: Production, arguments: argparse.Namespace) -> int:
    traced, broken = trace(production, arguments.trace)
    for name, why in broken.items():
        for line in why.splitlines():
            complain(f"{name}: {line}")
    if arguments.format == "json":
        print_json(_trace_data(production, traced))
    elif arguments.format == "csv":
        print_text(_trace_csv(traced))
    else:
        print_text("\n".join(trace_lines(traced)) + "\n")
    return COULD_NOT_RUN if broken else ALL_SETTLED


def _trace_data(production: Production, traced: Traced) -> dict[str, Any]:
    return {
        "samelight": FORMAT_VERSION,
        "production": production.title,
        "trace": traced.name,
        "parameters": list(traced.leaves),
        "shots": [
            {
                "sequence": one.sequence,
                "setup": one.setup or None,
                "shot": one.shot,
                "values": dict(one.said),
                "masters": dict(one.master),
                "readings": {leaf: reading for leaf, reading in one.readings.items() if reading is not None},
            }
            for one in traced.stops
        ],
    }


def _trace_csv(traced: Traced) -> str:
    readings = list(dict.fromkeys(name for one in traced.stops for name in one.readings))
    head = ["sequence", "setup", "shot", *traced.leaves, *(f"{name} (number)" for name in readings)]
    rows = (
        [
            *(one.sequence, one.setup, one.shot),
            *(one.said.get(leaf, "") for leaf in traced.leaves),
            *(one.readings.get(name) for name in readings),
        ]
        for one in traced.stops
    )
    return csv_text(head, rows)
