"""Whether a job's folder is as it was written: log, seal, clips, procedures and attached files."""

from __future__ import annotations

import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from fieldvoice.devices.joblog import sealing
from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.lines import JobLogError
from fieldvoice.devices.joblog.lock import held_by
from fieldvoice.devices.joblog.own_clips import strange
from fieldvoice.devices.joblog.procedures import PROCEDURE_NAME, doubted, procedure_faults
from fieldvoice.devices.joblog.reading import RESTORE, Fault, LogRead, read_log
from fieldvoice.devices.joblog.rescue import waiting
from fieldvoice.devices.joblog.sealing import SEAL_NAME, Seal, SealBroken
from fieldvoice.jobstate.events import Entry, LineHeard
from fieldvoice.quantity.counted import counted

KEEP = "keep the folder as it is and ask who had it in hands"
SEALED, UNSEALED_TAIL, NEVER = "sealed", "unsealed-tail", "never"
WHAT_IS_PROVEN = """\
Found are: any changed, missing, added or swapped byte in a line of the log, the last one too; lines
cut off the end of what was sealed; sounds, procedures and attached files that were changed, swapped
or deleted, and sounds that were added; an emptied or removed log, and a folder that is gone or was
put back in an older state while seals.jsonl knows better.
Not found can be: lines written after the last seal and cut off whole, turn by turn, after the
program was killed (work seals when it begins and stops, at each verdict and when the job is
finished); a sound put there after such a kill and before work goes on, under the name that the next
sound would have had; and the work of somebody who rewrites everything: the log from the changed
line to its end with new hashes, seal.json, and seals.jsonl beside the jobs' folder. No key is used,
so whoever can write these files can do that. What was printed or sent before betrays it: compare
the short hash on a signed report with that of the log (or, where more was logged since, that of its
line). A job that was copied proves itself, not that it is the only copy. Logs of version 1 do not
prove their last line until they are sealed. And no check tells whether what was said was true."""


@dataclass(frozen=True)
class Verified:
    """What was found of a job's folder."""

    intact: bool
    sealed: str  # "sealed", "unsealed-tail": more lines than the seal counts, or "never"
    lines: int
    head: str  # hash of the last line
    faults: tuple[Fault, ...]
    notes: tuple[str, ...] = ()  # to be known, but no damage


def verify(folder: Path) -> Verified:
    """Check a job's folder; changes nothing in it. Raises JobLogError where there is no log."""
    seal, faults = found_seal(folder)  # before the log: its writer may be at work
    found = read_log(folder)
    at_work = held_by(folder / "lock") is not None
    known = _newest_known(folder, found)
    faults += [*found.faults, *seal_faults(folder, found, seal, known), *_links(folder),
               *procedure_faults(folder, found.entries, doubted(found.mended)),
               *_kept_faults(folder, found.entries),
               *_added_clips(folder, found, seal, at_work)]
    if found.torn and not at_work:
        faults.append(_torn(found))
    sealed = SEALED if seal is not None and seal.lines == found.lines else (
        NEVER if seal is None else UNSEALED_TAIL)
    return Verified(not faults, sealed, found.lines, found.last_hash, tuple(faults),
                    (*_notes(found, seal, folder, at_work), *waiting(folder)))


def found_seal(folder: Path) -> tuple[Seal | None, list[Fault]]:
    """The seal in a folder, or what is wrong with it."""
    try:
        return sealing.read_seal(folder), []
    except SealBroken as error:
        return None, [Fault(SEAL_NAME, f"cannot be believed: {error}")]


def _newest_known(folder: Path, found: LogRead) -> Seal | None:
    """What the register outside says of this job in this folder."""
    first = found.hashes[0] if found.hashes else ""
    seals = list(sealing.registered(folder))
    if first:
        seals = [seal for seal in seals if seal.first == first]
    else:  # emptied, or not begun: then no more than its creation is known
        begun = max((n for n, seal in enumerate(seals) if seal.why == "created"), default=0)
        seals = seals[begun:]
    return next((seal for seal in reversed(seals) if seal.lines), None)


def opening_faults(folder: Path, found: LogRead) -> list[Fault]:
    """What seal and register say against a log that is about to be gone on with."""
    seal, faults = found_seal(folder)
    return faults + seal_faults(folder, found, seal, _newest_known(folder, found))


def seal_faults(
    folder: Path, found: LogRead, seal: Seal | None, known: Seal | None
) -> list[Fault]:
    """Where the log is not what was sealed."""
    told: list[Fault] = []
    if seal is None and known is not None and not (folder / SEAL_NAME).exists():
        told.append(Fault(SEAL_NAME, f"is gone; the job was sealed at {_when(known)}"))
    against = [_against(found, one) for one in (seal, known) if one is not None and one.lines]
    told += [fault for fault in dict.fromkeys(against) if fault is not None]
    if not found.lines and not told and seal is None and sealing.clip_names(folder):
        told.append(Fault("log.jsonl", "is empty, but sounds of lines are kept in clips: it was "
                          "emptied", RESTORE))
    return told


def _against(found: LogRead, seal: Seal) -> Fault | None:
    if seal.lines > found.lines:
        return Fault("the end of the log", f"{counted(seal.lines, 'line was', 'lines were')} "
                     f"sealed at {_when(seal)}, {counted(found.lines, 'is', 'are')} there: "
                     f"{counted(seal.lines - found.lines, 'is', 'are')} missing")
    if found.hashes[seal.lines - 1] != seal.head:
        return Fault(f"line {seal.lines:,}", f"is not the one that was sealed at {_when(seal)}",
                     line=seal.lines)
    return None


