"""Whatever happens to a job's folder is told; nothing altered counts, and nothing fails."""

import hashlib
import json
import random
import shutil
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from fieldvoice.devices.joblog import (
    DamagedLog,
    JobLog,
    JobLogError,
    parse_log,
    read_log,
    register_path,
    verify,
)
from fieldvoice.devices.joblog.lines import FIRST_PREV, has_hash, line_hash, with_hash
from fieldvoice.jobstate.events import (
    Entry,
    Event,
    JobStarted,
    LineHeard,
    ReadingTaken,
    Said,
    StepDone,
    StepOpened,
)
from support.old_log import make_old, version_1

AT = datetime(2026, 3, 2, 9, 14, 5, 120_000, tzinfo=timezone(timedelta(hours=-5)))
TEXT = "the procedure\n"
SHA = hashlib.sha256(TEXT.encode()).hexdigest()


def turns(log: JobLog) -> Iterator[list[Event]]:
    """A small job: a start, then spoken readings that each answer and go on."""
    yield [JobStarted("unit-12b", "small", SHA, "0"), StepOpened("evacuate", "pump-on")]
    for number in range(6):
        clip = log.save_clip(bytes([number]) * 320)
        line = log.next_seq
        yield [
            LineHeard("vierzig µm", "voice", {"intent": "reading"}, 0.9, clip.path, "accepted",
                      clip.sha256, clip.bytes),
            ReadingTaken("vacuum", f"{412 + number}", "microns", 54.93, "Pa", "pump-on", line),
            StepDone("pump-on", line), StepOpened("evacuate", "pump-on", number + 2),
            Said("Logged.", "answer"),
        ]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "unit-12b"
    with JobLog.create(made, TEXT) as log:
        for minute, events in enumerate(turns(log)):
            first = log.next_seq
            log.append_all([Entry(first + n, AT + timedelta(minutes=minute), event)
                            for n, event in enumerate(events)])
    return made


def told(folder: Path) -> str:
    """All that verifying says is wrong."""
    found = verify(folder)
    assert found.intact is not bool(found.faults)
    return "\n".join(map(str, found.faults))


def nothing_altered_counts(raw: bytes, right: dict[int, Entry]) -> None:
    found = parse_log(raw, "log")
    assert all(entry == right[entry.seq] for entry in found.entries
               if not isinstance(entry.event, JobStarted))
    assert len({entry.seq for entry in found.entries}) == len(found.entries)


def test_a_job_that_was_closed_is_sealed_and_as_it_was_written(folder: Path) -> None:
    found = verify(folder)
    assert (found.intact, found.sealed, found.lines, found.faults) == (True, "sealed", 32, ())
    last = json.loads((folder / "log.jsonl").read_bytes().splitlines()[-1])
    assert found.head == last["hash"]
    seal = json.loads((folder / "seal.json").read_text())
    assert (seal["lines"], seal["head"], seal["clips"]) == (32, found.head, 6)
    assert seal["procedures"] == [{"file": "procedure.txt", "sha256": SHA}]
    outside = register_path().read_text().splitlines()
    assert any(json.loads(line)["head"] == found.head for line in outside)


def test_any_flipped_bit_is_found_the_last_line_included(folder: Path) -> None:
    path = folder / "log.jsonl"
    whole = path.read_bytes()
    right = {entry.seq: entry for entry in read_log(folder).entries}
    dice, last = random.Random(7), len(whole) - len(whole.splitlines()[-1]) - 1
    places = [dice.randrange(len(whole)) for _ in range(150)]
    places += [dice.randrange(last, len(whole)) for _ in range(60)] + [len(whole) - 1]
    for place in places:
        bit = 1 << dice.randrange(8)
        raw = whole[:place] + bytes([whole[place] ^ bit]) + whole[place + 1 :]
        path.write_bytes(raw)
        nothing_altered_counts(raw, right)
        assert told(folder), (place, bit)


def test_any_flipped_bit_is_found_without_a_seal_too(folder: Path) -> None:
    whole = (folder / "log.jsonl").read_bytes()
    dice = random.Random(8)
    for place in [*(dice.randrange(len(whole)) for _ in range(150)), len(whole) - 1]:
        raw = whole[:place] + bytes([whole[place] ^ (1 << dice.randrange(8))]) + whole[place + 1 :]
        found = parse_log(raw, "log")
        assert found.faults, place  # not only torn: nothing was cut short


