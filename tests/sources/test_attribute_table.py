"""The reference page of the USD capture says what the capture does."""

from pathlib import Path

from pxr import Usd

from samelight.sources.usd.attribute_page import page
from samelight.sources.usd.attributes import DOME_TYPES, LIGHT_TYPES, attribute_table

PAGE = Path(__file__).parents[2] / "docs" / "usd_attributes.md"
SCHEMAS = (*(name for name, _ in LIGHT_TYPES), *DOME_TYPES, "PluginLight")
APPLIED = ("ShapingAPI", "ShadowAPI", "LightAPI", "MeshLightAPI", "LightListAPI")


def test_the_page_is_not_stale() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), (
        "write it anew: python -m samelight.sources.usd.attribute_page > docs/usd_attributes.md"
    )


def test_every_row_has_a_name_that_the_schemas_have() -> None:
    registry = Usd.SchemaRegistry()
    definitions = [registry.FindConcretePrimDefinition(name) for name in SCHEMAS]
    definitions += [registry.FindAppliedAPIPrimDefinition(name) for name in APPLIED]
    known = {name for definition in definitions if definition for name in definition.GetPropertyNames()}
    for usd, _, _ in attribute_table():
        assert (
            usd in known
            or any(name.startswith(f"{usd}:") for name in known)
            or usd in ("info:id", "collection:filterLink")
        )


def test_every_row_is_on_the_page_once() -> None:
    text = page()
    for usd, _, told in attribute_table():
        assert text.count(f"| `{usd}` |") == 1
        assert told.replace("|", "\\|") in text


def test_every_input_of_usdlux_is_in_the_table() -> None:
    registry = Usd.SchemaRegistry()
    definitions = [registry.FindConcretePrimDefinition(name) for name in SCHEMAS]
    definitions += [registry.FindAppliedAPIPrimDefinition(name) for name in ("ShapingAPI", "ShadowAPI")]
    inputs = {
        name
        for definition in definitions
        if definition
        for name in definition.GetPropertyNames()
        if name.startswith("inputs:")
    }
    assert inputs <= {usd for usd, _, _ in attribute_table()}
