"""The reference page of the USD capture says what the capture does."""

from collections.abc import Callable
from pathlib import Path

import pytest
from pxr import Plug, Tf, Usd

from samelight.sources.usd.attribute_page import page
from samelight.sources.usd.attributes import DOME_TYPES, LIGHT_TYPES, attribute_table
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.schema_table import NODES, schema_table

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


def test_every_schema_of_usdlux_is_in_the_table() -> None:
    """Of the newest usd-core as well: one that comes is told here."""
    of_lux = {
        Usd.SchemaRegistry.GetSchemaTypeName(known)
        for known in Tf.Type.FindByName("UsdSchemaBase").GetAllDerivedTypes()
        if (plugin := Plug.Registry().GetPluginForType(known)) and plugin.name == "usdLux"
    }
    told = [name for name, _ in schema_table()]
    assert of_lux - {""} <= set(told)
    assert len(told) == len(set(told))


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


LIGHTS = """(metersPerUnit = 1)
def PluginLight "plug"
{
    uniform token info:id = "%s"
    float inputs:intensity = 5
    custom float inputs:decay_rate = 2
}
def Volume "smoke" (prepend apiSchemas = ["VolumeLightAPI"])
{
    float inputs:intensity = 3
}
def RectLight "box" (prepend apiSchemas = ["LightListAPI"])
{
    uniform token light:shaderId = "studioBox"
    rel lightList = [</gone>]
}
def SphereLight "lamp"
{
    rel light:filters = </gel>
}
def PluginLightFilter "gel"
{
    uniform token info:id = "studioGel"
}
"""


@pytest.mark.parametrize("node", NODES)
def test_lights_of_others_keep_what_they_state_and_their_level_is_not_known(
    scene: Callable[..., Path], node: str
) -> None:
    tree = capture_usd(scene(LIGHTS % node))
    lights = tree["lights"]
    assert (lights["plug"]["type"], lights["plug"]["node_id"]) == ("PluginLight", node)
    assert lights["plug"]["inputs"] == {"decay_rate": 2.0}
    assert (lights["box"]["type"], lights["box"]["shader_id"]) == ("rect", "studioBox")
    assert lights["lamp"]["filter_values"] == {"gel": {"info": {"id": "studioGel"}}}
    kept = (
        "is not a light that UsdLux describes; its values are kept as they stand, and its level is not known."
    )
    assert tree["remarks"] == [
        "/box: it is drawn by the shader studioBox; its level is counted as that of a rect light.",
        f"/plug: PluginLight {node} {kept}",
        f"/smoke: Volume {kept}",
    ]