def test_a_cut_at_every_byte_of_the_last_two_lines_is_found(folder: Path) -> None:
    path = folder / "log.jsonl"
    whole = path.read_bytes()
    right = {entry.seq: entry for entry in read_log(folder).entries}
    begin = len(whole) - sum(len(line) + 1 for line in whole.splitlines()[-2:])
    for cut in range(begin, len(whole)):
        path.write_bytes(whole[:cut])
        nothing_altered_counts(whole[:cut], right)
        assert "missing" in told(folder)
        with pytest.raises(DamagedLog):
            JobLog(folder)


def test_a_turn_that_was_cut_short_by_a_kill_is_set_aside_whole(folder: Path) -> None:
    path = folder / "log.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    for kept in range(28, 32):  # of the last turn's five lines one to four, and half of the next
        cut = b"".join(lines[:kept]) + lines[kept][:50]
        path.write_bytes(cut)
        (folder / "seal.json").unlink(missing_ok=True)
        register_path().unlink(missing_ok=True)
        for old in folder.glob("torn-*.txt"):
            old.unlink()
        assert len(read_log(folder).entries) == 27
        with JobLog(folder) as log:
            assert (len(log.entries), log.next_seq) == (27, 28)
            assert "cut short" in log.notices[0]
        assert (folder / "torn-1.txt").read_bytes() == b"".join(lines[27:kept]) + lines[kept][:50]
        assert read_log(folder).torn == b""
    assert verify(folder).sealed == "sealed"


def test_lines_since_the_last_seal_are_told_and_are_no_damage(folder: Path) -> None:
    before = (folder / "seal.json").read_bytes()
    with JobLog(folder) as log:
        log.append(Said("more", "answer"), AT + timedelta(hours=1))
        log.append(Said("more", "answer"), AT + timedelta(hours=1))
    (folder / "seal.json").write_bytes(before)  # as a kill leaves it
    register = register_path().read_bytes().splitlines(keepends=True)
    register_path().write_bytes(b"".join(register[:-1]))
    found = verify(folder)
    assert (found.intact, found.sealed) == (True, "unsealed-tail")
    assert any("2 lines since the last seal" in note for note in found.notes)


# --- a table of what else can happen to a log ---------------------------------------------------

Change = Callable[[list[bytes]], list[bytes]]


def line(number: int, change: Callable[[bytes], bytes]) -> Change:
    """One line is another one; counted from 0."""
    return lambda lines: [change(v) if n == number else v for n, v in enumerate(lines)]


def fields(**changed: object) -> Callable[[bytes], bytes]:
    """Other values in the envelope, the line otherwise as it was, with its old hash."""
    return lambda raw: json.dumps({**json.loads(raw), **changed}, ensure_ascii=False).encode()


def forged(**changed: object) -> Callable[[bytes], bytes]:
    """The same, by somebody who writes the line's own hash anew."""
    def write(raw: bytes) -> bytes:
        found = {**json.loads(raw), **changed}
        del found["hash"]
        return with_hash(found)

    return write


