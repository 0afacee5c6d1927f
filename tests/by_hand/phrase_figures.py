"""How many phrases of the tables are understood: `cd tests && python -m by_hand.phrase_figures`.

A table a line: right, refused, and wrong, which is acted on with another meaning than was meant.
`--list` shows every phrase that is not right, with what was made of it.
"""

from __future__ import annotations

import sys

from fieldvoice.language.parser import understand
from support.phrase_tables import FOLDER, judged, rows


def main(show: bool) -> None:
    """Print the figures."""
    for name in sorted(path.stem for path in FOLDER.glob("*.tsv")):
        counts = {"right": 0, "refused": 0, "wrong": 0}
        missed = []
        for row in rows(name):
            found = understand(row["phrase"])
            verdict = judged(row, found)
            counts[verdict] += 1
            if verdict != "right":
                missed.append(f"    {verdict:8}{row['phrase']!r}: {found.to_dict()}")
        print(f"{name:14}" + "".join(f"{counts[kind]:5} {kind}" for kind in counts))
        if show:
            print("\n".join(missed))


if __name__ == "__main__":
    main("--list" in sys.argv)
