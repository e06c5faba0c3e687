"""`samelight completion`: what a shell needs to complete the program's words."""

from __future__ import annotations

import argparse

EXAMPLES = """examples:
  samelight completion bash > ~/.local/share/bash-completion/completions/samelight
  samelight completion zsh > ~/.zfunc/_samelight
  samelight completion fish > ~/.config/fish/completions/samelight.fish
"""
SHELLS = ("bash", "zsh", "fish")


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser], says: str) -> None:
    """Add the command to the program's parser; `says` is what it does, in its list of commands."""
    parser = commands.add_parser(
        "completion",
        help=says,
        description="Print a script by which bash, zsh or fish completes commands, options and file names.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("shell", choices=SHELLS, help="the shell")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the script."""
    import shtab

    from samelight.cli.main import build_parser

    print(shtab.complete(build_parser(), arguments.shell))
    return 0
