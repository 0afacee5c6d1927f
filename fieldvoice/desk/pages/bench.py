"""What every page works with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import quote, unquote

from flask import current_app, request
from werkzeug.wrappers import Response

from fieldvoice.desk.errors import NotDone
from fieldvoice.desk.library import Library, ReadJob
from fieldvoice.desk.transcribing import Transcriber
from fieldvoice.desk.writing import Pen

MOST_NAME, MOST_TEXT = 80, 8_000  # characters
_COOKIE = "fieldvoice-reviewer"


@dataclass(frozen=True)
class Bench:
    """The jobs, what writes in them, and what hears notes."""

    library: Library
    pen: Pen
    transcriber: Transcriber | None
    now: Callable[[], datetime]


def bench() -> Bench:
    """Of the application that answers."""
    found = current_app.extensions["fieldvoice"]
    assert isinstance(found, Bench)
    return found


def job_named(name: str) -> ReadJob:
    """A job read whole. Raises NoSuchJob, JobLogError or DeskError."""
    return bench().library.job(name)


def typed(name: str, most: int = MOST_TEXT) -> str:
    """A field of the form, trimmed. Raises NotDone where it is longer than it may be."""
    text = request.form.get(name, "").strip()
    if len(text) > most:
        raise NotDone(f"That is {len(text):,} characters; at most {most:,} have room.")
    return "".join(c for c in text.replace("\r\n", "\n") if c == "\n" or c.isprintable())


def reviewer() -> str:
    """Whose review it is: as the form says, else as was said before. "" where nobody said."""
    return typed("reviewer", MOST_NAME) or unquote(request.cookies.get(_COOKIE, ""))[:MOST_NAME]


def required_reviewer() -> str:
    """The same. Raises NotDone where nobody said."""
    if not (name := reviewer()):
        raise NotDone("Say who you are: a review stands in the log with its reviewer's name.")
    return name


def remember_reviewer(response: Response, name: str) -> Response:
    """Keep the name until the browser is closed."""
    response.set_cookie(_COOKIE, quote(name), httponly=True, samesite="Strict", path="/")
    return response
