"""Load time and memory of a process that only hears."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from fieldvoice.devices.recognizer import RATE, Recognizer

STATUS = Path("/proc/self/status")  # Linux; getrusage would count the memory of the parent too


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
    largest = next(x for x in STATUS.read_text().splitlines() if x.startswith("VmHWM:"))
    resident_mb = int(largest.split()[1]) * 1024 / 1e6
    return {"load_s": round(load_s, 3), "resident_mb": round(resident_mb, 1)}


if __name__ == "__main__":
    print(json.dumps(_of_this_process(Path(sys.argv[1]))))
