"""Whole jobs as text: the kept transcripts, and what they would be now.

A transcript's first line names the procedure, what the site is and the depth; "> " is a line that
is said, "~ " time that passes; the rest is what Fieldvoice answers. After a wanted change of words:
`cd tests && python -m support.transcripts`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from support.bench import Bench

FOLDER = Path(__file__).parent.parent / "dialogue" / "walkthroughs"
TRANSCRIPTS = sorted(FOLDER.glob("*.txt"))


def replay(transcript: str) -> tuple[str, Bench]:
    """Say the transcript's lines again; returns the transcript as it would be now."""
    first, *lines = transcript.splitlines()
    name, *facts = first.removeprefix("# ").split()
    site = dict(f.replace("_", " ").split("=") for f in facts)
    depth = site.pop("depth", None)
    bench = Bench(load(shipped(name)), site, depth)
    found = [first, *_said(bench)]
    for line in lines:
        if line.startswith(("> ", "~ ")):
            found += [line, *say(bench, line.removeprefix("> "))]
    return "\n".join(found) + "\n", bench


def say(bench: Bench, line: str) -> list[str]:
    """Say a line, or let the minutes of "~ " pass; what is answered, a line each."""
    found: list[str] = []
    if line.startswith("~ "):
        for _ in range(round(float(line.split()[1]) * 60)):
            bench.wait(seconds=1)
            found += _said(bench)
        return found
    bench.now += timedelta(seconds=3)
    bench.say(understand(line), words=line)
    return list(_said(bench))


def _said(bench: Bench) -> Iterator[str]:
    for reply in bench.replies:
        yield f"    {reply.tone}{'' if reply.aloud else ', shown'}: {reply.told}"


if __name__ == "__main__":
    for kept_at in TRANSCRIPTS:
        kept_at.write_text(replay(kept_at.read_text(encoding="utf-8"))[0], encoding="utf-8")
