"""The page's addresses: ``/KEY/`` and what lies under it, and nothing else."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from hashlib import sha256
from itertools import count
from typing import Any

from flask import Flask, Response, abort, g, jsonify, redirect, request
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import HTTPException

from calendars.publish.feed_source import FeedSource
from cli.page import views
from cli.page.answering import AskError, NotYoursError, Post, take_in
from cli.page.desk import Desk, Look
from cli.page.door import HEADERS, Door, is_our_host, is_path, is_same_origin
from cli.page.wording import TAKE_BACK, on_page
from cli.templates import render
from cultures.errors import BadFileError, FileProblemError, LivefoodError
from cultures.record.book import DoubtError

#: The largest form [bytes].
LARGEST = 16 * 1024
#: What the pages are called; the helper has those of the second.
PAGES = {"now": "Now", "todo": "To do", "ahead": "Ahead", "cultures": "Cultures", "fry": "Fry",
         "notes": "Notes"}  # fmt: skip
_HELPERS = {"now": "Now"}
_SHOWS: dict[str, Callable[[Look], dict[str, Any]]] = {
    "now": views.now_view, "todo": views.todo_view, "ahead": views.ahead_view,
    "cultures": views.cultures_view, "fry": views.fry_view, "notes": views.notes_view,
    "helper": views.helper_view,
}  # fmt: skip


def feed_app(feed: FeedSource | None, door: Door | None = None) -> Flask:
    """The application of a calendar feed; it lets in who has a key, and tells nothing to others."""
    app = Flask(__name__, static_folder=None)
    app.config.update(MAX_CONTENT_LENGTH=LARGEST, MAX_FORM_PARTS=50)

    @app.before_request
    def let_in() -> ResponseReturnValue | None:
        if not is_our_host(request.host):
            abort(404)
        if feed is not None and is_path(request.environ, feed.path):
            if request.method not in ("GET", "HEAD"):
                abort(405)
            return _calendar(feed)
        key = (request.view_args or {}).get("key", "")
        who = door.who(key, request.remote_addr or "") if door is not None else None
        if who is None:
            abort(404)
        g.who = who
        if request.method == "POST" and not is_same_origin(
            request.headers.get("Origin"), request.scheme, request.host
        ):
            abort(403)
        return None

    @app.after_request
    def close(response: Response) -> Response:
        response.headers.update(HEADERS)
        response.headers.setdefault("Cache-Control", "no-store")
        return response

    @app.errorhandler(HTTPException)
    def bare(error: HTTPException) -> ResponseReturnValue:
        feeds = feed is not None and is_path(request.environ, feed.path)
        known = (405, 500, 503) if feeds else (403, 413, 500)
        code = error.code if error.code in known else 404
        head = {405: {"Allow": "GET, HEAD"}, 503: {"Retry-After": "300"}}.get(code, {})
        return f"{code}\n", code, {"Content-Type": "text/plain; charset=utf-8", **head}

    return app


def _calendar(feed: FeedSource) -> ResponseReturnValue:
    """The calendar, or 304 if the client has it (RFC 9110, section 13.2.2)."""
    page = feed.page()
    if page is None:
        abort(503)
    response = Response(page.data, content_type="text/calendar; charset=utf-8")
    response.set_etag(page.etag.strip('"'))
    response.last_modified = page.modified
    response.headers["Cache-Control"] = "private, no-cache"
    return response.make_conditional(request)


def make_app(desk: Desk, door: Door, feed: FeedSource | None = None) -> Flask:
    """The application of one room, with its calendar feed."""
    app = feed_app(feed, door)

    @app.errorhandler(LivefoodError)
    def wrong(error: LivefoodError) -> ResponseReturnValue:
        """A room file with a mistake, or an answer that cannot be noted."""
        more = error.more if isinstance(error, AskError) else {}
        if isinstance(error, DoubtError):
            more = {"sure": "1"}
        code = 403 if isinstance(error, NotYoursError) else 409
        if isinstance(error, FileProblemError | BadFileError):
            code = 503  # the script keeps the answer and tries again
        text = on_page(_briefly(error))
        if _wants_json():
            state = "waits" if code == 503 else "ask" if more else "refused"
            return jsonify(state=state, text=text, more=more, line=_line_to_take_back(text)), code
        head = "A mistake at the computer" if code == 503 else "Not noted"
        head = "Which of the two is right?" if "over" in more else head
        return _said(head, text, _fields() | more, more), code

    @app.get("/<key>/page.<any(css, js):kind>")
    def static_file(key: str, kind: str) -> ResponseReturnValue:  # noqa: ARG001
        response = Response(_STATIC[kind])
        response.mimetype = {"css": "text/css", "js": "text/javascript"}[kind]
        response.headers["Cache-Control"] = "no-cache"
        response.set_etag(_TAGS[kind])
        return response.make_conditional(request)

    @app.get("/<key>/")
    @app.get("/<key>/<any(now, todo, ahead, cultures, fry, notes):name>")
    def show(key: str, name: str = "now") -> ResponseReturnValue:  # noqa: ARG001
        pages = _HELPERS if g.who == "helper" else PAGES
        if request.method == "HEAD" or name not in pages:
            abort(404)
        name = "helper" if g.who == "helper" else name
        look, wrong = _look_or_last(desk, name)
        brood = request.args.get("brood", "") if name == "fry" else ""
        shown = views.fry_view(look, brood) if brood else _SHOWS[name](look)
        page = render(
            "cli.page", f"{name}.html", page=name, pages=pages, version=desk.version(),
            ids=_ids(), once=_once(), **views.common(look), **shown, mistake=wrong,
            news=views.news([] if name == "helper" else desk.news(), look),
        )  # fmt: skip
        return page, 503 if wrong else 200

    @app.get("/<key>/version")
    def version(key: str) -> Response:  # noqa: ARG001
        return jsonify(version=desk.version())

    @app.post("/<key>/answer")
    def answer(key: str) -> ResponseReturnValue:  # noqa: ARG001
        taken = take_in(desk.where, _post())
        mind = [on_page(text) for text in taken.mind]
        if _wants_json():
            return jsonify(state="noted", text=[*taken.noted], mind=mind, more={**taken.more},
                           line=taken.line)  # fmt: skip
        if mind:
            return _said("Noted, and mind this", " ".join(mind), _fields() | {**taken.more},
                         {**taken.more})  # fmt: skip
        back = request.form.get("back", "now")
        return redirect(back if back in PAGES else "now", 303)

    @app.post("/<key>/asked")
    def asked(key: str) -> ResponseReturnValue:  # noqa: ARG001
        if g.who != "keeper":
            abort(403)
        views.leave_questions(desk.look())
        return redirect("now", 303)

    return app


def _look_or_last(desk: Desk, name: str) -> tuple[Look, str]:
    """The room for a page; where a file is wrong, as it was before that, and what is wrong with it:
    who stands between the tanks goes on by it, and what is pressed waits until the file is right.

    Raises:
        LivefoodError: it is wrong, and the room was not looked at before.
    """
    try:
        return desk.look(name), ""
    except (FileProblemError, BadFileError) as error:
        if desk.last is None:
            raise
        return desk.last, on_page(_briefly(error))


def _briefly(error: LivefoodError) -> str:
    """What is wrong; of many mistakes in a file, which are put right at the computer, the first."""
    if not isinstance(error, BadFileError) or not error.problems[1:]:
        return str(error)
    return f"{error.problems[0]} (1 of {len(error.problems)} mistakes)"


def _fields() -> dict[str, str]:
    """What a form said, without what makes it one answer."""
    return {k: v for k, v in request.form.items() if k not in ("id", "over", "sure")}


def _said(head: str, text: str, fields: dict[str, str], more: dict[str, str]) -> str:
    """The page of one message, for who has no script.

    Args:
        fields: of the form that says it all the same. more: what it says besides; no form if none.
    """
    return render(
        "cli.page", "refused.html", page="", pages={}, helper=g.get("who") == "helper",
        head=head, text=text, fields=fields if more else {}, more=more,
        back=request.form.get("back", "now"), version="", ids=_ids(), room="", now=None,
        news={"lines": ()}, mistake="",
    )  # fmt: skip


def _ids() -> Callable[[], str]:
    """Ids for the forms of one page, each another one."""
    nonce, numbers = secrets.token_hex(8), count()
    return lambda: f"{nonce}-{next(numbers)}"


def _line_to_take_back(text: str) -> int:
    """The line of the journal that a message says stands in the way; 0 where it names none."""
    found = TAKE_BACK.search(text)
    return int(found[1]) if found else 0


def _once() -> Callable[[str], bool]:
    """Whether a text stands on one page for the first time."""
    said = set[str]()

    def first(text: str) -> bool:
        known = text in said
        said.add(text)
        return not known

    return first


def _post() -> Post:
    form = {k: v[: _MOST_SIGNS.get(k, 2000)] for k, v in request.form.items()}
    unit = form.get("unit", "")
    if form.get("amount", "").strip() and unit in _SENT:
        form["amount"] = f"{form['amount'].strip()} {unit}"
    return Post(g.who, form.get("id") or secrets.token_hex(8), _ago_s(form.get("ago", "")), form)


def _ago_s(text: str) -> float:
    """How long an answer waited on the phone [s]; a time that is none is none."""
    try:
        return min(max(0.0, float(text)), _LONG_AGO_S)
    except ValueError:
        return 0.0


#: A field holds so many; that of the tasks of which is asked at once holds many ids.
_MOST_SIGNS = {"task": 14_000}
#: Longer than this is as good as this [s].
_LONG_AGO_S = 1e8
#: Units that belong to an amount; others are only said beside it.
_SENT = ("swipes", "mL", "g", "oz", "mm", "in", "°C", "°F")


def _wants_json() -> bool:
    return bool(request.accept_mimetypes.best == "application/json")


def _static(kind: str) -> bytes:
    """What the pages load; the looks of pictures are those of the sheet too."""
    from importlib.resources import files

    mine = files("cli.page").joinpath("static", f"page.{kind}").read_bytes()
    if kind == "js":
        return mine
    return mine + files("cli.drawing").joinpath("templates", "pictures.css").read_bytes()


_STATIC = {kind: _static(kind) for kind in ("css", "js")}
_TAGS = {kind: sha256(data).hexdigest()[:16] for kind, data in _STATIC.items()}
