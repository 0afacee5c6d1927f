"""`fieldvoice completion`: a script that lets a shell ask this program what may follow."""

from __future__ import annotations

import argparse
from typing import Any

from fieldvoice.commands.wiring.errors import OK

HELP = "print a script that completes fieldvoice in a shell"
EXAMPLE = """\
examples:
  fieldvoice completion bash >> ~/.bashrc
  fieldvoice completion zsh >> ~/.zshrc
  fieldvoice completion fish > ~/.config/fish/completions/fieldvoice.fish
"""
_ZSH = "autoload -U +X compinit && compinit\n"


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "completion", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("shell", choices=["bash", "zsh", "fish"])


def run(args: argparse.Namespace) -> int:
    """Print the script for a shell."""
    from argcomplete.shell_integration import shellcode

    print((_ZSH if args.shell == "zsh" else "") + shellcode(["fieldvoice"], shell=args.shell))
    return OK
