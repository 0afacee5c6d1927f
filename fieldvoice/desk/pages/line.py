"""One line: listened to, marked, amended, remarked on, written down."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from flask import Blueprint, make_response, redirect, render_template, request
from werkzeug.wrappers import Response

from fieldvoice.desk.errors import NotDone
from fieldvoice.desk.found.amending import Doubted, amended
from fieldvoice.desk.found.one_line import Line, line_of
from fieldvoice.desk.library import ReadJob
from fieldvoice.desk.pages.bench import (
    bench,
    job_named,
    remember_reviewer,
    required_reviewer,
    reviewer,
    typed,
)
from fieldvoice.desk.sounds import path_of
from fieldvoice.desk.transcribing import Proposal
from fieldvoice.jobstate import events as e

pages = Blueprint("line", __name__, url_prefix="/job/<name>/line/<int:seq>")
TOLD = {  # what an address may ask the page to say: no text of the address itself is shown
    "mark": "Marked; it stands in the log.",
    "amend": "Amended; the new value counts from now on.",
    "remark": "The remark stands in the log.",
    "transcript": "Written down; it stands in the log.",
}


@dataclass(frozen=True)
class At:
    """The line that a page is about."""

    job: ReadJob
    line: Line

    @property
    def seq(self) -> int:
        """Its number."""
        return self.line.entry.seq


Deed = Callable[[At, str], e.Event]


def _at(name: str, seq: int) -> At:
    job = job_named(name)
    return At(job, line_of(job, seq))


@pages.get("")
def line(name: str, seq: int) -> str:
    """The page."""
    return _page(_at(name, seq))


def _page(at: At, trouble: str = "", doubted: bool = False) -> str:
    return render_template(
        "line.html", job=at.job, line=at.line, seq=at.seq, trouble=trouble, doubted=doubted,
        form=request.form, told=TOLD.get(request.args.get("told", ""), ""), reviewer=reviewer(),
        proposal=_proposal(at), can_hear=bench().transcriber is not None)


def _proposal(at: At) -> Proposal | None:
    transcriber, clip = bench().transcriber, at.line.heard.clip
    return None if transcriber is None or not clip else transcriber.of(at.job.folder / clip)


def _do(name: str, seq: int, told: str, deed: Deed) -> Response:
    """Write what a form asks for; where it is refused, the page comes back with what was typed."""
    at = _at(name, seq)
    try:
        who = required_reviewer()
        bench().pen.write(at.job.folder, [deed(at, who)], at.line.entry.unit)
    except NotDone as error:
        page = _page(at, str(error), isinstance(error, Doubted))
        return make_response(page, 422)
    return remember_reviewer(redirect(f"{_place()}?told={told}", 303), who)


def _place() -> str:
    """The line's own address: the form's without its last part."""
    return request.path.rsplit("/", 1)[0]


@pages.post("/mark")
def mark(name: str, seq: int) -> Response:
    """Right or wrong, and what was really said."""
    def deed(at: At, who: str) -> e.Event:
        verdict = typed("verdict", 10)
        if verdict not in ("right", "wrong"):
            raise NotDone("Say whether the line was heard right or wrong.")
        right = verdict == "right"
        words = "" if right else " ".join(typed("words").split())
        return e.LineReviewed(at.seq, right, who, typed("reason"), words)

    return _do(name, seq, "mark", deed)


@pages.post("/amend")
def amend(name: str, seq: int) -> Response:
    """Another value in the place of a reading's."""
    def deed(at: At, who: str) -> e.Event:
        reading = request.form.get("reading", 0, int)
        if reading not in [shown.seq for shown in at.line.readings]:
            raise NotDone("That reading is not of this line.")
        return amended(at.job.job_of(at.line.entry), reading, typed("value", 200),
                       typed("unit", 40), who, typed("reason"), sure="sure" in request.form)

    return _do(name, seq, "amend", deed)


@pages.post("/remark")
def remark(name: str, seq: int) -> Response:
    """A remark on the line."""
    def deed(at: At, who: str) -> e.Event:
        if not (text := typed("text")):
            raise NotDone("The remark is empty; nothing was logged.")
        return e.Remarked(text, who, at.seq)

    return _do(name, seq, "remark", deed)


@pages.post("/transcript")
def transcript(name: str, seq: int) -> Response:
    """The words of a line's sound."""
    def deed(at: At, who: str) -> e.Event:
        if not (text := typed("text")):
            raise NotDone("No words were written; nothing was logged.")
        return e.NoteTranscribed(at.seq, text, _how(_proposal(at), text), who)

    return _do(name, seq, "transcript", deed)


def _how(proposal: Proposal | None, text: str) -> str:
    if proposal is None or proposal.state != "ready" or not proposal.text:
        return "by-hand"
    return "recognizer" if text == proposal.text else "recognizer-and-hand"


@pages.post("/listen")
def listen(name: str, seq: int) -> Response:
    """Have the sound heard with the larger model."""
    at, transcriber = _at(name, seq), bench().transcriber
    if transcriber is None or not at.line.heard.clip:
        raise NotDone("There is no sound, or no larger model to hear it with.")
    transcriber.ask(path_of(at.job, at.line.heard.clip))
    return redirect(_place(), 303)
