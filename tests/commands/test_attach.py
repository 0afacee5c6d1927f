"""Files and names added to a job beside the work: kept, logged, shown, never in its way."""

import hashlib
import io
import json
from pathlib import Path

import pytest
from PIL import Image

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.keeping.photos import Photos
from fieldvoice.devices.joblog import JobLog, job_folder, read_log
from fieldvoice.jobstate.attachment import NoPhoto
from fieldvoice.jobstate.events import Attached, HeaderAmended
from fieldvoice.review.report.image import image_url
from support.small_procedure import TEXT

Capture = pytest.CaptureFixture[str]
HOSTILE = "<b>=1+1</b> \x1b[31mred"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.procedure").write_text(TEXT)
    return tmp_path


def work(monkeypatch: pytest.MonkeyPatch, lines: str, *more: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    assert main(["work", "small.procedure", "--typed", "--job", "try", *more]) == 0


def picture(path: Path, colour: str = "red") -> Path:
    image = Image.new("RGB", (60, 40), colour)
    exif = image.getexif()
    exif[274] = 6  # it lies on its side
    exif.get_ifd(0x8825)[1] = "N"  # the place where it was taken
    image.save(path, exif=exif)
    return path


def events(kind: type) -> list:
    return [v.event for v in read_log(job_folder("try")).entries if isinstance(v.event, kind)]


def test_an_attached_picture_is_kept_as_it_was_and_shown_without_its_place(place, monkeypatch):
    work(monkeypatch, "understood\n")
    before = picture(place / "gauge one.jpg").read_bytes()
    assert main(["attach", "try", "gauge one.jpg", "--caption", HOSTILE, "--by", "Ann"]) == 0
    (kept,) = events(Attached)
    assert (kept.file, kept.by) == ("attachments/001-gauge-one.jpg", "Ann")
    assert (job_folder("try") / kept.file).read_bytes() == before
    assert kept.sha256 == hashlib.sha256(before).hexdigest()
    assert main(["report", "try"]) == 0
    page = (job_folder("try") / "report.html").read_text("utf-8")
    assert "data:image/jpeg;base64," in page
    assert "&lt;b&gt;=1+1&lt;/b&gt;" in page
    assert "<b>=1+1" not in page


def test_a_picture_in_a_page_stands_upright_and_tells_no_place(tmp_path):
    from base64 import b64decode

    url = image_url(picture(tmp_path / "a.jpg").read_bytes())
    assert url is not None
    shown = Image.open(io.BytesIO(b64decode(url.partition(",")[2])))
    assert shown.size == (40, 60)
    assert not shown.getexif()


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"\xff\xd8\xff", b"<svg onload='x'/>", b"%PDF-1"])
def test_what_is_no_picture_is_listed_and_never_shown(data):
    assert image_url(data) is None


def test_a_file_altered_or_gone_is_said_and_fails_the_report(place, monkeypatch, capsys: Capture):
    work(monkeypatch, "understood\n")
    picture(place / "a.jpg")
    assert main(["attach", "try", "a.jpg"]) == 0
    assert main(["report", "try"]) == 0
    kept = job_folder("try") / "attachments" / "001-a.jpg"
    picture(kept, "blue")
    assert main(["report", "try"]) == 1
    assert "altered since it was kept" in (job_folder("try") / "report.html").read_text("utf-8")
    kept.unlink()
    assert main(["report", "try"]) == 1
    assert "001-a.jpg is missing" in capsys.readouterr().err


@pytest.mark.parametrize("more", [["no.jpg"], ["."], ["a.jpg", "--unit", "unit nine"]])
def test_what_cannot_be_attached_is_refused_and_leaves_nothing(place, monkeypatch, capsys, more):
    work(monkeypatch, "understood\n")
    picture(place / "a.jpg")
    assert main(["attach", "try", *more]) == 2
    assert events(Attached) == []
    assert not list(job_folder("try").glob("attachments/*"))


def test_nothing_is_attached_while_another_works_on_the_job(place, monkeypatch, capsys: Capture):
    work(monkeypatch, "understood\n")
    picture(place / "a.jpg")
    with JobLog(job_folder("try")):
        assert main(["attach", "try", "a.jpg"]) == 2
    assert not (job_folder("try") / "attachments").exists()


