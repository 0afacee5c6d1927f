"""The facts of --site: read, and checked before a job's folder is made; and the list of them."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from pathlib import Path

from fieldvoice.commands.rim.streams import readable
from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.find_procedure import load_named
from fieldvoice.devices.joblog import LOG_NAME
from fieldvoice.dialogue.facts import at_start
from fieldvoice.dialogue.facts.settle import FactError
from fieldvoice.procedure.model import Procedure
from fieldvoice.quantity.facts import Fact, facts

_WIDTH = 96


def read_facts(given: list[str]) -> dict[str, str]:
    """FACT=VALUE options as a table. Raises CommandError."""
    given = [readable(fact) for fact in given]
    wrong = [fact for fact in given if "=" not in fact]
    if wrong:
        raise CommandError(f"--site {wrong[0]}: write it as FACT=VALUE, such as 'altitude=5280 ft'")
    return {name.strip(): value.strip() for name, _, value in (f.partition("=") for f in given)}


def checked_facts(folder: Path, procedure: tuple[str, str], given: list[str]) -> dict[str, str]:
    """The facts for a job in that folder; a new one has them as they are kept. Raises CommandError.

    `procedure`: its text, and what to call it in messages.
    """
    told = read_facts(given)
    if not told or (folder / LOG_NAME).exists():
        return told  # a job that goes on checks them against what was said in it
    try:
        return at_start.checked(load_named(*procedure), told)
    except FactError as error:
        raise CommandError(
            f"--site: {error} `fieldvoice work {procedure[1]} --facts` lists what can be given"
        ) from None


def facts_list(procedure: Procedure) -> str:
    """What a job of the procedure may be told: name, example, what for, and whether it is asked."""
    asked = {step.know.fact for step in procedure.steps if step.know}
    lines = ["Facts, told with --site NAME=VALUE, by voice or by keys (* asked by this procedure)"]
    for fact in facts().values():
        if fact.kind != "criterion" or procedure.criteria:
            lines += _fact_lines(fact, fact.name in asked, procedure)
    answers = [s for s in procedure.steps if s.choices]
    if answers:
        lines += ["", "Answers to its questions, with --site"]
        lines += [line for step in answers for line in _row(
            step.name, ", ".join(w.name for w in step.choices), "")]
    limits = [x for x in procedure.limits.values() if not x.figure and x.name not in facts()]
    if limits:
        lines += ["", "Its limits, with --site, as the equipment's own papers give them"]
        lines += [line for limit in limits
                  for line in _row(limit.name, f"{limit.value:f} {limit.unit}", limit.source)]
    return "\n".join(lines) + "\n"


def _fact_lines(fact: Fact, asked: bool, procedure: Procedure) -> Iterator[str]:
    example, use = fact.example, fact.use
    if fact.kind == "criterion":
        example = ", ".join(procedure.criteria)
    said = "" if fact.said == fact.name else f'; said "{fact.said}"'
    yield from _row(f"{fact.name}{' *' if asked else ''}", example, f"{use}{said}")


def _row(name: str, value: str, about: str) -> Iterator[str]:
    start = f"  {name:22} {value:18} "
    yield from (line.rstrip() for line in textwrap.wrap(
        f"{start}{about}", _WIDTH, subsequent_indent=" " * 44, break_on_hyphens=False))
