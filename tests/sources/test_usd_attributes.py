"""The table of attributes against the schemas it speaks of, and attributes that other schemas define."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pxr import Usd

from samelight.sources.usd.attributes import DOME_TYPES, LIGHT_TYPES, attribute_table

SAYS_NOTHING = {"guideRadius", "extent", "proxyPrim"}
"""A drawing aid, a bounding box and a stand-in for the viewport."""


@pytest.mark.parametrize("kind", [*(name for name, _ in LIGHT_TYPES), *DOME_TYPES, "PluginLight"])
def test_every_attribute_of_the_schemas_is_in_the_table(kind: str) -> None:
    definition = Usd.SchemaRegistry().FindConcretePrimDefinition(kind)
    listed = {name for name, _, _ in attribute_table()}
    # Of collections the table names the collection, and a PluginLight's source is told by its id.
    own = {name for name in definition.GetPropertyNames() if not name.startswith(("collection:", "info:"))}
    assert own - SAYS_NOTHING <= listed
    assert {"collection:lightLink", "collection:shadowLink"} <= listed


@pytest.mark.parametrize("schema", ["ShapingAPI", "ShadowAPI"])
def test_every_attribute_of_the_applied_schemas_is_in_the_table(schema: str) -> None:
    definition = Usd.SchemaRegistry().FindAppliedAPIPrimDefinition(schema)
    assert set(definition.GetPropertyNames()) <= {name for name, _, _ in attribute_table()}


def test_the_table_is_for_reading() -> None:
    table = attribute_table()
    assert len(table) == len({name for name, _, _ in table})
    assert all(all(row) for row in table)
    notes = {name: note for name, _, note in table}
    assert notes["inputs:radius"] == (
        "sphere, disk, cylinder; world size in metres, the transform's scale included; "
        "written always, with the schema's fallback where nothing is authored"
    )


def test_plugin_light(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("PluginLight", 'uniform token info:id = "HarbourLantern"\nfloat inputs:wick = 2')
    assert (lamp["node_id"], lamp["inputs"]) == ("HarbourLantern", {"wick": 2.0})


STUDIO = """#usda 1.0
class HarbourLantern "HarbourLantern" (
    apiSchemas = ["LightAPI"]
)
{
    float inputs:radius = 0.5
    float harbour:wick = 1
}
class "HarbourLightAPI" ()
{
    int harbour:samples = 16
}
"""
PLUGIN = {
    "Plugins": [
        {
            "Name": "harbour",
            "Type": "resource",
            "ResourcePath": ".",
            "Root": ".",
            "Info": {
                "Types": {
                    "UsdHarbourLantern": {
                        "alias": {"UsdSchemaBase": "HarbourLantern"},
                        "bases": ["UsdLuxSphereLight"],
                        "schemaKind": "concreteTyped",
                    },
                    "UsdHarbourLightAPI": {
                        "alias": {"UsdSchemaBase": "HarbourLightAPI"},
                        "bases": ["UsdAPISchemaBase"],
                        "schemaKind": "singleApplyAPI",
                    },
                }
            },
        }
    ]
}
SCENE = """#usda 1.0
(metersPerUnit = 1)
def HarbourLantern "lantern" (prepend apiSchemas = ["HarbourLightAPI"])
{
    float inputs:intensity = 3
    float harbour:wick = 2
    int harbour:samples = 64
}
"""


def test_what_the_schemas_of_others_define_is_kept(tmp_path: Path) -> None:
    """A renderer's plug-in makes its attributes known to USD; they are its own nonetheless."""
    (tmp_path / "generatedSchema.usda").write_text(STUDIO)
    (tmp_path / "plugInfo.json").write_text(json.dumps(PLUGIN))
    scene = tmp_path / "scene.usda"
    scene.write_text(SCENE)
    code = (
        "import json, sys; from pathlib import Path; from samelight.sources.usd.capture import capture_usd;"
        "print(json.dumps(capture_usd(Path(sys.argv[1]))))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code, str(scene)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "PXR_PLUGINPATH_NAME": str(tmp_path)},
    )
    lamp = json.loads(ran.stdout)["lights"]["lantern"]
    assert (lamp["type"], lamp["intensity"], lamp["radius"]) == ("sphere", 3.0, 0.5)
    assert lamp["harbour"] == {"wick": 2.0, "samples": 64}
