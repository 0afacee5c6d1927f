"""The recognizer that a Vosk model folder gives; the only user of vosk, loaded when asked for."""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.recognizer import (
    RATE,
    UNKNOWN,
    ModelError,
    Recognizer,
    Utterance,
)
from fieldvoice.devices.vosk_result import BEGINS, sentences, unmarked, utterance

OWN_MODEL = Path(__file__).resolve().parent.parent / "model"
MOST_WAYS = 10  # in which a sound is heard; more changed nothing that was measured
_TAIL = np.zeros(RATE // 4, dtype=np.int16)  # lets the network see past the last word of a file

_AM_START = b"\0B<TransitionModel>"
_FST_START = bytes.fromhex("d6fdb27e")
_NEEDED = {  # what Vosk loads, and how each file begins; the layouts differ only in the graph
    "am/final.mdl": _AM_START,
    "conf/mfcc.conf": b"",
    "conf/model.conf": b"",
    "graph/words.txt": b"",
}
_GRAPHS = (("graph/HCLG.fst",), ("graph/HCLr.fst", "graph/Gr.fst"))

T = TypeVar("T")


class VoskRecognizer(Recognizer):
    """A loaded model."""

    def __init__(self, model_dir: Path, phrases: list[str] | None = None) -> None:
        """Load a model. Our own hears its built-in grammar; for any other pass `phrases`.

        Raises ModelError.
        """
        check_model(model_dir)
        self._kaldi = _quietly(model_dir, lambda: _load(model_dir, phrases))
        self._pace = _pace(model_dir)
        self._ended: deque[Utterance] = deque()  # not told yet

    def hear(self, pcm: NDArray[np.int16]) -> Utterance:
        """The whole of a sound as one utterance."""
        self._kaldi.Reset()
        self._kaldi.AcceptWaveform(np.concatenate([pcm, _TAIL]).tobytes())
        return utterance(self._kaldi.FinalResult(), self._pace)

    def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
        """Hear on; an utterance once a silence has ended one that holds any word or [unk].

        Of sentences with a short pause between them the others come with the next calls.
        """
        if self._kaldi.AcceptWaveform(chunk.tobytes()):
            self._ended.extend(sentences(self._kaldi.Result(), self._pace))
        return self._ended.popleft() if self._ended else None

    def hearing(self) -> str:
        """The words of the utterance that has not ended yet; may still change."""
        told = json.loads(self._kaldi.PartialResult())
        # just after an end Vosk tells empty ways instead
        return unmarked(str(told.get("partial", "")).rpartition(f" {BEGINS}")[2])

    def finish(self) -> Utterance | None:
        """End the utterance that is open, as at the end of a file; call again for one more."""
        if not self._ended:
            self._ended.extend(sentences(self._kaldi.FinalResult(), self._pace))
        return self._ended.popleft() if self._ended else None

    def forget(self) -> None:
        """Drop what was heard of the open utterance."""
        self._kaldi.Reset()
        self._ended.clear()


def is_own(model_dir: Path) -> bool:
    """Whether the model carries our grammar as its decoding graph and needs no phrases."""
    return model_dir.resolve() == OWN_MODEL or (model_dir / "fieldvoice.json").is_file()


def check_model(model_dir: Path, option: str = "--model") -> None:
    """Refuse a folder not in Vosk's layout before its library sees it. Raises ModelError.

    `option`: with which another one is given.
    """
    hint = f"give the folder that holds am/, conf/ and graph/ with {option}"
    if not model_dir.is_dir():
        raise ModelError(f"no speech model at {model_dir}; {hint}")
    graph = next((g for g in _GRAPHS if all((model_dir / f).is_file() for f in g)), None)
    if graph is None:
        raise ModelError(
            f"{model_dir} is not a speech model: graph/HCLG.fst, or graph/HCLr.fst with "
            f"graph/Gr.fst, is missing; {hint}"
        )
    for name, start in {**_NEEDED, **dict.fromkeys(graph, _FST_START)}.items():
        try:
            with (model_dir / name).open("rb") as file:
                begin = file.read(len(start))
        except OSError:
            raise ModelError(
                f"{model_dir} is not a speech model: {name} is missing; {hint}"
            ) from None
        if begin != start:
            raise ModelError(f"{model_dir / name} is damaged; copy the model folder again")


def _vosk() -> Any:
    """The library without what it would fetch models with: that opens a socket when it is loaded.
    """
    stands_in = "requests" not in sys.modules
    if stands_in:
        sys.modules["requests"] = ModuleType("requests")
    try:
        import vosk
    finally:
        if stands_in:
            del sys.modules["requests"]
    return vosk


def _load(model_dir: Path, phrases: list[str] | None) -> Any:
    vosk = _vosk()
    vosk.SetLogLevel(-2)  # its warnings have no place on the screen, its errors are ours
    model = vosk.Model(model_path=str(model_dir))
    if phrases is None:
        kaldi = vosk.KaldiRecognizer(model, RATE)
    else:
        kaldi = vosk.KaldiRecognizer(model, RATE, json.dumps([*phrases, UNKNOWN]))
    kaldi.SetWords(True)
    kaldi.SetMaxAlternatives(MOST_WAYS)
    return kaldi


def _quietly(model_dir: Path, load: Callable[[], T]) -> T:
    """Run `load` with the library's own messages kept from the screen; its error becomes ours."""
    with _stderr_kept() as said:
        try:
            return load()
        except Exception as error:  # vosk raises nothing narrower
            failure = str(error)
    lines = re.findall(r"^ERROR \(.*?\.cc:\d+\) *(.*)$", said[0], re.MULTILINE)
    reason = (lines[-1] if lines else failure).rstrip(".")
    raise ModelError(f"cannot load the speech model {model_dir}: {reason}; copy it again")


@contextmanager
def _stderr_kept() -> Iterator[list[str]]:
    """Keep what is written to stderr, by C++ too; it is the one item of the list afterwards."""
    said = [""]
    sys.stderr.flush()
    kept = os.dup(2)
    with tempfile.TemporaryFile() as file:
        os.dup2(file.fileno(), 2)
        try:
            yield said
        finally:
            os.dup2(kept, 2)
            os.close(kept)
            file.seek(0)
            said[0] = file.read().decode("utf-8", "replace")


def _pace(model_dir: Path) -> float:
    """Seconds for each that Vosk counts: it takes every network to step by three frames."""
    conf = (model_dir / "conf" / "model.conf").read_text("utf-8", "replace")
    steps = re.search(r"--frame-subsampling-factor=(\d+)", conf)
    return int(steps[1]) / 3 if steps else 1.0