ALTERATIONS: dict[str, Change] = {
    "a version beyond all numbers": line(5, lambda v: b'{"v": 1e999}'),
    "a version of hundred digits": line(5, lambda v: v.replace(b'"v": 2', b'"v": ' + b"9" * 100)),
    "a version below one": line(5, lambda v: v.replace(b'"v": 2', b'"v": -3')),
    "an older version": line(5, lambda v: v.replace(b'"v": 2', b'"v": 1')),
    "the last line of an older version": line(31, fields(v=1)),
    "200,000 brackets": line(5, lambda v: b"[" * 200_000),
    "200,000 brackets in an event": line(
        5, lambda v: v.replace(b'"data": {', b'"data": {"x": ' + b"[" * 200_000)),
    "900 levels that close": line(5, lambda v: v.replace(
        b'"data": {', b'"data": {"x": ' + b"[" * 900 + b"]" * 900 + b", ")),
    "900 levels, forged": line(2, forged(data={
        "words": "x", "source": "voice", "intent": {"x": json.loads("[" * 900 + "]" * 900)}})),
    "no object": line(5, lambda v: b"[]"),
    "nothing": line(5, lambda v: b""),
    "a number": line(5, lambda v: b"7"),
    "null": line(5, lambda v: b"null"),
    "text": line(5, lambda v: "Grüße".encode()),
    "half a line": line(5, lambda v: v[:70]),
    "bytes that are no text": line(5, lambda v: v.replace(b"pump-on", b"\xff\xfe\x80")),
    "half a character": line(5, lambda v: v.replace(b"pump-on", b"\\ud800")),
    "zeros in a line": line(5, lambda v: v[:40] + b"\0" * 60 + v[100:]),
    "a block of zeros": line(5, lambda v: b"\0" * 4096),
    "a mark in front": line(0, lambda v: b"\xef\xbb\xbf" + v),
    "the mark of another encoding": line(0, lambda v: b"\xff\xfe" + v),
    "the line ends of another system": lambda lines: [v + b"\r" for v in lines],
    "one such line end": line(31, lambda v: v + b"\r"),
    "blanks behind a line": line(9, lambda v: v + b"  "),
    "blanks in a line": line(9, lambda v: v.replace(b'"kind":', b'"kind": ')),
    "a long line": line(9, lambda v: v.replace(b'"data": {', b'"data": {"x": "' + b"a" * 2_000_000
                                               + b'", ')),
    "an empty line more": lambda lines: [*lines[:9], b"", *lines[9:]],
    "empty lines at the end": lambda lines: [*lines, b"", b""],
    "a line out": lambda lines: [*lines[:9], *lines[10:]],
    "the first line out": lambda lines: lines[1:],
    "the last line out": lambda lines: lines[:-1],
    "the last turn out": lambda lines: lines[:-5],
    "half of it out": lambda lines: lines[:17],
    "a turn out in the middle": lambda lines: [*lines[:7], *lines[12:]],
    "a line twice": lambda lines: [*lines[:9], lines[8], *lines[9:]],
    "the last line twice": lambda lines: [*lines, lines[-1]],
    "the last turn twice": lambda lines: [*lines, *lines[-5:]],
    "all twice": lambda lines: lines * 2,
    "two lines swapped": lambda lines: [*lines[:9], lines[10], lines[9], *lines[11:]],
    "the last two swapped": lambda lines: [*lines[:-2], lines[-1], lines[-2]],
    "all backwards": lambda lines: lines[::-1],
    "two lines in one": lambda lines: [*lines[:9], lines[9] + lines[10], *lines[11:]],
    "a line in two": lambda lines: [*lines[:9], lines[9][:99], lines[9][99:], *lines[10:]],
    "all gone": lambda lines: [],
    "rubbish at the end": lambda lines: [*lines, b"\x17\x03rubbish"],
    "an object at the end": lambda lines: [*lines, b'{"v": 2}'],
    "a line of a newer version": line(31, fields(v=3)),
    "a forged line of a newer version": line(31, forged(v=3)),
    "a negative number": line(9, fields(seq=-4)),
    "an absurd number": line(9, fields(seq=10**18)),
    "an absurd number, forged": line(9, forged(seq=10**18)),
    "a number of hundred digits": line(9, lambda v: v.replace(b'"seq": 1', b'"seq": ' + b"9" * 99)),
    "a number as text": line(9, fields(seq="10")),
    "a number of its last line": line(31, fields(seq=99)),
    "another turn": line(9, fields(turn=1)),
    "another turn, forged": line(9, forged(turn=1)),
    "a turn of no line, forged": line(9, forged(turn_lines=0)),
    "a turn of many lines at the end, forged": line(31, forged(turn_lines=9)),
    "another job": line(9, fields(job="unit-13")),
    "another job, forged": line(31, forged(job="unit-13")),
    "a job of no name": line(9, fields(job=None)),
    "no time": line(9, fields(utc="yesterday")),
    "a time without offset": line(9, fields(utc="2026-03-02T09:14:05")),
    "a time before all clocks": line(9, forged(utc="0001-01-01T00:00:00.000000Z")),
    "a time after all clocks": line(9, forged(utc="9999-12-31T23:59:59.000000Z")),
    "an offset of a day": line(9, forged(offset="+99:00")),
    "no offset": line(9, forged(offset="")),
    "an offset of text": line(9, forged(offset="noon")),
    "a clock beyond all numbers": line(9, lambda v: v.replace(b'"mono": ', b'"mono": 9e999')),
    "a clock far ahead, forged": line(9, forged(mono=1e300)),
    "a kind that is none": line(9, fields(kind="reading-dreamt")),
    "a kind that is none, forged": line(9, forged(kind="reading-dreamt")),
    "a kind of another event, forged": line(9, forged(kind="verdict-given")),
    "no data": line(9, fields(data=None)),
    "data of a list": line(9, fields(data=[1])),
    "data of nothing, forged": line(3, forged(data={})),
    "data of wrong types, forged": line(3, forged(data={"quantity": 5, "value": [], "si": "x"})),
    "a value that is no number": line(3, lambda v: v.replace(b'"412"', b'"4l2"')),
    "another value": line(3, lambda v: v.replace(b'"412"', b'"402"')),
    "another value in the last turn": line(28, lambda v: v.replace(b'"417"', b'"300"')),
    "another value, forged": line(3, forged(data={
        "quantity": "vacuum", "value": "1", "unit": "microns", "si": 0.1, "si_unit": "Pa",
        "step": "pump-on"})),
    "another word at the end": line(31, lambda v: v.replace(b"Logged.", b"Lagged.")),
    "another word at the end, forged": line(31, forged(data={"text": "Tight.", "tone": "answer"})),
    "another hash": line(9, lambda v: v[:-3] + (b"0" if v[-3:-2] != b"0" else b"1") + b'"}'),
    "another hash at the end": line(31, lambda v: v[:-3] + (b"0" if v[-3:-2] != b"0" else b"1")
                                    + b'"}'),
    "a hash of capitals": line(31, lambda v: v[:-66] + v[-66:-2].upper() + b'"}'),
    "no hash": line(9, lambda v: v[:-77] + b"}"),
    "no hash at the end": line(31, lambda v: v[:-77] + b"}"),
    "another hash before": line(9, fields(prev="0" * 64)),
    "another hash before, forged": line(9, forged(prev="0" * 64)),
    "a hash before that is none": line(9, forged(prev="\u00e9")),
    "members in another order": line(9, lambda v: json.dumps(
        dict(reversed(json.loads(v).items()))).encode()),
    "a member twice": line(9, lambda v: v.replace(b'{"v": 2', b'{"v": 2, "v": 2')),
    "a member more": line(9, fields(weather="fair")),
    "another case": line(9, lambda v: v.replace(b"pump-on", b"PUMP-ON")),
    "everything quoted": lambda lines: [json.dumps(v.decode()).encode() for v in lines],
    "everything in one list": lambda lines: [b"[" + b",".join(lines) + b"]"],
    "another sheet's beginning, forged": line(0, forged(data={
        "job": "unit-12b", "procedure": "small", "procedure_sha256": "1" * 64,
        "fieldvoice": "0"})),
}  # fmt: skip


