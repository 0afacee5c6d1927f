"""Which microphone is meant: a loudspeaker's monitor never, unless it is named."""

import pytest

from fieldvoice.devices.ears import Found, choose
from fieldvoice.devices.ears.found import is_alsa_hardware

MONITOR = Found("Monitor of Built-in Audio", "alsa_output.pci.monitor", b"0", default=True)
ODD_MONITOR = Found("Built-in Audio", "room.monitor", b"1")
BUILT_IN = Found("Built-in Audio Analog", "alsa_input.pci", b"2")
HEADSET = Found("USB Headset Mono", "alsa_input.usb-headset", b"3", default=True)


def test_the_default_microphone_is_taken() -> None:
    assert choose([BUILT_IN, HEADSET]) is HEADSET


def test_a_monitor_is_never_taken_by_itself_though_it_is_the_default() -> None:
    assert choose([MONITOR, ODD_MONITOR, BUILT_IN]) is BUILT_IN
    assert choose([MONITOR, ODD_MONITOR]) is None


@pytest.mark.parametrize("wanted", ["headset", "USB", "usb-head"])
def test_a_part_of_the_name_chooses(wanted: str) -> None:
    assert choose([BUILT_IN, HEADSET], wanted) is HEADSET


def test_a_monitor_may_be_named_but_a_microphone_of_that_name_comes_first() -> None:
    assert choose([MONITOR, BUILT_IN], "monitor of built") is MONITOR
    assert choose([MONITOR, BUILT_IN], "built-in") is BUILT_IN
    assert choose([ODD_MONITOR, BUILT_IN], "built-in audio") is ODD_MONITOR  # its whole name


def test_a_name_that_nothing_has_chooses_nothing() -> None:
    assert choose([BUILT_IN, HEADSET], "lapel") is None


@pytest.mark.parametrize(("known", "hears"), [("hw:1,0", True), ("default", True),
                                              ("null", False), ("jack", False)])
def test_of_alsa_only_cards_hear(known: str, hears: bool) -> None:
    assert is_alsa_hardware(known) is hears
