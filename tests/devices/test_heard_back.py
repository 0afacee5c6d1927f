"""Every reply can be spoken, and its numbers are heard back right by our own recognizer."""

import re

import numpy as np
import pytest

from fieldvoice.language.speech_text import figures, say
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped, shipped_names
from support.heard_back import heard_figure, heard_reply, replies, sound, values

SPEAKABLE = re.compile(r"[A-Za-z ,.:;?!'()\n-]+")
NUMBERS = [
    "104 psig", "3.5 oz", "412 microns", "1,250 microns", "9,600 microns", "-5 psig",
    "29.9 inHg vacuum", "68 \u00b0F",
    "12.2 \u00b0F", "21.5 \u00b0C", "0.8 A", "11.4 A", "238 V", "30 ft",
    "10.2 oz", "1.2 torr", "345 kPa", "18 ft-lb", "6 cfm", "123%", "10 minutes", "1 hour",
    "45 seconds",
]  # fmt: skip
REPLIES = [
    "500 microns, inside the limit.",
    "410 microns. That is above 300 microns.",
    "104 psig, inside the limit.",
    "Vacuum is now 307 microns, not 370 microns.",
    "Hold: 4 minutes 57 seconds left.",
    "Weigh in 10.2 ounces, then check superheat or subcooling.",
    "Subcooling is 12.2 \u00b0F, target 10.0. Leave the charge.",
    "Lower design pressure at least 300 psig? Say yes or no.",
]  # fmt: skip


def procedure_texts():
    for procedure in (load(shipped(name)) for name in shipped_names()):
        yield procedure.intro
        yield from (caution.text for caution in procedure.cautions.values())
        for step in procedure.steps:
            yield from (re.sub(r"\{.*?\}", "5 psig", text) for text in (step.say, step.why))


@pytest.mark.parametrize("text", sorted({*procedure_texts(), *replies()} - {""}))
def test_a_reply_in_words_holds_no_sign_and_no_figure(text):
    assert SPEAKABLE.fullmatch(say(text)), say(text)


@pytest.mark.parametrize("text", REPLIES)
def test_a_reply_can_be_spoken(text):
    spoken = sound(text)
    assert len(spoken) > 16_000
    assert np.abs(spoken).max() > 3_000


@pytest.mark.parametrize("number", NUMBERS)
def test_a_number_in_a_reply_is_heard_back_as_it_was_said(number):
    (figure,) = figures(number)
    right, heard = heard_figure(figure)
    assert right, f"{figure!r} was heard as {heard!r}"


@pytest.mark.parametrize("text", REPLIES)
def test_the_numbers_of_a_whole_reply_are_heard_back_in_order(text):
    right, heard = heard_reply(text)
    assert right, f"{text!r} was heard as {heard!r}"


def test_every_unit_that_can_be_heard_is_among_the_numbers_tried():
    units = {value.split(" ", 1)[1] for value in values()}
    assert {"microns", "psig", "oz", "\u00b0F", "A", "V", "ft", "torr", "kPa"} <= units
