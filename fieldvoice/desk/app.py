"""The pages as one application: the door before all of them, no fault without a page of its own."""

from __future__ import annotations

from datetime import datetime

from flask import Flask, Response, make_response, render_template, request
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as AnyResponse

from fieldvoice.desk.door import HEADERS, Door
from fieldvoice.desk.errors import NoSuchJob, NotDone
from fieldvoice.desk.found.stages import length_words
from fieldvoice.desk.library import Library
from fieldvoice.desk.pages import curve, job, jobs, line
from fieldvoice.desk.pages.bench import Bench
from fieldvoice.desk.transcribing import Transcriber
from fieldvoice.desk.writing import Pen
from fieldvoice.errors import FieldvoiceError
from fieldvoice.quantity.shares import percent

MOST_BYTES = 64 * 1024  # of a form; the longest remark is a page
_KEY_PAGE = "/enter"


def make_app(
    library: Library, pen: Pen, door: Door, transcriber: Transcriber | None = None
) -> Flask:
    """`transcriber`: None where no larger model was given."""
    app = Flask(__name__)
    app.url_map.merge_slashes = False  # what is no address is none; nobody is sent elsewhere
    app.config.update(MAX_CONTENT_LENGTH=MOST_BYTES, MAX_FORM_MEMORY_SIZE=MOST_BYTES,
                      MAX_FORM_PARTS=20)
    app.extensions["fieldvoice"] = Bench(library, pen, transcriber, _now)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.filters |= {"span": length_words, "percent": percent}
    _guard(app, door)
    for page in (jobs.pages, job.pages, line.pages, curve.pages):
        app.register_blueprint(page)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(NoSuchJob, lambda error: _trouble(404, str(error)))
    app.register_error_handler(NotDone, lambda error: _trouble(422, str(error)))
    app.register_error_handler(FieldvoiceError, lambda error: _trouble(409, str(error)))
    app.register_error_handler(Exception, _fault)
    return app


def _now() -> datetime:
    return datetime.now().astimezone()


def _guard(app: Flask, door: Door) -> None:
    @app.before_request
    def admit() -> Response | None:
        entering = request.path == _KEY_PAGE
        cookie = request.cookies.get(door.cookie, "")
        why = door.refuses(request.method, dict(request.headers), cookie, entering=entering)
        return None if why is None else _trouble(403, f"Not let in: {why}.")

    @app.get(_KEY_PAGE)
    def enter() -> AnyResponse:
        if not door.fits(request.args.get("key", "")):
            return _trouble(403, "Not let in: this is not the key that was printed last.")
        where = request.args.get("job", "")
        # a page, not a redirect: a link from elsewhere would lose the cookie on the way
        found = make_response(render_template("enter.html", where=where))
        found.set_cookie(door.cookie, door.pass_, httponly=True, samesite="Strict", path="/")
        return found

    @app.after_request
    def close_tight(response: Response) -> Response:
        response.headers.update(HEADERS)
        return response


def _trouble(status: int, words: str) -> Response:
    inside = status != 403  # who is not let in is shown no way in
    return make_response(render_template("trouble.html", words=words, inside=inside), status)


_WORDS = {
    404: "There is no such page.", 405: "That cannot be done here.",
    413: "That is more than a form may hold; shorten it.",
    416: "The sound has no such part.",
}


def _http(error: HTTPException) -> AnyResponse:
    return _trouble(error.code or 500, _WORDS.get(error.code or 500, error.name + "."))


def _fault(error: Exception) -> AnyResponse:
    """A fault of ours, or a log that holds what nobody thought of: said without its insides."""
    return _trouble(500, f"This page cannot be shown: {type(error).__name__}. Nothing was changed; "
                         "check the job's log with the button on its page, or go back.")
