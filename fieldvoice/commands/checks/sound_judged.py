"""What the figures of a microphone, a loudspeaker and a room mean, and what to do. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fieldvoice.commands.checks import sound_figures as figures
from fieldvoice.commands.checks.finding import BAD, OK, WARN, Finding
from fieldvoice.commands.checks.sound_figures import Sound
from fieldvoice.devices.ears import Found, choose
from fieldvoice.quantity.shares import percent

# dBFS. From memory, not from a document: a quiet room lies near -60 through a usual microphone, and
# the recognizer was measured to lose lines when speech is less than some 10 dB above the noise.
NOISY_DB = -35.0
LEAST_ABOVE_NOISE_DB = 10.0
TOO_SOFT_DB = -45.0
MOST_CLIPPED = 0.001
CLEARLY = 8.0  # highest correlation over the usual one; noise alone stays below
LOUD_ECHO_DB = -6.0


def judge_microphones(found: Sequence[Found], wanted: str | None = None) -> Finding:
    """Which microphone would be used, and why; `wanted`: a part of its name."""
    names = [device.name for device in found if not device.monitor]
    told: dict[str, Any] = {
        "microphones": names, "monitors": [d.name for d in found if d.monitor]}
    chosen = choose(found, wanted)
    if chosen is None:
        if wanted is not None and names:
            return Finding("microphone", BAD, f"none is called {wanted}",
                           f"there is: {', '.join(names)}", told)
        why = "only a monitor: it hears what the loudspeaker plays, nobody in the room" \
            if found else "none found"
        return Finding("microphone", BAD, why, "plug one in, or work by typing: "
                       "fieldvoice work ... --typed", told)
    told["used"] = chosen.name
    others = ", ".join(name for name in names if name != chosen.name)
    if chosen.monitor:  # only by name: the ears never choose one
        return Finding("microphone", WARN, f"{chosen.name}, as asked: it hears what the "
                       "loudspeaker plays, nobody in the room",
                       f"name another one: {others}" if others else "plug one in", told)
    why = "as asked" if wanted is not None else "the system's usual one" if chosen.default \
        else "the first one"
    return Finding("microphone", OK, f"{chosen.name}, {why}{others and f'; others: {others}'}",
                   figures=told)


def judge_loudspeakers(names: Sequence[str]) -> Finding:
    """Which loudspeaker would be used: the first of these."""
    if not names:
        return Finding("loudspeaker", BAD, "none found", "plug one in; until then replies are on "
                       "the screen only", {"loudspeakers": []})
    return Finding("loudspeaker", OK, names[0],
                   figures={"loudspeakers": list(names), "used": names[0]})


def judge_room(quiet: Sound) -> Finding:
    """The noise of the room, while nobody speaks."""
    level = round(figures.level_db(quiet), 1)
    told = {"noise_dbfs": level, "seconds": round(len(quiet) / 16_000, 1)}
    if figures.is_flat(quiet):
        return Finding("room", BAD, "the microphone gives no sound at all: it is muted or dead",
                       "take its mute off (a switch on it, or the sound settings), or plug in "
                       "another one", told)
    if level > NOISY_DB:
        return Finding("room", WARN, f"loud: {level:.0f} dB below full scale",
                       "bring the microphone closer to the mouth, or away from the pump", told)
    return Finding("room", OK, f"{-level:.0f} dB below full scale", figures=told)


def judge_sentence(sound: Sound, words: str, confidence: float, asked: str, noise_db: float
                   ) -> Finding:
    """The sentence that was asked for: how loud, how clean, and what was heard of it."""
    level, clipped = figures.loudest_db(sound), figures.clipped_part(sound)
    above = level - noise_db
    told = {"heard": words, "confidence": round(confidence, 2), "speech_dbfs": round(level, 1),
            "above_noise_db": round(above, 1), "clipped_part": round(clipped, 5)}
    what = f'heard "{words}" ({percent(confidence)} sure)' if words else "no words were heard"
    if figures.is_flat(sound):
        return Finding("speech", BAD, "the microphone gives no sound at all",
                       "take its mute off, or plug in another one", told)
    if clipped > MOST_CLIPPED:
        return Finding("speech", BAD, f"too loud: {clipped:.1%} is cut off; {what}",
                       "move away from the microphone, or turn it down in the sound settings", told)
    if words != asked:
        soft = level < TOO_SOFT_DB or above < LEAST_ABOVE_NOISE_DB
        hint = f"speak up or come closer: speech is only {max(above, 0):.0f} dB above the room" \
            if soft else "say it once more, as it stands"
        return Finding("speech", BAD, what, hint, told)
    if above < LEAST_ABOVE_NOISE_DB:
        return Finding("speech", WARN, f"{what}, but only {above:.0f} dB above the room",
                       "come closer to the microphone", told)
    return Finding("speech", OK, f"{what}, {above:.0f} dB above the room", figures=told)


def judge_voice_back(said: Sound, heard: Sound) -> Finding:
    """How much of Fieldvoice's own voice the microphone hears."""
    back, clear = figures.came_back_db(said, heard)
    told = {"came_back_db": round(back, 1), "clearness": round(clear, 1)}
    if clear < CLEARLY:
        return Finding("voice", WARN, "the voice was not heard back: a headset, or a loudspeaker "
                       "that is off", "if you did not hear it either, turn the loudspeaker up",
                       {**told, "came_back_db": None})
    if back > LOUD_ECHO_DB:
        return Finding("voice", WARN, f"comes back at {back:.0f} dB: nearly as loud as it is said",
                       "turn the loudspeaker down, or move the microphone away from it", told)
    return Finding("voice", OK, f"heard back at {back:.0f} dB", figures=told)