def _when(seal: Seal) -> str:
    return f"{seal.utc[:16].replace('T', ' ')} UTC"


def _kept_faults(folder: Path, entries: Iterable[Entry]) -> Iterator[Fault]:
    """Sounds and attached files that are not what the lines say of them."""
    for entry in entries:
        event = entry.event
        if isinstance(event, LineHeard) and event.clip is not None:
            wrong = _wrong(folder, event.clip, event.clip_sha256, event.clip_bytes)
        elif event.kind == "attached":
            told = event.to_dict()
            wrong = _wrong(folder, str(told["file"]), told["sha256"], told["bytes"])
        else:
            continue
        if wrong:
            name = event.clip if isinstance(event, LineHeard) else str(event.to_dict()["file"])
            yield Fault(str(name), f"{wrong} (it belongs to line {entry.seq:,})", RESTORE)


def _wrong(folder: Path, name: str, sha256: str | None, length: int | None) -> str:
    path = folder / name
    if Path(name).is_absolute() or ".." in Path(name).parts:
        return "lies outside the job's folder"
    try:
        found = path.lstat()
        if not stat.S_ISREG(found.st_mode):
            return "is no file but a link or a folder"
        if length is not None and found.st_size != length:
            return f"has {found.st_size:,} bytes where {length:,} were written"
        if sha256 is not None and sealing.file_hash(path) != sha256:
            return "was changed after it was written"
    except (OSError, ValueError):
        return "is gone or cannot be read"
    return ""


def _added_clips(
    folder: Path, found: LogRead, seal: Seal | None, at_work: bool
) -> Iterator[Fault]:
    """Sounds that no line names, and that the log did not keep."""
    for name in strange(folder, found, seal, at_work=at_work):
        yield Fault(name, "belongs to no line: it was put there, or its line is gone", KEEP)


def _links(folder: Path) -> Iterator[Fault]:
    for name in (SEAL_NAME, "clips"):
        if (folder / name).is_symlink():
            yield Fault(name, "is a link to somewhere else and proves nothing", RESTORE)


def _torn(found: LogRead) -> Fault:
    return Fault("the end of the log", f"{len(found.torn):,} bytes of a turn that was cut short "
                 "while it was written; nothing of it was answered",
                 "`fieldvoice work` sets them aside in a file of the folder and goes on")


def _notes(found: LogRead, seal: Seal | None, folder: Path, at_work: bool) -> Iterator[str]:
    if at_work:
        yield "work on it goes on in another Fieldvoice"
    if found.mended:
        yield (f"older damage was mended ({len(found.mended):,} in all): work went on without what "
               "it took, and the log says so")
    if seal is not None and seal.loose:
        yield (f"{counted(len(seal.loose), 'sound belongs', 'sounds belong')} to no line: kept, "
               "but the line was not logged")
    if seal is None:
        yield "never sealed: what may be missing at its end cannot be told"
    elif seal.lines < found.lines:
        yield (f"{counted(found.lines - seal.lines, 'line')} since the last seal: the program was "
               "stopped without closing the job, or is at work")
    if seal is not None and seal.folder != str(folder.resolve()):
        yield f"it was sealed in {seal.folder}: this folder is a copy, or was renamed"


def refuse_traces(folder: Path, procedure_text: str) -> None:
    """Raise JobLogError where a folder without a log shows that it had one."""
    seal, broken = found_seal(folder)
    kept = folder / PROCEDURE_NAME
    found = ("a seal" if broken or (seal is not None and seal.lines) else
             "sounds of lines" if sealing.clip_names(folder) else
             "the procedure of another job" if kept.exists() and
             kept.read_bytes() != procedure_text.encode("utf-8") else "")
    if found:
        raise JobLogError(
            f"{folder} has {found} but no {LOG_NAME}: a job was logged here, and its log is gone. "
            f"Bring {LOG_NAME} back from a copy, or move the folder away to begin anew")


@dataclass(frozen=True)
class GoneJob:
    """A job that the register knows, and that is in no folder of the jobs any more."""

    seal: Seal

    def __str__(self) -> str:
        return (f"job {self.seal.job} of {counted(self.seal.lines, 'line')}, "
                f"sealed at {_when(self.seal)}, is gone from {self.seal.folder}")


def newest_registered(folder: Path) -> GoneJob | None:
    """The job that was sealed in a folder last, where there were lines in it."""
    seals = [seal for seal in sealing.registered(folder) if seal.lines]
    return GoneJob(seals[-1]) if seals else None


def gone_jobs(folders: Iterable[Path]) -> list[GoneJob]:
    """Jobs that were sealed and are not in their folder, nor in one of `folders`."""
    newest = {seal.first: seal for seal in sealing.registered() if seal.lines}
    here = {_first_hash(folder) for folder in folders}
    return [GoneJob(seal) for first, seal in newest.items()
            if first not in here and _first_hash(Path(seal.folder)) != first]


def _first_hash(folder: Path) -> str:
    try:
        found = read_log(folder)
    except JobLogError:
        return ""
    return found.hashes[0] if found.hashes else ""
