"""`samelight completion`: what a shell needs to complete the program's words."""

from __future__ import annotations

import argparse

EXAMPLES = """examples:
  samelight completion bash > ~/.local/share/bash-completion/completions/samelight
  samelight completion zsh > ~/.zfunc/_samelight
  samelight completion fish > ~/.config/fish/completions/samelight.fish
"""
SHELLS = ("bash", "zsh", "fish")


DESCRIPTION = "Print a script by which bash, zsh or fish completes commands, options and file names."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("shell", choices=SHELLS, help="the shell")


def run(arguments: argparse.Namespace) -> int:
    """Print the script."""
    import shtab

    from samelight.cli.parser import build_parser

    print(shtab.complete(build_parser(), arguments.shell))
    return 0
