"""Sound of a voice made fit to be played: its silent ends cut, one loudness, louder or softer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.int16]

SPEECH_DB = -15.0  # of the parts in which there is speech, below full scale
_MOST_CHANGE_DB = 15.0
_FRAME_S = 0.02
_SILENT_DB = -45.0  # below the loudest: no sound of speech is that soft
_SPEECH_RANGE_DB = -30.0  # frames within this of the loudest are speech
_KEPT_S = 0.03  # of the silence at either end, so that no sound begins cut


def trimmed(sound: Sound, rate: int) -> Sound:
    """Without the silence before and after it; eSpeak adds 0.4 s, Pico 0.6 s."""
    size = np.abs(sound.astype(np.int32))
    heard = np.flatnonzero(size > size.max(initial=0) * 10 ** (_SILENT_DB / 20))
    if not len(heard):
        return sound[:0]
    kept = int(_KEPT_S * rate)
    return sound[max(0, heard[0] - kept) : heard[-1] + kept]


def levelled(sound: Sound, rate: int) -> Sound:
    """As loud as any other reply: SPEECH_DB where there is speech."""
    frame = int(_FRAME_S * rate)
    whole = sound[: len(sound) // frame * frame].astype(np.float64).reshape(-1, frame)
    power = (whole / 32768.0) ** 2
    power = power.mean(axis=1)
    speech = power[power > power.max(initial=0) * 10 ** (_SPEECH_RANGE_DB / 10)]
    if not len(speech):
        return sound
    change = SPEECH_DB - 10 * float(np.log10(speech.mean()))
    return amplified(sound, float(np.clip(change, -_MOST_CHANGE_DB, _MOST_CHANGE_DB)))


def amplified(sound: Sound, gain_db: float) -> Sound:
    """Louder or softer; peaks are rounded off rather than clipped."""
    if gain_db == 0:
        return sound
    scaled = sound / 32768.0 * 10 ** (gain_db / 20)
    rounded = np.tanh(scaled) if gain_db > 0 else scaled
    return np.asarray(np.rint(rounded * 32767), dtype=np.int16)
