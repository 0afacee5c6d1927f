"""A job: its time line with stages and filters, its sounds, its check, remarks on it as a whole."""

from __future__ import annotations

from collections import Counter
from io import BytesIO

from flask import Blueprint, redirect, render_template, request, send_file
from werkzeug.wrappers import Response

from fieldvoice.desk.errors import NotDone
from fieldvoice.desk.found.lines import FILTERS, rows, wanted
from fieldvoice.desk.found.stages import stages
from fieldvoice.desk.pages.bench import (
    bench,
    job_named,
    remember_reviewer,
    required_reviewer,
    reviewer,
    typed,
)
from fieldvoice.desk.pages.jobs import zip_of
from fieldvoice.desk.sealing import check
from fieldvoice.desk.sounds import bytes_of
from fieldvoice.devices.joblog import held_by
from fieldvoice.jobstate.events import Remarked

PAGE = 100
pages = Blueprint("job", __name__, url_prefix="/job/<name>")


@pages.get("")
def job(name: str) -> str:
    """The time line; `show` is a filter, `q` words, `at` the number of an event to begin with."""
    found = job_named(name)
    told = rows(found)
    counts = Counter(flag for row in told for flag in row.flags)
    counts["wrong"] = sum(row.mark == "wrong" for row in told)
    show = request.args.get("show", "all")
    show, words = show if show in FILTERS else "all", request.args.get("q", "")[:200]
    shown = wanted(told, show, words)
    number = max(request.args.get("page", 1, int), 1)
    if (at := request.args.get("at", 0, int)) > 0:
        number = sum(row.seq < at for row in shown) // PAGE + 1
    return render_template(
        "job.html", job=found, rows=shown[(number - 1) * PAGE : number * PAGE], show=show,
        filters=FILTERS, counts=counts, words=words, several=len(shown), page=number,
        last=max(-(-len(shown) // PAGE), 1), stages=stages(found), reviewer=reviewer(),
        holder=held_by(found.folder), told=request.args.get("told", ""),
        remarks=[r for r in found.units.first.state.history.remarks if r.about is None])


@pages.post("/remark")
def remark(name: str) -> Response:
    """A remark on the whole job."""
    found, who, text = job_named(name), required_reviewer(), typed("text")
    if not text:
        raise NotDone("The remark is empty; nothing was logged.")
    bench().pen.write(found.folder, [Remarked(text, who)], None)
    return remember_reviewer(redirect(f"{request.path.removesuffix('/remark')}?told=remark", 303),
                             who)


@pages.get("/clip/<path:clip>")
def clip(name: str, clip: str) -> Response:
    """A sound, whole or in part."""
    sound, kind = bytes_of(job_named(name), clip)
    return send_file(BytesIO(sound), kind, conditional=True, etag=False)


@pages.get("/check")
def checked(name: str) -> str:
    """Whether the log is as it was written."""
    folder = bench().library.shelf.folder(name)
    return render_template("check.html", name=name, found=check(folder))


@pages.get("/labelled.zip")
def labelled(name: str) -> Response:
    """The labelled set of this job."""
    return zip_of([job_named(name)], "labelled-lines.zip")
