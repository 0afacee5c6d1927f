"""What the caller found when it checked the log, and the mark by which a print is held against it.

The QR code holds plain text, words that any reader of such codes shows:
`fieldvoice job=NAME lines=COUNT head=64 HEX`. The head is the hash of the log's last line; who has
the log compares it with what `fieldvoice log verify` says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import segno
from markupsafe import Markup

SHORT = 12  # letters of a hash that a person compares


@dataclass(frozen=True)
class Integrity:
    """Whether the log is as it was written."""

    intact: bool
    statement: str  # "intact: each of the 64 lines carries ..."
    head: str = ""  # hash of the last line, hexadecimal
    faults: Sequence[object] = ()  # each a sentence, or with `where`, `what` and `what_to_do`

    @property
    def short(self) -> str:
        """The hash as a person compares it."""
        return self.head[:SHORT]

    @property
    def told(self) -> list[str]:
        """Each fault as a sentence."""
        return [_sentence(fault) for fault in self.faults]


def _sentence(fault: object) -> str:
    parts = [str(getattr(fault, name, "")) for name in ("where", "what", "what_to_do")]
    where, what, to_do = parts
    if not what:
        return str(fault)
    return f"{where}: {what}" + (f"; {to_do}" if to_do else "")


def mark_text(job: str, lines: int, head: str) -> str:
    """What the QR code of a report holds."""
    return f"fieldvoice job={job} lines={lines} head={head}"


def mark_svg(text: str) -> Markup:
    """A text as QR code, drawn with the page's own ink; the text itself stands beside it."""
    made = segno.make(text, error="m", micro=False)
    drawn = made.svg_inline(svgclass="qr", lineclass=None, omitsize=True, border=2)
    return Markup(drawn.replace("<svg ", '<svg role="img" aria-label="QR code of the hash" ', 1))
