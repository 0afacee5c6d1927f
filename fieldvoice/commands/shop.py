"""`fieldvoice shop`: what all jobs together say."""

from __future__ import annotations

import argparse
import csv
import re
import sys
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.table import room, table_lines
from fieldvoice.commands.rim.telling import safe, tell, tell_json, tell_trouble
from fieldvoice.commands.wiring.errors import OK, CommandError
from fieldvoice.quantity.counted import counted

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.keeping.shop_logs import ShopLogs
    from fieldvoice.shop.ask import Shop, Table

HELP = "figures of all jobs of a shop: vacuum tests, time per stage, readings asked back"
FIGURES = ("jobs", "vacuum", "stages", "asked-back", "corrected")
EXAMPLE = """\
figures:
  jobs        place, technician, procedure, begin, end, last work, how it stands, verdicts
  vacuum      standing-vacuum tests: verdict, first and last microns, minutes, rise
  stages      time at work in each stage: quartiles over the jobs, interruptions left out
  asked-back  spoken readings that were asked back, by the loudness of the background
  corrected   what was heard for readings that were corrected or taken back

Practice and replays are left out unless --simulated is given. Lines that cannot be read are
counted, told, and left out. The question behind each figure is SQL that --sql prints, for DuckDB
or, after its first part ("lines") was fitted, for another engine that has the logs in its storage.

example:
  fieldvoice shop
  fieldvoice shop /srv/jobs --figure vacuum --month 2026-03 --plot march.svg
  fieldvoice shop --figure stages --csv > stages.csv
  fieldvoice shop --sql vacuum
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "shop", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("folder", nargs="?", metavar="FOLDER", type=Path,
                        help="the folder that holds the jobs' folders; default: that of all jobs")
    parser.add_argument("--figure", choices=FIGURES, action="append",
                        help="which figure; may be given again; default: all of them")
    parser.add_argument("--month", type=month, metavar="YYYY-MM", help="only what is of that month")
    parser.add_argument("--since", type=day, metavar="DAY", help="from that day on: 2026-03-02")
    parser.add_argument("--until", type=day, metavar="DAY", help="up to that day and with it")
    parser.add_argument("--simulated", action="store_true", help="practice and replays as well")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--csv", action="store_true", help="one figure as CSV")
    form.add_argument("--json", action="store_true", help="one JSON object a row")
    form.add_argument("--sql", choices=("lines", *FIGURES), help="print the question, and no more")
    parser.add_argument("--plot", type=Path, metavar="FILE.svg", help="draw one figure into a file")


def month(text: str) -> tuple[datetime, datetime]:
    """The begin of a month, and of the next one."""
    if not re.fullmatch(r"\d{4}-\d\d", text):
        raise argparse.ArgumentTypeError(f"{text!r} is no month; write it like 2026-03")
    begin = day(f"{text}-01")
    return begin, (begin + timedelta(days=31)).replace(day=1)


def day(text: str) -> datetime:
    """The begin of a day."""
    try:
        return datetime.combine(date.fromisoformat(text), datetime.min.time())
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no day; write it like 2026-03-02") from None


def run(args: argparse.Namespace) -> int:
    """Print the figures; damaged logs are told and never stop the others."""
    from fieldvoice.commands.wiring.keeping.shop_logs import shop_logs
    from fieldvoice.devices.joblog import jobs_folder
    from fieldvoice.shop.ask import WORK, Shop, sql

    if args.sql:
        tell(sql(args.sql), end="")
        return OK
    figures = args.figure or list(FIGURES)
    if (args.csv or args.plot) and len(figures) != 1:
        raise CommandError("--csv and --plot take one figure: add --figure vacuum, say")
    modes = (*WORK, "practice", "replay") if args.simulated else WORK
    since, until = _span(args)
    with shop_logs(args.folder or jobs_folder()) as found, Shop(found.logs, modes) as shop:
        tables = [shop.ask(name, since, until) for name in figures]
        _tell_left_out(found, shop)
        simulated = shop.simulated()
    if not (any(table.rows for table in tables) or args.csv or args.json or args.plot):
        tell(_nothing(args, simulated))
        return OK
    for table in tables:
        _tell(table, args)
    if args.plot:
        _plot(tables[0], args.plot)
    return OK


def _nothing(args: argparse.Namespace, simulated: int) -> str:
    """One line where no figure has a row: what there is, and how to see it."""
    where = args.folder or "the folder of all jobs"
    when = " in that time" if args.month or args.since or args.until else ""
    if args.simulated or not simulated:
        return f"No figures{when}: no job in {where} tells any."
    practice = counted(simulated, "job of practice or a replay", "jobs of practice or replays")
    return f"No figures{when}: {where} has {practice}; --simulated shows them too."


def _span(args: argparse.Namespace) -> tuple[datetime | None, datetime | None]:
    if args.month:
        if args.since or args.until:
            raise CommandError("--month goes without --since and --until")
        begin, end = args.month
        return begin, end
    return args.since, None if args.until is None else args.until + timedelta(days=1)


def _tell_left_out(found: ShopLogs, shop: Shop) -> None:
    if found.converted:
        logs = counted(found.converted, "log")
        tell_trouble(f"{logs} of the older form converted for this answer")
    for why in (*found.left_out, *(f"{log} cannot be read" for log in shop.ignored.logs)):
        tell_trouble(f"left out: {why}")
    for job, lines in shop.ignored.lines.items():
        tell_trouble(f"left out: {counted(lines, 'damaged line')} in the log of {job}; "
                     f"`fieldvoice log verify` says more")


def _tell(table: Table, args: argparse.Namespace) -> None:
    if args.csv:
        _tell_csv(table)
    elif args.json:
        for row in table.rows:
            told = dict(zip(table.columns, map(_json, row), strict=True))
            tell_json({"figure": table.name, **told})
    elif not args.plot:
        _tell_table(table)


def _tell_csv(table: Table) -> None:
    from fieldvoice.review.csv_cell import csv_cell

    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows([safe(csv_cell(value)) for value in row] for row in table.rows)


def _tell_table(table: Table) -> None:
    from fieldvoice.shop.ask import FIGURES as ABOUT

    tell(f"{table.name}: {ABOUT[table.name]}")
    names = [name.replace("_", " ") for name in table.columns]
    cells = [[_cell(value) for value in row] for row in table.rows]
    numbers = [any(isinstance(value, int | float) for value in column)
               for column in zip(*table.rows, strict=True)]
    for line in table_lines(names, cells, numbers, room()) if cells else ["  none"]:
        tell(line)
    tell("")


def _cell(value: Any) -> str:
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    return "" if value is None else safe(" ".join(str(value).split()))


def _json(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value


def _plot(table: Table, path: Path) -> None:
    from fieldvoice.devices.whole_file import write_whole
    from fieldvoice.shop.plot import svg

    try:
        write_whole(path, svg(table).encode())
    except OSError as error:
        raise CommandError(f"cannot write {path}: {error.strerror}; name another file") from None
    tell(f"drawn: {path}")
