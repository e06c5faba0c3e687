"""`samelight capture`: a scene into a sheet."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from samelight.cli.terminal import complain, print_line, print_text
from samelight.sheets.errors import SamelightError
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import write_sheet, yaml_text
from samelight.sources.scenes import capture_scene

EXAMPLES = """examples:
  samelight capture quay_010.usda
  samelight capture quay_010.usda -o shots/QU_010/QU_010.v001.yaml --frames 1001-1048
"""
_FRAMES = re.compile(r"(-?\d+)(?:-|:)(-?\d+)\Z")


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the program's parser."""
    parser = commands.add_parser(
        "capture",
        help="make a sheet of a scene",
        description="Read the lights, environments, camera and render settings of a USD scene into a sheet.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("scene", type=Path, help="the scene: .usd, .usda, .usdc or .usdz")
    parser.add_argument(
        "-o", "--output", type=Path, metavar="SHEET", help="the sheet to write (default: print it)"
    )
    parser.add_argument("--shot", help="the shot's name (default: from the sheet's or the scene's file name)")
    parser.add_argument("--frames", type=_frames, metavar="A-B", help="first and last frame")
    parser.add_argument("--camera", metavar="PATH", help="the camera prim, where the scene has several")
    parser.add_argument(
        "--lights", nargs="+", default=(), metavar="PATH", help="only the lights under these prims"
    )
    parser.add_argument("--marks", nargs="+", default=(), metavar="PATH", help="prims that serve as marks")
    parser.set_defaults(run=run)


def _frames(text: str) -> tuple[int, int]:
    match = _FRAMES.match(text)
    if not match or int(match[1]) > int(match[2]):
        raise argparse.ArgumentTypeError(f"expected first-last such as 1001-1048, found {text!r}")
    return int(match[1]), int(match[2])


def run(arguments: argparse.Namespace) -> int:
    """Capture the scene."""
    output: Path | None = arguments.output
    if output is not None and output.suffix not in (".yaml", ".yml", ".json"):
        raise SamelightError(f"{output}: expected a name that ends in .yaml or .json")
    name, version = _name_and_version(output) if output else (arguments.scene.stem, 1)
    tree = capture_scene(
        arguments.scene,
        shot=arguments.shot or name,
        version=version,
        frames=arguments.frames,
        camera=arguments.camera,
        lights=arguments.lights,
        marks=arguments.marks,
    )
    text = yaml_text(tree)
    # What was captured must be readable as a sheet; a fault here is better than a shot that will not open.
    sheet_from_document(parse_document(output or arguments.scene.with_suffix(".yaml"), text), version=version)
    for remark in tree.get("remarks", []):
        complain(remark)
    if output is None:
        print_text(text)
        return 0
    write_sheet(output, tree)
    count = len(tree.get("lights", {})) + len(tree.get("environments", {}))
    print_line(f"{output}: {count} light{'s' if count != 1 else ''}")
    return 0


def _name_and_version(path: Path) -> tuple[str, int]:
    match = re.match(r"(.+)\.v(\d+)\Z", path.stem)
    return (match[1], int(match[2])) if match else (path.stem, 1)
