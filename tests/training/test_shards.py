"""Synthetic speech on disk comes back as it was spoken, its phones without stress."""

from pathlib import Path

import numpy as np

from fieldvoice.training.speech.shards import About, Utterance, read_folder, write_shard


def test_what_is_said_is_kept_without_stress_a_list_a_word() -> None:
    about = About.unstressed(["zero", "oh"], [["Z", "IY1", "R", "OW0"], ("OW2",)], "kokoro:x")
    assert about == About(["zero", "oh"], [["Z", "IY", "R", "OW"], ["OW"]], "kokoro:x")


def test_a_shard_is_read_back_utterance_by_utterance(tmp_path: Path) -> None:
    spoken = [Utterance(np.full(length, length, np.int16),
                        About.unstressed(["two"], [["T", "UW1"]], f"voice {length}"))
              for length in (300, 500)]
    write_shard(tmp_path / "one", spoken, packed=False)
    back = list(read_folder(tmp_path))
    assert [(u.about.voice, u.about.phones, u.about.samples) for u in back] == [
        ("voice 300", [["T", "UW"]], 300), ("voice 500", [["T", "UW"]], 500)]
    assert [set(u.sound.tolist()) for u in back] == [{300}, {500}]
