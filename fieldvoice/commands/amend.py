"""`fieldvoice amend`: put a name or a number at the head of a job's record right."""

from __future__ import annotations

import argparse
from typing import Any

from fieldvoice.commands.rim.telling import tell
from fieldvoice.commands.wiring.errors import OK, CommandError

HELP = "put a name or a number at the head of a job's record right"
EXAMPLE = """\
Nothing is overwritten: the report shows what it was, who put it right, when and why. What limits
and results rest on (refrigerant, altitude, ...) is told at work instead.

example:
  fieldvoice amend unit-12b outdoor-serial 4812X --by "Ann Lee" --why "misread the plate"
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "amend", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("job", metavar="JOB", help="a job's name or folder; see `fieldvoice jobs`")
    parser.add_argument("fact", metavar="FACT", help=f"one of {', '.join(_names())}")
    parser.add_argument("value", metavar="VALUE")
    parser.add_argument("--by", required=True, metavar="NAME", help="who puts it right")
    parser.add_argument("--why", required=True, metavar="TEXT")
    parser.add_argument("--unit", metavar="NAME", help="of the job; default: its first one")


def _names() -> list[str]:
    from fieldvoice.quantity.facts import facts

    return [name for name, fact in facts().items() if fact.kind == "text"]


def run(args: argparse.Namespace) -> int:
    """Log it for the unit, or for all where it holds for the whole job."""
    from fieldvoice.commands.rim.streams import readable
    from fieldvoice.commands.wiring.keeping.added_later import Added, add_to
    from fieldvoice.devices.joblog import job_folder
    from fieldvoice.jobstate.events import HeaderAmended
    from fieldvoice.jobstate.job import FIRST, Job
    from fieldvoice.jobstate.unit_names import find
    from fieldvoice.quantity.facts import facts

    name = args.fact.strip().lower().replace(" ", "-")
    if name not in _names():
        raise CommandError(f"{args.fact!r} is not amended: give one of {', '.join(_names())}")
    told = [readable(text).strip() for text in (args.value, args.by, args.why)]
    if not all(told):
        raise CommandError("an amendment needs its value, --by and --why in words; none is empty")
    value, by, why = told

    def amended(job: Job) -> Added:
        unit = FIRST if args.unit is None else find(job, args.unit)
        if unit is None:
            raise CommandError(f"job {job.state.job} has no unit called {args.unit!r}; its report "
                               "names them")
        units = job.states if facts()[name].whole_job else [unit]
        return [(one, HeaderAmended(name, value, job.states[one].facts.get(name, ""), by, why))
                for one in units]

    entries = add_to(job_folder(args.job), amended)
    was = entries[-1].event
    before = was.was if isinstance(was, HeaderAmended) and was.was else "not told"
    tell(f"{facts()[name].called} is {value} now; it was {before}")
    return OK
