"""The reference page of what a USD capture reads, made of the table that the capture goes by.

`python -m samelight.sources.usd.attribute_page > docs/usd_attributes.md` writes it anew.
"""

from __future__ import annotations

from samelight.sources.usd.attributes import attribute_table
from samelight.sources.usd.schema_table import schema_table


def page() -> str:
    """The whole page as Markdown."""
    lines = [
        "# What a sheet takes from a USD scene",
        "",
        "Made by `python -m samelight.sources.usd.attribute_page` from the table that the capture goes by. Numbers are those that",
        "USD reports; places and sizes are in the world, in metres and Y-up, whatever the scene counts in. Attributes that are not",
        "listed here, a renderer's or a studio's own, are kept under their own names, namespaces as nested mappings.",
        "",
        "| UsdLux | in the sheet | what becomes of it |",
        "| --- | --- | --- |",
    ]
    lines += [f"| `{usd}` | {_names(sheet)} | {_cell(told)} |" for usd, sheet, told in attribute_table()]
    lines += ["", "| schema, or node of MaterialX | in the sheet |", "| --- | --- |"]
    lines += [f"| `{usd}` | {_cell(told)} |" for usd, told in schema_table()]
    lines.append("| any other light | a light under the name of its own type; its level is not known |")
    return "\n".join(lines) + "\n"


def _names(sheet: str) -> str:
    """A name of a sheet as code; what is more than one name stays text."""
    return sheet if " " in sheet else f"`{sheet}`"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


if __name__ == "__main__":
    print(page(), end="")