@pytest.mark.parametrize("name", ALTERATIONS)
def test_an_altered_log_is_found_out_and_nothing_altered_counts(folder: Path, name: str) -> None:
    path = folder / "log.jsonl"
    right = {entry.seq: entry for entry in read_log(folder).entries}
    whole = path.read_bytes()
    raw = b"".join(v + b"\n" for v in ALTERATIONS[name](whole.splitlines()))
    assert raw != whole
    path.write_bytes(raw)
    if "forged" not in name:
        nothing_altered_counts(raw, right)
    assert told(folder)
    with pytest.raises(JobLogError):
        JobLog(folder)
    assert path.read_bytes() == raw


def test_lines_after_a_damaged_one_count(folder: Path) -> None:
    path = folder / "log.jsonl"
    lines = path.read_bytes().splitlines()
    path.write_bytes(b"\n".join([*lines[:9], b"rubbish", *lines[10:], b""]))
    found = read_log(folder)
    assert [entry.seq for entry in found.entries] == [n for n in range(1, 33) if n != 10]
    (fault,) = found.faults
    assert (fault.where, fault.counts, fault.text) == ("line 10", False, "rubbish")


def test_a_log_rewritten_from_a_line_on_betrays_itself_by_its_seal(folder: Path) -> None:
    path = folder / "log.jsonl"
    prev, lines = FIRST_PREV, []
    for raw in path.read_bytes().splitlines():
        found = {**json.loads(raw), "prev": prev}
        del found["hash"]
        if found["kind"] == "reading-taken":
            found["data"]["value"] = "100"
        lines.append(with_hash(found))
        prev = line_hash(lines[-1])
    path.write_bytes(b"\n".join([*lines, b""]))
    assert read_log(folder).faults == ()  # the chain alone cannot tell
    assert "is not the one that was sealed" in told(folder)


