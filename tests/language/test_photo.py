"""What a photo is said to show becomes its caption, said and typed."""

import pytest

from fieldvoice.language.intents import Photo
from fieldvoice.language.parser import understand


@pytest.mark.parametrize("typed", [False, True])
@pytest.mark.parametrize(("words", "about"), [
    ("photo", None), ("take a picture", None), ("picture of the gauge", "gauge"),
    ("photo of the outdoor unit", "outdoor unit"), ("keep the photo of the flare", "joint"),
    ("photo of the line set", "line set"),
])  # fmt: skip
def test_a_photo_is_asked_for_with_what_it_shows(words: str, about: str | None, typed: bool):
    assert understand(words, typed=typed) == Photo(about)
