"""Whom a report is for, and what each of them sees; the paper it is printed on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

CUSTOMER, OFFICE, INSPECTOR = "customer", "office", "inspector"


@dataclass(frozen=True)
class Version:
    """What a version shows beside what all have: outcome, tests, curve, what is open, the seal."""

    name: str
    title: str
    work: bool  # what was done, stage by stage, with each value and who said it
    every_step: bool  # each step on its own, with what it says and the words that closed it
    lists: bool  # corrections, notes, cautions, timers, limits
    arithmetic: bool
    judged: bool  # how it was judged: every figure, the complete log
    judged_printed: bool
    words_explained: bool  # a few words of the trade, in plain ones


VERSIONS: Mapping[str, Version] = {version.name: version for version in (
    Version(CUSTOMER, "for the customer", False, False, False, False, False, False, True),
    Version(OFFICE, "for the office", True, False, True, True, True, False, False),
    Version(INSPECTOR, "for an inspector", True, True, True, True, True, True, False),
)}
PAPERS: Mapping[str, str] = {"a4": "A4", "letter": "letter"}  # the name -> what CSS calls it


def version_of(name: str) -> Version:
    """The version of a name. Raises ValueError naming those there are."""
    if name not in VERSIONS:
        raise ValueError(f"no version of the report is called {name!r}: give one of "
                         f"{', '.join(VERSIONS)}")
    return VERSIONS[name]


def paper_of(name: str) -> str:
    """The paper of a name, as CSS calls it. Raises ValueError naming those there are."""
    if name.lower() not in PAPERS:
        raise ValueError(f"no paper is called {name!r}: give one of {', '.join(PAPERS)}")
    return PAPERS[name.lower()]


def css_text(text: str) -> str:
    """A text between the quotes of a style sheet: all but plain letters are written as code points.

    So that no word of a log can end the string, the style sheet or the page.
    """
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text)
