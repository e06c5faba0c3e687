"""`samelight capture`: a scene into a sheet, or all scenes of a sequence into theirs."""

from __future__ import annotations

import argparse
import os
import re
from pathlib import Path

from samelight.cli.counts import count, number
from samelight.cli.terminal import complain, print_line, print_text
from samelight.sheets.counted import counted
from samelight.sheets.errors import SamelightError
from samelight.sources.request import FRAME_RATE, NOBODY, CaptureRequest, Known, variants_of
from samelight.sources.scenes import ENDINGS, captured_into, captured_text

EXAMPLES = """examples:
  samelight capture quay_010.usda
  samelight capture quay_010.usda -o shots/QU_010/QU_010.v001.yaml --frames 1001-1048
  samelight capture --sequence quay --scenes 'scenes/QU_*.usda'
"""
_FRAMES = re.compile(r"(-?\d{1,9})(?:-|:)(-?\d{1,9})\Z")


DESCRIPTION = (
    "Read the lights, environments, camera and render settings of a USD or glTF scene into a sheet. With "
    "--sequence, every scene of the sequence becomes the next version of its shot's sheet where its lighting changed. "
    "Exit status: 0 captured, 1 a scene of the sequence failed, 2 nothing captured, or a scene left out, since no shot can have its name or its shot has two."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("scene", type=Path, nargs="?", help=f"the scene: {', '.join(ENDINGS)}")
    parser.add_argument(
        "-o", "--output", type=Path, metavar="SHEET", help="the sheet to write (default: print it)"
    )
    parser.add_argument(
        "--force",
        action="store_true",
        help="with --output: write over a sheet of that name, where it belongs to no sequence",
    )
    _add_wanted(parser)
    _add_sequence(parser)


def _add_wanted(parser: argparse.ArgumentParser) -> None:
    """What of a scene is captured, and how."""
    parser.add_argument("--shot", help="the shot's name (default: from the sheet's or the scene's file name)")
    parser.add_argument("--frames", type=_frames, metavar="A-B", help="first and last frame")
    parser.add_argument("--camera", metavar="PATH", help="the camera, where the scene has several")
    parser.add_argument("--lights", nargs="+", default=(), metavar="PATH", help="only the lights under these")
    parser.add_argument("--marks", nargs="+", default=(), metavar="PATH", help="what serves as marks")
    parser.add_argument(
        "--variant",
        type=_variant,
        action="append",
        default=[],
        metavar="SET=NAME",
        help="select a variant wherever the scene has the set; {shot} in NAME is the shot's name",
    )
    parser.add_argument("--master", type=count, metavar="N", help="the master version it was built on")
    parser.add_argument(
        "--master-layers",
        type=_master_layers,
        metavar="PATTERN",
        help="how the layers that bring the master are called, such as 'light.v{version}.usda', where they do not say their "
        "version themselves (default: as sequence.yaml says)",
    )
    parser.add_argument(
        "--like",
        type=Path,
        metavar="SHEET",
        help="a captured sheet, or the master, whose names the scene's lights keep",
    )
    parser.add_argument(
        "--frame-rate",
        type=number("frames a second, such as 24", lambda rate: 0 < rate <= 1000),
        metavar="N",
        help="frames a second: times of scenes that count seconds, or other frames, are told in these (default: the sequence's, "
        "or those of the scene, or 24)",
    )
    parser.add_argument(
        "--allow-root",
        type=Path,
        action="append",
        default=[],
        metavar="FOLDER",
        help="read textures, profiles and buffers in this folder too, not only in the scene's own and the sequence's",
    )


def _add_sequence(parser: argparse.ArgumentParser) -> None:
    """Which scenes of a sequence are captured, and where."""
    many = parser.add_argument_group("all scenes of a sequence")
    many.add_argument("--sequence", type=Path, metavar="FOLDER", help="the sequence folder")
    many.add_argument(
        "--scenes", metavar="GLOB", help="the scenes, in the folder (default: those that sequence.yaml names)"
    )
    many.add_argument("--again", action="store_true", help="also those that did not change")
    many.add_argument(
        "--time-limit",
        type=number("seconds above 0", lambda seconds: 0 < seconds < float("inf")),
        metavar="SECONDS",
        help="give up a scene that takes longer; the others go on",
    )
    many.add_argument("--jobs", type=count, metavar="N", help="how many at a time (default: one a processor)")
    many.add_argument(
        "--scheduler", metavar="ADDRESS", help="work on the farm of this scheduler (extra: farm)"
    )


def _frames(text: str) -> tuple[int, int]:
    match = _FRAMES.match(text)
    if not match or int(match[1]) > int(match[2]):
        raise argparse.ArgumentTypeError(f"expected first-last such as 1001-1048, found {text!r}")
    return int(match[1]), int(match[2])


def _variant(text: str) -> tuple[str, str]:
    name, is_there, variant = text.partition("=")
    if not (name and is_there):
        raise argparse.ArgumentTypeError(f"expected SET=NAME such as lights=night, found {text!r}")
    return name, variant


def _master_layers(text: str) -> str:
    if "{version}" not in text:
        raise argparse.ArgumentTypeError(f"expected a name with {{version}} in it, found {text!r}")
    return text


def run(arguments: argparse.Namespace) -> int:
    """Capture the scene, or the scenes."""
    _check(arguments)
    if arguments.sequence is None:
        return _run_one(arguments)
    from samelight.cli.capture_sequence import run_sequence  # which one scene needs nothing of

    return run_sequence(arguments)


def _check(arguments: argparse.Namespace) -> None:
    """What is asked for must go together."""
    single = {
        "a scene": arguments.scene,
        "--output": arguments.output,
        "--shot": arguments.shot,
        "--like": arguments.like,
    }
    several = {
        "--scenes": arguments.scenes,
        "--again": arguments.again,
        "--time-limit": arguments.time_limit,
        "--jobs": arguments.jobs,
        "--scheduler": arguments.scheduler,
    }
    if arguments.sequence is None and arguments.scene is None:
        raise SamelightError("capture what? Name a scene, or a folder with --sequence")
    odd = single if arguments.sequence is not None else several
    named = [name for name, value in odd.items() if value]
    if named:
        verb = "does not go with" if arguments.sequence is not None else "needs"
        raise SamelightError(f"{named[0]} {verb} --sequence")


def _run_one(arguments: argparse.Namespace) -> int:
    output = _output(arguments)
    name, version = _name_and_version(output) if output else (arguments.scene.stem, 1)
    shot = arguments.shot or name
    request = CaptureRequest(
        shot=shot,
        version=version,
        frames=arguments.frames,
        camera=arguments.camera,
        lights=arguments.lights,
        marks=arguments.marks,
        master=arguments.master,
        frame_rate=arguments.frame_rate or FRAME_RATE,
        keeps_rate=arguments.frame_rate is not None,
        roots=tuple(map(str, arguments.allow_root)),
        variants=variants_of(arguments.variant, shot),
        master_layers=arguments.master_layers or "",
        known=_known(arguments.like),
    )
    if output is None:
        captured = captured_text(arguments.scene, arguments.scene.with_suffix(".yaml"), request)
    else:
        captured = captured_into(arguments.scene, output, request, overwrite=arguments.force)
    for remark in captured.remarks:
        complain(f"{shot}: {remark}")
    said = counted(captured.lights, "light")
    if captured.remarks:
        said += f", {counted(len(captured.remarks), 'remark')}"
    if output is not None:
        print_line(f"{output}: {said}")
        return 0
    print_text(captured.text)
    if captured.remarks:
        complain(said)
    return 0


def _output(arguments: argparse.Namespace) -> Path | None:
    """The sheet to write; None to print it. Raises `SamelightError` where that may not be written."""
    output: Path | None = arguments.output
    if arguments.force and output is None:
        raise SamelightError("--force goes with --output")
    if output is not None and not arguments.force and os.path.lexists(output):
        raise SamelightError(
            f"{output}: is there already, and a sheet that is published stays as it is: take the next version"
        )
    if output is not None and output.suffix not in (".yaml", ".yml", ".json"):
        raise SamelightError(f"{output}: expected a name that ends in .yaml or .json")
    if output is not None and arguments.force:
        from samelight.sheets.documents import refuse_of_sequence

        refuse_of_sequence(output)
    return output


def _known(like: Path | None) -> Known:
    """The lights of a sheet whose names the scene's lights keep. Raises `SheetError`."""
    if like is None:
        return NOBODY
    from samelight.sheets.trees import read_document
    from samelight.sources.naming import known_of

    return known_of(read_document(like).data)


def _name_and_version(path: Path) -> tuple[str, int]:
    match = re.match(r"(.+)\.v(\d{1,9})\Z", path.stem)
    return (match[1], int(match[2])) if match else (path.stem, 1)
