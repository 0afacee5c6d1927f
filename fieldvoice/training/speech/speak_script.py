"""Speak a script by other makes: `python -m fieldvoice.training.speech.speak_script`.

For a machine with many cores that has no grammar and no dictionary: the words and phones are the
script's. flite, festival and espeak-ng are programs on the path; Pico is a package.
"""

from __future__ import annotations

import argparse
import itertools
import random
import time
from collections.abc import Callable
from pathlib import Path

from fieldvoice.training.speech import voices
from fieldvoice.training.speech.script import read
from fieldvoice.training.speech.shards import About, Utterance, write_shard

SHARD = 200  # utterances a file
MAKERS: dict[str, Callable[[], voices.Synthesizer]] = {
    "flite": voices.Flite, "festival": voices.Festival, "espeak": voices.Espeak,
    "pico": voices.Pico,
}  # fmt: skip


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("kind", choices=sorted(MAKERS))
    parser.add_argument("--script", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True, help="folder for the shards")
    parser.add_argument("--worker", type=int, default=0, help="this one's number")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=300.0)
    a = parser.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    speak, rng = MAKERS[a.kind](), random.Random(f"{a.kind} {a.worker}")
    own = itertools.islice(read(a.script), a.worker, None, a.workers)
    began = time.monotonic()
    for shard in itertools.count():
        spoken: list[Utterance] = []
        for line in itertools.islice(own, SHARD):
            words, phones = [word for word, _ in line], [said for _, said in line]
            said = speak(words, phones, rng)
            about = About.unstressed(words, phones, said.voice)
            spoken.append(Utterance(voices.to_pcm(said.sound), about))
            if time.monotonic() - began > a.seconds:
                break
        if spoken:
            write_shard(a.out / f"{a.kind}-{a.worker:02d}-{shard:04d}", spoken, packed=False)
        if len(spoken) < SHARD or time.monotonic() - began > a.seconds:
            return


if __name__ == "__main__":
    main()