# --- the rest of the folder ---------------------------------------------------------------------


def spoil_clip(folder: Path) -> None:
    path = folder / "clips" / "000003.wav"
    path.write_bytes(path.read_bytes()[:-1] + b"\x55")


def swap_clips(folder: Path) -> None:
    one, other = folder / "clips" / "000003.wav", folder / "clips" / "000008.wav"
    held = one.read_bytes()
    one.write_bytes(other.read_bytes())
    other.write_bytes(held)


def link_clip(folder: Path) -> None:
    path = folder / "clips" / "000003.wav"
    path.rename(folder.parent / "away.wav")
    path.symlink_to(folder.parent / "away.wav")


def spoil_seal(folder: Path) -> None:
    path = folder / "seal.json"
    path.write_text(path.read_text().replace('"lines": 32', '"lines": 31'))


SPOILED: dict[str, tuple[Callable[[Path], object], str]] = {
    "a clip altered": (spoil_clip, "clips/000003.wav: was changed"),
    "clips swapped": (swap_clips, "clips/000008.wav: was changed"),
    "a clip cut": (lambda f: (f / "clips/000003.wav").write_bytes(b"RIFF"), "4 bytes where"),
    "a clip deleted": (lambda f: (f / "clips/000003.wav").unlink(), "is gone or cannot be read"),
    "a clip added": (lambda f: (f / "clips/000077.wav").write_bytes(b"x"), "belongs to no line"),
    "a clip that is a link": (link_clip, "is no file but a link"),
    "all clips deleted": (lambda f: shutil.rmtree(f / "clips"), "000028.wav: is gone"),
    "the procedure altered": (lambda f: (f / "procedure.txt").write_text("limit 3000\n"),
                              "is not the text of small that the job began with"),
    "the procedure deleted": (lambda f: (f / "procedure.txt").unlink(), "is gone"),
    "the seal altered": (spoil_seal, "seal.json: cannot be believed"),
    "the seal emptied": (lambda f: (f / "seal.json").write_bytes(b""), "seal.json: cannot be"),
    "the seal deleted": (lambda f: (f / "seal.json").unlink(), "seal.json: is gone"),
    "the log emptied": (lambda f: (f / "log.jsonl").write_bytes(b""), "32 are missing"),
}


@pytest.mark.parametrize("name", SPOILED)
def test_what_happens_to_the_rest_of_the_folder_is_found(folder: Path, name: str) -> None:
    spoil, words = SPOILED[name]
    spoil(folder)
    assert words in told(folder)


def test_a_cut_log_with_its_seal_forged_is_betrayed_by_the_register(folder: Path) -> None:
    path, seal = folder / "log.jsonl", folder / "seal.json"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:27]))
    found = json.loads(seal.read_text())
    del found["hash"]
    found |= {"lines": 27, "head": json.loads(lines[26])["hash"]}
    seal.write_bytes(with_hash(found))
    assert "32 lines were sealed" in told(folder)


def test_a_job_is_not_begun_where_one_was(folder: Path) -> None:
    (folder / "log.jsonl").unlink()
    with pytest.raises(JobLogError, match=r"has a seal but no log\.jsonl.*copy"):
        JobLog.create(folder, "another procedure\n")
    (folder / "seal.json").unlink()
    with pytest.raises(JobLogError, match=r"has sounds of lines but no log\.jsonl"):
        JobLog.create(folder, "another procedure\n")
    shutil.rmtree(folder / "clips")
    with pytest.raises(JobLogError, match="has the procedure of another job"):
        JobLog.create(folder, "another procedure\n")
    assert (folder / "procedure.txt").read_text() == TEXT


