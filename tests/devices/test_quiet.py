"""How long it has been quiet, in a quiet room and beside machines."""

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.quiet import HIDDEN_S, Quiet
from fieldvoice.devices.recognizer import RATE
from fieldvoice.training.speech.noise import MACHINES

SPEECH = 1500.0


def place(seconds: float, machine: str | None, decibels: float = 10.0) -> NDArray[np.float64]:
    """The sound of a place, as loud as its machine is beside speech."""
    rng = np.random.default_rng(2)
    count = round(seconds * RATE)
    sound = 3 * rng.standard_normal(count)
    if machine:
        sound += MACHINES[machine](count, rng) * SPEECH * 10 ** (-decibels / 20)
    return sound


def heard(machine: str | None, silence_s: float) -> Quiet:
    """After two seconds of the place, one of voice-like sound, and a silence."""
    sound = place(3.0 + silence_s, machine)
    voice = np.random.default_rng(3).standard_normal(RATE)
    sound[2 * RATE : 3 * RATE] += SPEECH * voice
    quiet = Quiet()
    for chunk in np.array_split(sound.round().astype(np.int16), 60):
        quiet.hear(chunk)
    return quiet


@pytest.mark.parametrize("silence_s", [0.1, 0.4, 1.0])
def test_silence_is_counted_from_the_last_sound(silence_s: float) -> None:
    quiet = heard(None, silence_s)
    assert quiet.spoke
    assert quiet.seconds == pytest.approx(silence_s, abs=0.041)


@pytest.mark.parametrize("machine", MACHINES)
def test_beside_a_machine_too_and_less_what_it_may_hide(machine: str) -> None:
    quiet = heard(machine, 1.0)
    assert quiet.spoke
    assert 1.0 - HIDDEN_S - 0.1 <= quiet.seconds <= 1.0


def test_a_new_line_begins_with_nothing_said() -> None:
    quiet = heard(None, 0.5)
    quiet.begin()
    assert not quiet.spoke
    assert quiet.seconds == 0.0


@pytest.mark.parametrize("machine", [None, *MACHINES])
def test_a_machine_alone_has_not_spoken(machine: str | None) -> None:
    quiet = Quiet()
    for chunk in np.array_split(place(10.0, machine).round().astype(np.int16), 200):
        quiet.hear(chunk)
    assert not quiet.spoke


def test_it_does_not_matter_how_the_sound_is_cut() -> None:
    sound = place(3.0, "fan").round().astype(np.int16)
    sound[RATE : 2 * RATE : 2] += 3000
    results = set()
    for pieces in (3, 30, 299):
        quiet = Quiet()
        for chunk in np.array_split(sound, pieces):
            quiet.hear(chunk)
        results.add((quiet.spoke, quiet.seconds))
    assert len(results) == 1
