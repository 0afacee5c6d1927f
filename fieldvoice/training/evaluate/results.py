"""The measured figures on disk: a Markdown page, JSON and two drawings."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from fieldvoice.training.evaluate.plots import accuracy, confidence
from fieldvoice.training.evaluate.results_table import markdown


def write(figures: dict[str, Any], out: Path) -> None:
    """Write OUT.json, OUT.md, OUT-noise.svg and OUT-confidence.svg."""
    out.with_suffix(".json").write_text(json.dumps(figures, indent=1) + "\n")
    for name, svg in {"noise": accuracy(figures), "confidence": confidence(figures)}.items():
        out.with_name(f"{out.name}-{name}.svg").write_text(svg)
    out.with_suffix(".md").write_text(markdown(figures, out.name))
