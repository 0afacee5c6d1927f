"""The parts of README.md drawn from the program: `cd tests && python -m support.readme_parts`.

A part stands between `<!-- part: NAME -->` and `<!-- end -->`.
"""

import io
import re
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from functools import cache
from html import unescape
from pathlib import Path

from fieldvoice.__main__ import main
from fieldvoice.commands import COMMANDS
from fieldvoice.language.phrase_guide import examples, purpose, sections
from fieldvoice.quantity.quantities import quantities

README = Path(__file__).resolve().parent.parent.parent / "README.md"
PART = re.compile(r"<!-- part: (\S+) -->\n(.*?)<!-- end -->\n", re.DOTALL)
DEMO_JOB = "bakery-unit-two"
DEMO_LINES = ("vacuum forty two hundred", "how long to three hundred", "correction three ten",
              "start the hold", "two ninety eight")  # fmt: skip
SHOWN = 3  # examples of a rule


def heard() -> str:
    """What can be said, a row for each intent."""
    rows = ["| What for | Say, for example |", "|---|---|"]
    for heading, rules in sections().items():
        rows.append(f"| **{heading.capitalize()}** | |")
        for rule in rules:
            said = ", ".join(f'"{example}"' for example in examples(rule)[:SHOWN])
            rows.append(f"| {purpose(rule).rstrip('.')} | {said} |")
    named = ", ".join(quantity.called for quantity in quantities().values())
    return "\n".join(rows) + f"\n\nQuantities: {named}.\n"


def commands() -> str:
    """The commands with what each is for."""
    rows = [f"| `fieldvoice {name}` | {about} |" for name, (_, about) in COMMANDS.items()]
    return "\n".join(["| Command | What it does |", "|---|---|", *rows]) + "\n"


def work_out() -> str:
    """A calculation asked for on the command line."""
    line = "work-out decay 0:250 2:268 4:279 6:286 8:291 10:294um"
    return fenced(f"$ fieldvoice {line}\n{printed(*line.split())}")


def demo() -> str:
    """Some lines of the first recorded job, and how it ends."""
    blocks = played()[0].split("\n\n")
    end = next(n for n, block in enumerate(blocks) if block.startswith(("Result:", "Ending:")))
    shown = [next(block for block in blocks if f'"{text}"' in block) for text in DEMO_LINES]
    curve = [block for block in blocks[end:] if not block.startswith("Lines:")][:2]
    return fenced("\n\n...\n\n".join(["\n\n".join(shown), "\n\n".join(curve)]) + "\n")


def report() -> str:
    """The top of that job's report as text: headline figures and results."""
    page = played()[1]
    body = page[page.index("<body") : page.index("<h2>What was done")]
    body = re.sub(r"<(svg|style|nav|caption)\b.*?</\1>", "", body, flags=re.DOTALL)
    body = re.sub(r"</(td|th|dt|span|b)>", " ", body)
    body = re.sub(r"</(tr|p|h1|h2|h3|div|dd|summary)>", "\n", body)
    lines = (" ".join(unescape(re.sub(r"<[^>]+>", "", line)).split()) for line in body.splitlines())
    return fenced("\n".join(line for line in lines if line) + "\n")


@cache
def played() -> tuple[str, str]:
    """What `fieldvoice demo` prints of the first recorded job, and its report."""
    from fieldvoice.commands.wiring.recorded_jobs import shipped_jobs

    folder = next(folder for folder in shipped_jobs() if folder.name == DEMO_JOB)
    with tempfile.TemporaryDirectory() as into:
        told = printed("demo", "--no-sound", "--into", into, "--recordings", str(folder))
        page = (Path(into) / DEMO_JOB / "report.html").read_text(encoding="utf-8")
    return told.replace(into, "jobs").strip("\n").partition("\n")[2], page


def printed(*arguments: str) -> str:
    """What a command prints."""
    out = io.StringIO()
    with redirect_stdout(out), redirect_stderr(io.StringIO()):
        main(arguments)
    return out.getvalue()


def fenced(text: str) -> str:
    """A block of code."""
    return f"```text\n{text}```\n"


PARTS = {"heard": heard, "commands": commands, "work-out": work_out, "demo": demo, "report": report}


def renew() -> None:
    """Write every part anew."""
    text = README.read_text(encoding="utf-8")
    new = PART.sub(
        lambda found: f"<!-- part: {found[1]} -->\n{PARTS[found[1]]()}<!-- end -->\n", text
    )
    README.write_text(new, encoding="utf-8")


if __name__ == "__main__":
    renew()
