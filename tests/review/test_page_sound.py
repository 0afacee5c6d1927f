"""Sound in a page: compressed, once, from the job's own folder alone; what is amiss is said."""

import hashlib
import os
from pathlib import Path

import pytest
from msgspec.structs import replace

from fieldvoice.__main__ import main
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.review.page_sound import EMBEDDED, LEFT_OUT, LINKED, PageSounds, sound_url
from support.job_with_sound import AT, job_with_sound


def entries(*clips: str, words: str = "four twelve microns", sha256: str | None = None):
    line = e.LineHeard(words, "voice", {"intent": "note"}, 0.9, "x")
    for seq, clip in enumerate(clips, 1):
        heard = replace(line, clip=clip, clip_sha256=sha256)
        yield Entry(seq, AT, heard)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    job_with_sound(tmp_path / "job", "four twelve microns", "three ten microns")
    return tmp_path / "job"


def test_a_clip_is_embedded_much_smaller_and_only_where_the_page_plays_it(folder):
    clips = sorted(f"clips/{path.name}" for path in (folder / "clips").iterdir())
    sounds = PageSounds(folder, entries(*clips))
    first = sounds.clip(clips[0])
    assert first is not None
    assert first.name == "four twelve microns, 10:14"
    assert not sounds.embedded()  # nothing was drawn yet
    assert first.source == first.source == f"#{clips[0]}"
    (uri,) = sounds.embedded().values()
    assert uri.startswith("data:audio/mpeg;base64,")
    assert len(uri) < (folder / clips[0]).stat().st_size / 3


def test_linked_sound_is_found_beside_the_page_or_by_its_whole_path(folder):
    (clip, *_) = sorted(f"clips/{path.name}" for path in (folder / "clips").iterdir())
    beside = PageSounds(folder, entries(clip), LINKED).clip(clip)
    assert beside is not None
    assert beside.url == clip
    assert sound_url(folder, clip, LINKED) == (folder.resolve() / clip).as_uri()


def test_missing_and_foreign_clips_are_said_and_never_read(folder, tmp_path):
    secret = tmp_path / "secret.wav"
    secret.write_bytes((folder / "clips" / os.listdir(folder / "clips")[0]).read_bytes())
    (folder / "clips" / "link.wav").symlink_to(secret)
    os.link(secret, folder / "clips" / "hard.wav")
    (folder / "clips" / "text.wav").write_text("no sound")
    clips = ["clips/gone.wav", "../secret.wav", str(secret), "clips/../../secret.wav",
             "clips/link.wav", "clips/hard.wav", "clips/text.wav", "log.jsonl", "clips", "a\\0b"]
    sounds = PageSounds(folder, entries(*clips))
    assert [clip.url for path in clips if (clip := sounds.clip(path))] == [None] * len(clips)
    assert len(sounds.faults()) == len(clips)
    assert "the sound clips/gone.wav is missing" in sounds.faults()


def test_a_clip_that_was_altered_since_is_not_played(folder):
    (clip, *_) = sorted(f"clips/{path.name}" for path in (folder / "clips").iterdir())
    right = hashlib.sha256((folder / clip).read_bytes()).hexdigest()
    assert not PageSounds(folder, entries(clip, sha256=right)).faults()
    (fault,) = PageSounds(folder, entries(clip, sha256="0" * 64)).faults()
    assert "altered since it was kept" in fault


def test_what_is_left_out_is_no_fault(folder):
    sounds = PageSounds(folder, entries("clips/gone.wav"), LEFT_OUT)
    assert sounds.faults() == []
    assert sounds.clip("clips/gone.wav").missing == "left out of this page"


def test_a_report_with_a_missing_clip_is_written_says_so_and_fails(folder, capsys):
    assert main(["report", str(folder)]) == 0
    (clip, *_) = sorted((folder / "clips").iterdir())
    clip.unlink()
    assert main(["report", str(folder)]) == 1
    assert f"clips/{clip.name} is missing" in capsys.readouterr().err
    page = (folder / "report.html").read_text("utf-8")
    assert f"sound missing: clips/{clip.name}" in page
    assert EMBEDDED not in page


def test_sounds_left_out_are_told_once_and_not_at_each_line(folder):
    assert main(["report", str(folder), "--no-sound"]) == 0
    page = (folder / "report.html").read_text("utf-8")
    assert page.count("left out of this page") == 1
