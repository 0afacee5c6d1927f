"""What every recognizer can do once it can be fed: the lines of a sound, and where each ends."""

import numpy as np

from support.fake_recognizer import FakeRecognizer

SOUND = np.repeat(np.array([0, 7, 8, 0, 0, 9], dtype=np.int16), 100)


def test_a_sound_is_cut_into_the_lines_that_end_in_it() -> None:
    assert [u.words for u in FakeRecognizer().hear_lines(SOUND, chunk=100)] == ["7 8", "9"]


def test_each_line_comes_with_how_much_had_been_heard_when_it_ended() -> None:
    found = FakeRecognizer().hear_ends(SOUND[:550], chunk=100)
    assert [(u.words, end) for u, end in found] == [("7 8", 400), ("9", 550)]


def test_what_was_open_before_is_no_part_of_a_new_sound() -> None:
    ear = FakeRecognizer()
    ear.feed(SOUND[100:200])
    assert ear.hearing() == "7"
    assert [u.words for u in ear.hear_lines(SOUND, chunk=100)] == ["7 8", "9"]
