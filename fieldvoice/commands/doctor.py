"""`fieldvoice doctor`: whether this computer is fit for the work, and what to fix."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_json
from fieldvoice.commands.wiring.errors import FAILED, OK
from fieldvoice.commands.wiring.hearing.options import add_voice_option
from fieldvoice.commands.wiring.models import add_model_option
from fieldvoice.commands.wiring.voices.used import add_voice_of_option, asked_for

if TYPE_CHECKING:
    from fieldvoice.commands.checks.finding import Check, Finding

HELP = "check model, microphone, voice, disk, clock and terminal, and say what to fix"
EXAMPLE = """\
It asks you to be quiet, then to say a sentence, then speaks itself and listens to that. Nothing of
what it hears is kept. It leaves with 1 when something needs fixing, with 0 otherwise.

example:
  fieldvoice doctor
  fieldvoice doctor --quick       (no sound is made or heard)
  fieldvoice doctor --json
"""
_MARKS = {"ok": "ok", "warn": "note", "bad": "FIX", "skipped": "-"}


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "doctor", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("--quick", action="store_true", help="nothing is said or listened to")
    parser.add_argument("--json", action="store_true", help="one JSON object with all findings")
    parser.add_argument("--microphone", metavar="NAME", help="part of the microphone's name")
    add_voice_option(parser)
    add_model_option(parser)
    add_voice_of_option(parser)


def run(args: argparse.Namespace) -> int:
    """Look at everything, to the end whatever fails; 1 when something needs fixing."""
    from fieldvoice.commands.checks.finding import BAD, looked_at

    args.model, _ = asked_for(args)
    findings = []
    for about, check in _checks(args):
        findings.append(looked_at(about, check))
        if not args.json:
            _tell(findings[-1])
    bad = [finding.about for finding in findings if finding.standing == BAD]
    if args.json:
        tell_json({"fine": not bad, "findings": [finding.to_dict() for finding in findings]})
    else:
        tell(f"\nTo be fixed: {', '.join(bad)}." if bad else "\nNothing has to be fixed.")
    return FAILED if bad else OK


def _checks(args: argparse.Namespace) -> Iterator[tuple[str, Check]]:
    from fieldvoice.commands.checks import computer
    from fieldvoice.commands.checks.model import model as own_model
    from fieldvoice.devices.joblog import jobs_folder

    yield "disk", lambda: computer.disk(jobs_folder())
    yield "clock", computer.clock
    yield "terminal", computer.terminal
    yield "model", lambda: own_model(args.model)
    yield from _of_sound(args)


def _of_sound(args: argparse.Namespace) -> Iterator[tuple[str, Check]]:
    """Those that make or hear sound need a microphone, and are left out without one."""
    from fieldvoice.commands.checks import sound
    from fieldvoice.commands.checks.finding import BAD, SKIPPED, Finding, looked_at

    found = looked_at("microphone", lambda: sound.microphone(args.microphone))
    speaker = looked_at("loudspeaker", sound.loudspeaker)
    yield "microphone", lambda: found
    yield "loudspeaker", lambda: speaker
    heard = sound.Listening(_ask, args.model, args.microphone, args.voice)
    for about, check in (("room", heard.room), ("speech", heard.speech), ("voice", heard.voice)):
        deaf = found.standing == BAD
        mute = about == "voice" and speaker.standing == BAD
        if args.quick or deaf or mute:
            why = "without sound" if args.quick else "no microphone" if deaf else "no loudspeaker"
            skipped = Finding(about, SKIPPED, f"not looked at: {why}")
            yield about, lambda skipped=skipped: skipped  # type: ignore[misc]
        else:
            yield about, check


def _ask(text: str) -> None:
    """What the user is to do now; beside the findings, not among them."""
    tell(f"  ... {text}", file=sys.stderr)


def _tell(finding: Finding) -> None:
    tell(f"{_MARKS[finding.standing]:>5}  {finding.about:12} {finding.found}")
    if finding.to_do:
        tell(f"{'':20} {finding.to_do}")
