"""Pico in a process of its own: JSON lines in, samples out, each with its length before it.

Run by its path, so that it loads nothing of ours. Pico reads memory that it has not written: what
it says depends on what lay there, and at times it never ends, and holds up every thread of its
process meanwhile.
"""

from __future__ import annotations

import json
import signal
import struct
import sys


def main() -> None:
    """Answer until the input ends."""
    from py_nanotts import NanoTTS

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started it ends it
    voice = NanoTTS()
    for line in sys.stdin.buffer:
        said = voice.speak(**json.loads(line))
        sys.stdout.buffer.write(struct.pack("<I", len(said)) + said)
        sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()