def test_a_job_whose_folder_is_gone_is_known_and_another_may_begin(folder: Path) -> None:
    shutil.rmtree(folder)
    with JobLog.create(folder, TEXT) as log:
        assert "job unit-12b of 32 lines" in log.notices[0]
    assert verify(folder).intact


def test_a_log_that_is_no_file_is_refused_and_nobody_waits(tmp_path: Path) -> None:
    import os

    for number, make in enumerate([os.mkfifo, os.mkdir]):
        (tmp_path / str(number)).mkdir()
        make(tmp_path / str(number) / "log.jsonl")
        with pytest.raises(JobLogError, match="is no file"):
            read_log(tmp_path / str(number))


# --- mended -------------------------------------------------------------------------------------


def mend(folder: Path) -> None:
    with JobLog(folder, mend=True) as log:
        event = log.mending()
        assert event is not None
        log.append_all([Entry(log.next_seq, AT + timedelta(hours=2), event),
                        Entry(log.next_seq + 1, AT + timedelta(hours=2), Said("x", "alert"))])


@pytest.mark.parametrize("name", ALTERATIONS)
def test_a_damaged_log_can_be_gone_on_with_and_says_so(folder: Path, name: str) -> None:
    if "newer version" in name and "forged" in name:
        pytest.skip("a newer Fieldvoice's log is never written to by an older one")
    path = folder / "log.jsonl"
    raw = b"".join(v + b"\n" for v in ALTERATIONS[name](path.read_bytes().splitlines()))
    path.write_bytes(raw)
    if name == "the line ends of another system":
        assert len(read_log(folder).entries) == 32
    mend(folder)
    after = path.read_bytes()
    set_aside = b"".join(p.read_bytes() for p in sorted(folder.glob("torn-*.txt")))
    kept = raw[: len(raw) - len(set_aside)] if set_aside else raw
    assert after.startswith(kept)
    assert raw.endswith(set_aside)
    assert (folder / "seal-1.json").exists()
    found = read_log(folder)
    assert found.faults == ()
    if name not in ("another sheet's beginning, forged",):
        assert told(folder) == ""
    numbers = [entry.seq for entry in found.entries]
    assert numbers == sorted(set(numbers))
    JobLog(folder).close()


def test_what_changes_before_a_mend_is_found_again(folder: Path) -> None:
    path = folder / "log.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"412"', b'"402"'))
    mend(folder)
    assert verify(folder).intact
    path.write_bytes(path.read_bytes().replace(b'"402"', b'"403"'))
    assert "stands before it was changed after it was mended" in told(folder)


# --- logs of version 1 --------------------------------------------------------------------------


@pytest.fixture
def old(folder: Path) -> Path:
    make_old(folder)
    return folder


def test_an_old_log_is_read_and_gone_on_with(old: Path) -> None:
    assert (verify(old).intact, verify(old).sealed) == (True, "never")
    with JobLog(old) as log:
        assert len(log.entries) == 32
        assert log.entries[0].at.utcoffset() == timedelta(hours=-5)
        log.append(Said("more", "answer"), AT + timedelta(hours=9))
    found = verify(old)
    assert (found.intact, found.sealed, found.lines) == (True, "sealed", 33)
    last = json.loads((old / "log.jsonl").read_bytes().splitlines()[-1])
    assert (last["v"], last["seq"], last["job"]) == (2, 33, "unit-12b")
    before = (old / "log.jsonl").read_bytes().splitlines()[-2]
    assert last["prev"] == hashlib.sha256(before).hexdigest()
    assert not has_hash(before)


def test_a_changed_line_of_an_old_log_is_told_by_the_one_after_it(old: Path) -> None:
    path = old / "log.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"412"', b'"402"'))
    assert "line 5: does not follow the line before it" in told(old)


def test_an_old_line_after_a_new_one_is_no_line_of_the_log(folder: Path) -> None:
    path = folder / "log.jsonl"
    old_lines = version_1(folder).splitlines(keepends=True)
    path.write_bytes(path.read_bytes() + old_lines[-1].replace(b'"seq": 32', b'"seq": 33'))
    assert "line 33: was changed after it was written" in told(folder)