def test_photo_keeps_the_newest_that_arrived_and_each_only_once(tmp_path):
    watched, folder = tmp_path / "camera", tmp_path / "job"
    watched.mkdir()
    folder.mkdir()
    picture(watched / "old.jpg")
    photos = Photos(watched, folder, sleep=lambda _seconds: None)
    with pytest.raises(NoPhoto, match="No new photo"):
        photos.newest(frozenset())
    picture(watched / "new.jpg", "green")
    (watched / "link.jpg").symlink_to(watched / "old.jpg")
    (watched / "notes.txt").write_text("x")
    kept = photos.newest(frozenset())
    assert kept.file == "attachments/001-new.jpg"
    with pytest.raises(NoPhoto):
        photos.newest(frozenset())
    picture(watched / "copy.jpg", "green")  # the same picture under another name
    with pytest.raises(NoPhoto):
        photos.newest(frozenset({kept.sha256}))


def test_the_line_photo_is_answered_and_logged_and_can_be_taken_back(place, monkeypatch, capsys):
    camera = place / "camera"
    camera.mkdir()
    monkeypatch.setattr("sys.stdin", io.StringIO())
    work(monkeypatch, "understood\nphoto\n", "--photos", str(camera))
    assert "No new photo has arrived yet" in capsys.readouterr().out
    assert events(Attached) == []
    monkeypatch.setattr(Photos, "_there", lambda self: {
        path: (path.stat().st_size, path.stat().st_mtime_ns) for path in self._watched.iterdir()
    } if hasattr(self, "_known") else {})
    picture(camera / "img_1.jpg")
    work(monkeypatch, "picture of the gauge\ntake that back\n", "--photos", str(camera))
    out = capsys.readouterr().out
    assert "Photo kept: gauge." in out
    assert "the photo" in out
    (kept,) = events(Attached)
    assert kept.caption == "gauge"
    main(["report", "try"])
    page = (job_folder("try") / "report.html").read_text("utf-8")
    assert "data:image/jpeg" not in page  # taken back


def test_photo_without_a_watched_folder_says_so(place, monkeypatch, capsys: Capture):
    work(monkeypatch, "understood\nphoto\n")
    assert "No photo folder is watched" in capsys.readouterr().out


def test_an_amended_name_shows_what_it_was_who_and_why(place, monkeypatch, capsys: Capture):
    work(monkeypatch, "understood\ncustomer is Hill Street\n")
    told = ["amend", "try", "customer", "Hull Street <i>", "--by", "Ann", "--why", "misheard"]
    assert main(told) == 0
    assert events(HeaderAmended) == [
        HeaderAmended("customer", "Hull Street <i>", "Hill Street", "Ann", "misheard")]
    assert main(["amend", "try", "outdoor-serial", "4812X", "--by", "Ann", "--why", "plate"]) == 0
    assert main(["report", "try", "--json"]) == 0
    page = (job_folder("try") / "report.html").read_text("utf-8")
    assert "Hull Street &lt;i&gt; (was Hill Street; amended" in page
    assert "by Ann: misheard" in page
    assert "4812X (was not told; amended" in page
    found = json.loads((job_folder("try") / "report.json").read_text("utf-8"))
    assert found["units"][0]["facts"]["customer"] == "Hull Street <i>"
    work(monkeypatch, "customer is Hill Road\n")  # told anew since: that holds
    main(["report", "try"])
    assert "Hill Road" in (job_folder("try") / "report.html").read_text("utf-8")


@pytest.mark.parametrize("told", [
    ["altitude", "5 ft", "--by", "a", "--why", "b"], ["nothing", "x", "--by", "a", "--why", "b"],
    ["customer", " ", "--by", "a", "--why", "b"], ["customer", "x", "--by", "", "--why", "b"],
])  # fmt: skip
def test_what_results_rest_on_and_what_says_nothing_is_not_amended(place, monkeypatch, told):
    work(monkeypatch, "understood\n")
    assert main(["amend", "try", *told]) == 2
    assert events(HeaderAmended) == []
