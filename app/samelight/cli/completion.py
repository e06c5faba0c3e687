"""`samelight completion`: what a shell needs to complete the program's words."""

from __future__ import annotations

import argparse
from collections.abc import Callable

EXAMPLES = """examples:
  samelight completion bash > ~/.local/share/bash-completion/completions/samelight
  samelight completion zsh > ~/.zfunc/_samelight
  samelight completion fish > ~/.config/fish/completions/samelight.fish
"""
SHELLS = ("bash", "zsh", "fish")


def add_parser(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    whole: Callable[[], argparse.ArgumentParser],
) -> None:
    """Add the command to the program's parser; `whole` makes that parser anew."""
    parser = commands.add_parser(
        "completion",
        help="print what a shell needs to complete these commands",
        description="Print a script by which bash, zsh or fish completes commands, options and file names.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("shell", choices=SHELLS, help="the shell")
    parser.set_defaults(run=lambda arguments: _print(whole(), arguments.shell))


def _print(parser: argparse.ArgumentParser, shell: str) -> int:
    import shtab

    print(shtab.complete(parser, shell))
    return 0
