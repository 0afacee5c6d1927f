"""Whole jobs as text: the kept transcripts, and what they would be now.

A transcript's first line names the procedure and what the site is; "> " is a line that is said,
"~ " time that passes; the rest is what Fieldvoice answers. After a wanted change of words:
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
    bench = Bench(load(shipped(name)), dict(f.replace("_", " ").split("=") for f in facts))
    found = [first, *_said(bench)]
    for line in lines:
        if line.startswith("> "):
            bench.now += timedelta(seconds=3)
            bench.say(understand(line[2:]), words=line[2:])
            found += [line, *_said(bench)]
        elif line.startswith("~ "):
            found.append(line)
            for _ in range(round(float(line.split()[1]) * 60)):
                bench.wait(seconds=1)
                found += _said(bench)
    return "\n".join(found) + "\n", bench


def _said(bench: Bench) -> Iterator[str]:
    for reply in bench.replies:
        yield f"    {reply.tone}: {reply.spoken or reply.text}"


if __name__ == "__main__":
    for kept_at in TRANSCRIPTS:
        kept_at.write_text(replay(kept_at.read_text(encoding="utf-8"))[0], encoding="utf-8")
