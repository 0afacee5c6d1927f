"""What can be said, on one page: drawn from the grammar itself, so that it cannot go stale.

The examples are the // remarks beside the alternatives in grammar/commands.lark, and the sentences
of few words that its rules hold. A test parses every one of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from functools import cache

from fieldvoice.language import intents
from fieldvoice.language.decoding_graph import spoken_alternatives
from fieldvoice.language.grammar import grammar, read
from fieldvoice.language.meaning import names_under

MOST = 6  # examples of one rule
SHOWN = 3  # of these on the page
# The groups as a job needs them, most used first; the files may hold them in any order.
ORDER = ("readings", "steps", "holds and timers", "repair", "questions", "totals", "few words",
         "units", "any order", "facts of the place", "notes", "help, attention, voice")
WHOLE_LINES = ("commands", "facts", "totals")  # grammar files with what a whole line can be


@cache
def sections() -> dict[str, tuple[str, ...]]:
    """Heading -> the rules under it that a whole line can be, in the order of ORDER."""
    found: dict[str, list[str]] = {}
    heading = ""
    for line in _lines():
        if line.startswith("// ---"):
            heading = line.strip("/- ")
        name = _rule_named(line)
        if name in grammar().starts and not name.startswith(("asked_", "typed_")):
            found.setdefault(heading, []).append(name)
    return {heading: tuple(found[heading]) for heading in sorted(found, key=ORDER.index)}


@cache
def examples(rule: str) -> tuple[str, ...]:
    """Sentences for a rule of the grammar ("start_hold") or an intent's name ("start-hold")."""
    rule = rule.replace("-", "_")
    if rule == "choose":
        return tuple(" ".join(next(_firsts(option))) for option in sorted(names_under("option")))
    shown = _remarks().get(rule) or _varied(" ".join(words) for words in _firsts(rule))
    return tuple(dict.fromkeys(shown))[:MOST]


def _varied(sentences: Iterable[str]) -> list[str]:
    """At most two sentences that open with the same word."""
    openings: Counter[str] = Counter()
    found = []
    for sentence in sentences:
        opening = sentence.split()[0]
        openings[opening] += 1
        if openings[opening] <= 2:
            found.append(sentence)
    return found


def page(rules: Iterable[str] | None = None) -> str:
    """The page as Markdown, of all rules or of some: what each is for and how to say it."""
    wanted = None if rules is None else {rule.replace("-", "_") for rule in rules}
    blocks = []
    for heading, names in sections().items():
        lines = [_line(name) for name in names if wanted is None or name in wanted]
        if lines:
            blocks.append("\n".join([f"## {heading.capitalize()}", "", *lines]))
    return "\n\n".join(blocks) + "\n"


def _line(rule: str) -> str:
    said = ", ".join(f'"{example}"' for example in examples(rule)[:SHOWN])
    return f"- {purpose(rule)} {said}"


def purpose(rule: str) -> str:
    """What a rule is for: the first line of its intent's docstring."""
    cls = getattr(intents, rule.title().replace("_", ""))
    return str(cls.__doc__).splitlines()[0]


def _lines() -> list[str]:
    """Of the files that hold whole lines."""
    return [line for name in WHOLE_LINES for line in read(name).splitlines()]


@cache
def _remarks() -> dict[str, tuple[str, ...]]:
    """Rule -> the remarks beside its alternatives."""
    found: dict[str, list[str]] = {}
    name = ""
    for line in _lines():
        name = _rule_named(line) or name
        code, mark, remark = line.partition("//")
        if mark and code.strip() and name:
            found.setdefault(name, []).append(remark.strip())
    return {rule: tuple(remarks) for rule, remarks in found.items()}


def _rule_named(line: str) -> str:
    """The rule that a line of a Lark file opens; empty when it opens none."""
    head, colon, _ = line.partition(":")
    name = head.lstrip("?").partition(".")[0]
    return name if colon and name.isidentifier() and name.islower() else ""


def _firsts(rule: str) -> Iterator[list[str]]:
    """A sentence for each alternative, with the first word or alternative in every other place."""
    for alternative in spoken_alternatives(rule):
        words: list[str] = []
        for symbol in alternative.expansion:
            if symbol.is_term:
                words.append(grammar().words_of[symbol.name][0])
            else:
                words += next(_firsts(symbol.name))
        yield words
