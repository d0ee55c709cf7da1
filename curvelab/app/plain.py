"""A page of a few words, where no other can be shown, and what it says of a mishap: the id that the log has."""

from __future__ import annotations

import logging
import secrets
from http import HTTPStatus
from types import TracebackType
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from tornado.web import HTTPError, RequestHandler

from curvelab.app.slots import logo
from curvelab.app.theme import custom_properties

_template: Final = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
).get_template("plain.html")
_log = logging.getLogger(__name__)


def say(handler: RequestHandler, title: str, text: str, *, to: str = "/", press: str = "Setup page") -> None:
    """Answer with a page of a few words and one way on."""
    handler.set_header("Cache-Control", "no-store")
    handler.set_header("Content-Type", "text/html; charset=utf-8")
    handler.finish(page_of(title, text, to=to, press=press))


def page_of(title: str, text: str, *, to: str = "/", press: str = "Setup page") -> str:
    """The page as HTML; everything given is escaped there."""
    tokens, mark = Markup(custom_properties()), Markup(logo())  # noqa: S704 - our own constants, our own drawing
    return _template.render(title=title, text=text, to=to, press=press, tokens=tokens, logo=mark)


def mishap(mark: str) -> tuple[str, str]:
    """Title and text of a page about what the log has under an id."""
    return "Something went wrong here", f"It has been noted under the id {mark}. Nothing that was saved is lost."


class Careful(RequestHandler):
    """A page that can't be made says so under an id, and the log has what happened under the same."""

    mark = ""

    def log_exception(
        self,
        typ: type[BaseException] | None,
        value: BaseException | None,
        tb: TracebackType | None,
    ) -> None:
        """Log a mishap under its id; a refusal is none."""
        if typ is None or value is None or isinstance(value, HTTPError):
            super().log_exception(typ, value, tb)
            return
        self.mark = secrets.token_hex(3)
        request = self.request
        _log.error("%s %s failed, id %s", request.method, request.path, self.mark, exc_info=(typ, value, tb))

    def write_error(self, status_code: int, **_: Any) -> None:
        """The id if there is one, and where to go on."""
        if self.mark:
            say(self, *mishap(self.mark))
        else:
            say(self, HTTPStatus(status_code).phrase, "This page can’t be had that way.")
