"""A voice that stands still is told once, and once more when it goes on."""

from fieldvoice.commands.wiring.hearing.voice_watch import GOES_ON, STOPPED, watched


class Voice:
    """Stuck as it is told, look by look."""

    def __init__(self, looks: str) -> None:
        self.looks = list(looks)

    @property
    def stuck(self) -> bool:
        return self.looks.pop(0) == "x"


def told(looks: str) -> list[str]:
    voice, notices = Voice(looks), list[str]()
    watched(voice, notices.append, look_s=0.0)(lambda: bool(voice.looks))
    return notices


def test_it_is_told_once_and_once_more_when_it_goes_on() -> None:
    assert told("..xxxx....") == [STOPPED, GOES_ON]
    assert told("..xx..xx") == [STOPPED, GOES_ON, STOPPED]


def test_a_moment_after_a_sleep_is_not_told() -> None:
    assert told("...x...") == []
