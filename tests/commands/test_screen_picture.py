"""The picture of the screen in the README is what the layout draws of a demo job today."""

from xml.etree import ElementTree

from fieldvoice.devices.screen.layout import layout
from support.screen_picture import HEIGHT, PICTURE, WIDTH, moment, picture
from support.terminal import stands_large


def test_the_picture_is_up_to_date_and_light() -> None:
    drawn = picture()
    again = "cd tests && python -m support.screen_picture"
    assert PICTURE.read_text(encoding="utf-8") == drawn, again
    assert len(drawn) < 40_000
    root = ElementTree.fromstring(drawn)
    words = " ".join(text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text"))
    for part in ("LISTENING", "The standing vacuum runs.", "limit 500 microns", "[+] taken"):
        assert part in words
    assert "█" not in drawn  # no font has to have it


def test_the_picture_shows_a_hold_that_runs_with_its_last_reading_large() -> None:
    shown = moment()
    lines = ["".join(text for text, _ in row) for row in layout(shown, WIDTH, HEIGHT - 1)]
    assert shown.view.hold == "hold"
    assert stands_large(shown.view.figure, lines)
