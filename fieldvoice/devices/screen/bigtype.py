"""Figures drawn several lines high, to be read from two metres away."""

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
_HALVES = {"  ": " ", "# ": "▀", " #": "▄", "##": "█"}

GLYPHS = {
    **{figure: [rows[5 * n : 5 * n + 4] for n in range(HEIGHT)] for figure, rows in _ROWS.items()},
    **{figure: list(rows) for figure, rows in _NARROW.items()},
}


def big(figures: str, space: int = 2, scale: int = 1, ink: str = "█") -> list[str]:
    """Lines that draw digits, '-', '.', ':' and blanks, `space` columns between them.

    Five lines, or as many times as `scale` says. Raises ValueError for anything else.
    """
    rows = [row.replace("#", "#" * scale).replace(" ", " " * scale)
            for row in _drawn(figures, space) for _ in range(scale)]
    return [row.replace("#", ink).rstrip() for row in rows]


def half(figures: str) -> list[str]:
    """The same in three lines, each of two rows of half blocks."""
    rows = [*_drawn(figures, 1), ""]
    wide = max(map(len, rows))
    pairs = zip(rows[0::2], rows[1::2], strict=True)
    return ["".join(_HALVES[a + b] for a, b in zip(top.ljust(wide), low.ljust(wide), strict=True))
            .rstrip() for top, low in pairs]


def _drawn(figures: str, space: int) -> list[str]:
    strange = sorted(set(figures) - set(GLYPHS))
    if strange:
        raise ValueError(f"no large form of {strange}")
    between = " " * space
    return [between.join(GLYPHS[figure][row] for figure in figures) for row in range(HEIGHT)]
