"""The main states of the screen at four sizes, to be looked at.

cd tests && python -m by_hand.screens [--state NAME] [--size 80x24] [--ascii]
"""

from __future__ import annotations

import argparse
from dataclasses import replace

from fieldvoice.devices.screen.layout import layout
from support.screen_states import SIZES, STATES, moment_of


def main() -> None:
    """Print them, each in a frame."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--state", choices=STATES)
    parser.add_argument("--size")
    parser.add_argument("--ascii", action="store_true")
    args = parser.parse_args()
    sizes = [tuple(map(int, args.size.split("x")))] if args.size else SIZES
    for name in [args.state] if args.state else STATES:
        for width, height in sizes:
            moment = replace(moment_of(name), plain=args.ascii)
            print(f"{name}, {width}x{height}".center(width + 2, "="))
            for row in [*layout(moment, width, height - 1), [("> ", "")]]:
                print(f"|{''.join(text for text, _ in row):<{width}}|")


if __name__ == "__main__":
    main()
