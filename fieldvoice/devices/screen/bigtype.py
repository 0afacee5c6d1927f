"""Figures drawn five lines high, to be read from two metres away."""

from __future__ import annotations

HEIGHT = 5
_ROWS = {
    "0": "#### #  # #  # #  # ####",
    "1": "  #   ##    #    #   ###",
    "2": "####    # #### #    ####",
    "3": "####    # ####    # ####",
    "4": "#  # #  # ####    #    #",
    "5": "#### #    ####    # ####",
    "6": "#### #    #### #  # ####",
    "7": "####    #    #   #    # ",
    "8": "#### #  # #### #  # ####",
    "9": "#### #  # ####    # ####",
    "-": "          ####          ",
}
_NARROW = {".": "    #", ":": " # # ", " ": "     "}

GLYPHS = {
    **{figure: [rows[5 * n : 5 * n + 4] for n in range(HEIGHT)] for figure, rows in _ROWS.items()},
    **{figure: list(rows) for figure, rows in _NARROW.items()},
}


def big(figures: str, space: int = 2) -> list[str]:
    """Five lines that draw digits, '-', '.', ':' and blanks, `space` columns between them.

    Raises ValueError for anything else.
    """
    strange = sorted(set(figures) - set(GLYPHS))
    if strange:
        raise ValueError(f"no large form of {strange}")
    between = " " * space
    rows = [between.join(GLYPHS[figure][row] for figure in figures) for row in range(HEIGHT)]
    return [row.replace("#", "█").rstrip() for row in rows]
