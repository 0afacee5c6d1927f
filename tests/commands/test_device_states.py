"""Ears and voice as the screen shows them: states by name, the level in few steps."""

from dataclasses import dataclass

import pytest

from fieldvoice.commands.wiring.screen.device_states import devices_of
from fieldvoice.devices.screen import Devices


@dataclass
class Ears:
    """Stands as it is told."""

    state: str = "listening"
    level_db: float = -60.0
    clipping: bool = False
    hearing: str = ""
    silent: bool = False

    def standing(self) -> "Ears":
        return self


@dataclass
class Voice:
    standing: str = "silent"


def test_what_is_not_there_is_off() -> None:
    assert devices_of(None, None) == Devices("off", voice="off")
    assert devices_of(None, Voice("lost")).voice == "lost"


@pytest.mark.parametrize(("decibels", "level"), [(-200.0, 0.0), (-60.0, 0.0), (-33.0, 0.5),
                                                 (-6.0, 1.0), (0.0, 1.0), (float("-inf"), 0.0)])
def test_the_level_is_a_share_of_what_the_meter_spans(decibels: float, level: float) -> None:
    assert devices_of(Ears(level_db=decibels), Voice()).level == level


def test_a_little_more_noise_is_nothing_new_to_draw() -> None:
    quiet, noisier = Ears(level_db=-40.0), Ears(level_db=-39.0)
    assert devices_of(quiet, Voice()) == devices_of(noisier, Voice())


def test_a_microphone_that_gives_no_sound_is_told_from_one_that_listens() -> None:
    assert devices_of(Ears(silent=True), Voice()).microphone == "silent"
    assert devices_of(Ears("lost", silent=True), Voice()).microphone == "lost"


def test_state_clipping_and_words_so_far_come_through() -> None:
    found = devices_of(Ears("deaf", -6.0, True, "four hun"), Voice("speaking"))
    assert found == Devices("deaf", 1.0, True, "four hun", "speaking")
