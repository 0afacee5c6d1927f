"""Load time and memory of a process that only hears."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.recognizer import RATE
from fieldvoice.devices.vosk_recognizer import VoskRecognizer

SOUND_S = 10
STATUS = Path("/proc/self/status")  # Linux; getrusage would count the memory of the parent too


def footprint(recognizer: str, model: Path) -> dict[str, float]:
    """Of a fresh process: seconds to load, and resident megabytes after ten seconds heard."""
    module = "fieldvoice.training.evaluate.footprint"
    command = [sys.executable, "-m", module, recognizer, str(model)]
    answer = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    found: dict[str, float] = json.loads(answer.splitlines()[-1])
    return found


def _of_this_process(recognizer: str, model: Path) -> dict[str, float]:
    began = time.perf_counter()
    hear = _load(recognizer, model)
    load_s = time.perf_counter() - began
    hear(np.random.default_rng(1).integers(-50, 50, SOUND_S * RATE).astype(np.int16))
    largest = next(x for x in STATUS.read_text().splitlines() if x.startswith("VmHWM:"))
    resident_mb = int(largest.split()[1]) * 1024 / 1e6
    return {"load_s": round(load_s, 3), "resident_mb": round(resident_mb, 1)}


def _load(recognizer: str, model: Path) -> Callable[[NDArray[np.int16]], object]:
    if recognizer == "fieldvoice":
        return VoskRecognizer(model).hear
    from fieldvoice.language.decoding_graph import compile_acceptor
    from fieldvoice.training.evaluate import peers

    if recognizer in peers.WRITERS:
        _, make = peers.WRITERS[recognizer]
        return make()
    return peers.pocketsphinx(compile_acceptor(root="number"))


if __name__ == "__main__":
    print(json.dumps(_of_this_process(sys.argv[1], Path(sys.argv[2]))))
