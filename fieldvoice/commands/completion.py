"""`fieldvoice completion`: a script that lets a shell complete commands, options and job names."""

from __future__ import annotations

import argparse
import importlib
from collections.abc import Mapping, Sequence
from typing import Any

from fieldvoice.commands.wiring.errors import OK

HELP = "print a script that completes fieldvoice in a shell"
EXAMPLE = """\
examples:
  fieldvoice completion bash >> ~/.bashrc
  fieldvoice completion zsh >> ~/.zshrc
  fieldvoice completion fish > ~/.config/fish/completions/fieldvoice.fish
"""
_BASH = """\
_fieldvoice() {{
    local now="${{COMP_WORDS[COMP_CWORD]}}" words="{commands} --help --version"
    if (( COMP_CWORD > 1 )); then
        case "${{COMP_WORDS[1]}}" in
{cases}
        esac
    fi
    COMPREPLY=($(compgen -W "$words" -- "$now"))
}}
complete -o default -F _fieldvoice fieldvoice
"""
_CASE = '            {command}) words="{words}" ;;'
_JOBS = '$(fieldvoice jobs 2>/dev/null | cut -d" " -f1)'
_ZSH = "autoload -U +X compinit bashcompinit && compinit && bashcompinit\n"


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "completion", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("shell", choices=["bash", "zsh", "fish"])


def run(args: argparse.Namespace) -> int:
    """Print the script for a shell."""
    from fieldvoice.commands import COMMANDS

    options = {name: options_of(name, module) for name, (module, _) in COMMANDS.items()}
    if args.shell == "fish":
        print(fish(options), end="")
    else:
        print((_ZSH if args.shell == "zsh" else "") + bash(options), end="")
    return OK


def options_of(name: str, module: str) -> list[str]:
    """What may follow a command: its options, and the words that it chooses from."""
    commands: Any = argparse.ArgumentParser().add_subparsers()
    importlib.import_module(module).add_parser(commands)
    found: list[str] = []
    for action in commands.choices[name]._actions:
        found += [option for option in action.option_strings if option.startswith("--")]
        found += map(str, action.choices or ())
    return found


def bash(options: Mapping[str, Sequence[str]]) -> str:
    """The script for bash; zsh reads it too."""
    cases = [
        _CASE.format(command=name, words=" ".join([*found, *([_JOBS] if name == "report" else [])]))
        for name, found in options.items()
    ]
    return _BASH.format(commands=" ".join(options), cases="\n".join(cases))


def fish(options: Mapping[str, Sequence[str]]) -> str:
    """The script for fish."""
    lines = [f"complete -c fieldvoice -n __fish_use_subcommand -a '{' '.join(options)}'"]
    for name, found in options.items():
        seen = f"complete -c fieldvoice -n '__fish_seen_subcommand_from {name}'"
        lines += [f"{seen} -l {o[2:]}" if o.startswith("--") else f"{seen} -a {o}" for o in found]
    return "\n".join(lines) + "\n"
