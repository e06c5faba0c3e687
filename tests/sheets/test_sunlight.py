"""The sun by place, date and time in a sheet."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from samelight.light.directions import to_azimuth_elevation
from samelight.light.sun import sun_direction
from samelight.sheets.errors import SheetError
from samelight.sheets.parameters import SUN
from samelight.sheets.schema import sheet_schema
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.values import Curve
from samelight.sheets.vocabulary import SUN_INPUTS
from samelight.sheets.writing import json_text, yaml_text

WHEN = "2026-03-02T06:40:00+01:00"
PLACE = {"latitude": 59.91, "longitude": 10.75}


def tree(sun: Any, **more: Any) -> dict[str, Any]:
    return {"samelight": 2, "shot": "A", "lights": {"sun": {"type": "distant", "sun": sun, **more}}}


def read(data: dict[str, Any], suffix: str = "yaml", **head: Any) -> Sheet:
    text = yaml_text({**data, **head}) if suffix == "yaml" else json_text({**data, **head})
    return sheet_from_document(parse_document(Path(f"A.{suffix}"), text))


def faults(sun: Any, **more: Any) -> str:
    with pytest.raises(SheetError) as caught:
        read(tree(sun, **more))
    return "\n".join(str(fault) for fault in caught.value.faults)


def stands(sheet: Sheet) -> tuple[float, float]:
    direction = sheet.value("lights", "sun", "direction")
    assert isinstance(direction, tuple)
    return to_azimuth_elevation((direction[0], direction[1], direction[2]))


@pytest.mark.parametrize("suffix", ["yaml", "json"])
@pytest.mark.parametrize("height", [None, 1200])
def test_it_becomes_a_direction(suffix: str, height: float | None) -> None:
    more = {} if height is None else {"elevation_m": height}
    sheet = read(tree({**PLACE, "date_time": WHEN, **more}), suffix)
    expected = sun_direction(59.91, 10.75, datetime.fromisoformat(WHEN), elevation_m=height or 0)
    assert stands(sheet) == pytest.approx(expected)
    assert not [leaf for leaf in sheet.sections["lights"]["sun"] if leaf.startswith("sun")]


def test_an_unquoted_time_is_read_as_it_stands() -> None:
    text = f"samelight: 2\nshot: A\nlights:\n  sun: {{type: distant, sun: {{latitude: 59.91, longitude: 10.75, date_time: {WHEN}}}}}\n"
    sheet = sheet_from_document(parse_document(Path("A.yaml"), text))
    assert stands(sheet) == pytest.approx(stands(read(tree({**PLACE, "date_time": WHEN}))))


def test_the_same_moment_in_another_zone_is_the_same_sun() -> None:
    here, there = (read(tree({**PLACE, "date_time": when})) for when in (WHEN, "2026-03-02T05:40:00Z"))
    assert stands(here) == stands(there)


def test_azimuth_counts_from_the_sheets_north() -> None:
    turned = read(tree({**PLACE, "date_time": WHEN}), north=[1, 0, 0])
    azimuth, elevation = stands(read(tree({**PLACE, "date_time": WHEN})))
    assert stands(turned) == pytest.approx(((azimuth + 90) % 360, elevation))


def test_a_sheet_written_and_read_again_has_the_same_sun() -> None:
    data = tree({**PLACE, "date_time": WHEN, "elevation_m": 12})
    once = read(data)
    assert once.as_typed("lights", "sun", "direction") == {"sun": data["lights"]["sun"]["sun"]}
    assert read(dict(once.typed)).sections == once.sections


def test_a_direction_that_it_was_read_into_spells_the_same() -> None:
    once = read(tree({**PLACE, "date_time": WHEN}))
    azimuth, elevation = stands(once)
    spelled = {
        "samelight": 2,
        "shot": "A",
        "lights": {"sun": {"type": "distant", "azimuth": azimuth, "elevation": elevation}},
    }
    assert stands(read(spelled)) == pytest.approx((azimuth, elevation))


def test_a_naive_time_is_a_fault() -> None:
    said = faults({**PLACE, "date_time": "2026-03-02T06:40:00"})
    assert "lights.sun.sun.date_time" in said
    assert "with its zone" in said
    assert "which has no zone" in said


@pytest.mark.parametrize(
    ("changed", "place", "expected"),
    [
        ({"latitude": 91}, "sun.latitude", "-90 to 90"),
        ({"longitude": -181}, "sun.longitude", "-180 to 360"),
        ({"elevation_m": 12000}, "sun.elevation_m", "-1000 to 11000"),
        ({"date_time": "tomorrow"}, "sun.date_time", "a date and time with its zone"),
        ({"date_time": "0001-01-01T00:00:00+14:00"}, "sun.date_time", "a date and time with its zone"),
        ({"date_time": "9999-12-31T23:59:00-14:00"}, "sun.date_time", "a date and time with its zone"),
        ({"date_time": 20260302}, "sun.date_time", "text"),
        ({"latitude": None}, "lights.sun.sun", "latitude, longitude and date_time"),
        ({"lattitude": 3}, "sun.lattitude", "did you mean latitude"),
    ],
)
def test_faults_say_where_and_what(changed: dict[str, Any], place: str, expected: str) -> None:
    said = faults({**PLACE, "date_time": WHEN, **changed})
    assert place in said
    assert expected in said


def test_an_azimuth_beside_it_must_agree() -> None:
    assert "the aim that its azimuth gives" in faults({**PLACE, "date_time": WHEN}, azimuth=10, elevation=40)


def test_an_animated_time_holds_from_key_to_key() -> None:
    keys = {"keys": [[1, WHEN], [100, "2026-03-02T08:40:00+01:00"]]}
    direction = read(tree({**PLACE, "date_time": keys})).value("lights", "sun", "direction")
    assert isinstance(direction, Curve)
    assert direction.at(50) == direction.at(1)
    assert direction.at(100) != direction.at(1)


def test_the_schema_knows_it() -> None:
    schema = sheet_schema()
    jsonschema.validate(tree({**PLACE, "date_time": WHEN, "elevation_m": 12}), schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(tree({**PLACE, "latitude": 91, "date_time": WHEN}), schema)


def test_the_two_lists_of_names_agree() -> None:
    assert tuple(SUN) == SUN_INPUTS
