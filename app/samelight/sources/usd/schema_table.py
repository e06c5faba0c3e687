"""What each schema of UsdLux gives in a sheet, and each light node of MaterialX that a plugin light may name."""

from __future__ import annotations

from samelight.sources.usd.attributes import DOME_TYPES, LIGHT_TYPES

_KEPT = "its inputs are kept under `inputs`, its level is not known"

APPLIED: tuple[tuple[str, str], ...] = (
    ("LightAPI", "what makes a prim a light: level, colour, temperature, multipliers, links and filters"),
    ("MeshLightAPI", "a light of the type `mesh`, with the triangles of its mesh"),
    ("VolumeLightAPI", f"a light under the name of its prim's own type; {_KEPT}"),
    ("ShapingAPI", "`cone`, `softness`, `focus`, `focus_tint` and the profile `ies`"),
    ("ShadowAPI", "`shadow.enable` and what else there is under `shadow`"),
    (
        "LightListAPI",
        "nothing: lights are looked for in the scene itself, so that a list that is out of date hides none",
    ),
    ("ListAPI", "nothing, as LightListAPI, whose former name it is"),
)
"""Schemas that are applied to prims."""

BESIDE: tuple[tuple[str, str], ...] = (
    ("PluginLight", f"a light of the type `PluginLight` with its `node_id`; {_KEPT}"),
    (
        "LightFilter",
        "`filters`, `filter_values`, `filter_places` and `filter_links` of each light that names it",
    ),
    ("PluginLightFilter", "as LightFilter, with its node's name under `filter_values`"),
    ("BoundableLightBase", "nothing of its own: what other lights are made from"),
    ("NonboundableLightBase", "nothing of its own: what other lights are made from"),
)

NODES: tuple[str, ...] = ("ND_point_light", "ND_directional_light", "ND_spot_light")
"""Light nodes of MaterialX's own library (MaterialX, libraries/lights/lights_defs.mtlx); it gives their intensity no unit."""


def schema_table() -> list[tuple[str, str]]:
    """Every schema of UsdLux and every light node of MaterialX, with what it gives in a sheet.

    >>> dict(schema_table())["ND_point_light"]
    'as `info:id` of a PluginLight: `node_id`; its inputs are kept under `inputs`, its level is not known'
    """
    typed = [(usd, f"a light of the type `{sheet}`") for usd, sheet in LIGHT_TYPES]
    domes = [(usd, "an environment") for usd in DOME_TYPES]
    nodes = [(node, f"as `info:id` of a PluginLight: `node_id`; {_KEPT}") for node in NODES]
    return [*typed, *domes, *APPLIED, *BESIDE, *nodes]
