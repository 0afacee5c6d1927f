"""The list of jobs, the reviewer's name, and the labelled set of all jobs."""

from __future__ import annotations

from collections.abc import Iterator
from tempfile import SpooledTemporaryFile

from flask import Blueprint, redirect, render_template, request, send_file
from werkzeug.wrappers import Response

from fieldvoice.desk.found.labelled import write_set
from fieldvoice.desk.library import ReadJob
from fieldvoice.desk.pages.bench import bench, remember_reviewer, required_reviewer, reviewer
from fieldvoice.errors import FieldvoiceError

PAGE = 50
_IN_MEMORY = 8 * 1024 * 1024
pages = Blueprint("jobs", __name__)


@pages.get("/")
def jobs() -> str:
    """All jobs, the newest in front; only those that a page shows are read, unless searched."""
    found, now = bench(), bench().now()
    words = request.args.get("q", "")[:200]
    names, number = found.library.shelf.names(), max(request.args.get("page", 1, int), 1)
    if words.strip():
        told = [s for s in (found.library.summary(n, now) for n in names) if s.fits(words)]
        several, shown = len(told), told[(number - 1) * PAGE : number * PAGE]
    else:
        several = len(names)
        shown = [found.library.summary(n, now) for n in names[(number - 1) * PAGE : number * PAGE]]
    return render_template(
        "jobs.html", jobs=shown, several=several, words=words, page=number,
        last=max(-(-several // PAGE), 1), reviewer=reviewer(), folder=found.library.shelf.jobs)


@pages.post("/reviewer")
def set_reviewer() -> Response:
    """Keep who reviews."""
    return remember_reviewer(redirect("/", 303), required_reviewer())


@pages.get("/labelled.zip")
def labelled() -> Response:
    """The labelled set of all jobs that can be read."""
    return zip_of(_readable(), "labelled-lines.zip")


def _readable() -> Iterator[ReadJob]:
    library = bench().library
    for name in library.shelf.names():
        try:
            yield library.job(name)
        except FieldvoiceError:
            continue


def zip_of(jobs: Iterator[ReadJob] | list[ReadJob], name: str) -> Response:
    """The labelled set of those jobs, as a file to keep."""
    file = SpooledTemporaryFile(_IN_MEMORY)  # noqa: SIM115  the answer closes it
    write_set(jobs, file)
    file.seek(0)
    return send_file(file, "application/zip", as_attachment=True, download_name=name)
