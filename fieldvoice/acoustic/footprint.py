"""Load time and memory of a process that only hears."""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from fieldvoice.devices.recognizer import RATE, Recognizer

KIB = 1024  # Linux counts the largest resident memory in these


def footprint(model: Path) -> dict[str, float]:
    """Of a fresh process: seconds to load, and resident megabytes after ten seconds heard."""
    command = [sys.executable, "-m", "fieldvoice.acoustic.footprint", str(model)]
    answer = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    found: dict[str, float] = json.loads(answer)
    return found


def _of_this_process(model: Path) -> dict[str, float]:
    began = time.perf_counter()
    recognizer = Recognizer(model)
    load_s = time.perf_counter() - began
    recognizer.hear(np.random.default_rng(1).integers(-50, 50, 10 * RATE).astype(np.int16))
    largest = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * KIB / 1e6
    return {"load_s": round(load_s, 3), "resident_mb": round(largest, 1)}


if __name__ == "__main__":
    print(json.dumps(_of_this_process(Path(sys.argv[1]))))
