"""Photos that were attached to a job, as the report shows them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Photo:
    """One picture; without `url` it is named only."""

    url: str | None  # beside the page, or data:
    name: str
    caption: str = ""
    facts: str = ""  # "attached 14:02 by Ann Lee"
