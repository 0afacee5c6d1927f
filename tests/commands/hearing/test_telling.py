"""What befalls the ears is shown, and said as something that is urgent."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

from fieldvoice.commands.wiring.hearing.watch import Trouble
from fieldvoice.commands.wiring.live_job import LiveJob
from fieldvoice.commands.wiring.open_ears import _befell, _teller


def test_trouble_of_the_ears_is_shown_and_said_as_an_alert(tmp_path: Path) -> None:
    shown: list[str] = []
    said: list[tuple[str, str]] = []
    job: Any = SimpleNamespace(
        output=SimpleNamespace(notice=shown.append),
        speaker=SimpleNamespace(say=lambda text, tone: said.append((text, tone))),
    )
    _befell(Trouble("recognizer", "failed", "why"), _teller(cast(LiveJob, job)), tmp_path / "log")
    assert shown == ["I cannot hear for a moment."]
    assert said == [("I cannot hear for a moment.", "alert")]
