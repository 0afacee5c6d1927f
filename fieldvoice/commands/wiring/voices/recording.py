"""Recording the prompted lines of a voice with this computer's microphone."""

from __future__ import annotations

import argparse

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.final_mdl import read_weights
from fieldvoice.acoustics.lexicon import read_lexicon
from fieldvoice.commands.rim.telling import tell
from fieldvoice.commands.wiring.models import load_recognizer
from fieldvoice.commands.wiring.voices.ear import MicrophoneEar
from fieldvoice.commands.wiring.voices.kept import VoicePlace
from fieldvoice.commands.wiring.voices.prompting import HELP, Prompting
from fieldvoice.commands.wiring.voices.recordings import Recordings, prompts
from fieldvoice.commands.wiring.voices.usable import unlike
from fieldvoice.devices.ears.played import is_played
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL


def record_all(args: argparse.Namespace, place: VoicePlace, recordings: Recordings) -> None:
    """Ask for the lines that are missing. Raises MicrophoneError, ModelError or OSError."""
    missing = recordings.missing()
    if not missing:
        return
    base = args.model or OWN_MODEL
    recognizer = load_recognizer(args.model)
    weights = read_weights((base / "am" / "final.mdl").read_bytes())
    tell(f"{len(missing)} of {len(prompts())} lines are to be read aloud, each as you speak at "
         "work, in a quiet place.")
    tell(f"The recordings stay on this computer, in {place.lines}.")
    tell(HELP)
    read = read_sound if args.microphone and is_played(args.microphone) else None
    lexicon = read_lexicon(base)

    def fits(sound: NDArray[np.int16], words: str) -> str:
        return unlike(sound, words, weights, lexicon)

    with MicrophoneEar(recognizer, args.microphone, read) as ear:
        Prompting(recordings, ear, tell, fits, _say if args.aloud else None).ask_all()


def _say(words: str) -> None:
    """Through the loudspeaker, to its end. Raises VoiceError or LoudspeakerError."""
    from fieldvoice.commands.checks.sound import play
    from fieldvoice.devices.mouth import RATES, Voices

    play(Voices().say(words, RATES[len(RATES) // 2]))

