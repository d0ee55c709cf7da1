"""How the Curves page asks the server: plain requests, refused from any other page, bounded before they are read."""

from __future__ import annotations

import asyncio
import json
import logging
import secrets
from collections.abc import Callable, Iterable
from http import HTTPStatus
from typing import Any, ClassVar, Final

from bokeh.server.util import check_allowlist
from tornado.web import HTTPError, RequestHandler, stream_request_body

from curvelab.app.plain import Careful
from curvelab.errors import CurvelabError, Fault, InputError
from curvelab.model.catalogue import Catalogue

MOST_BYTES: Final = 262_144
"""Longest question as JSON. [B] A pasted table is the longest thing in one."""
_log = logging.getLogger(__name__)


class Shown(Careful):
    """Something to look at; its answer is never kept by the browser, since a yard's files change."""

    def initialize(self, catalogue: Callable[[], Catalogue]) -> None:
        """``catalogue`` gives what the yard has now."""
        self.catalogue = catalogue

    def prepare(self) -> None:
        """Nothing of it is kept."""
        self.set_header("Cache-Control", "no-store")

    def write_error(self, status_code: int, **said: Any) -> None:
        """One sentence; what happened goes to the log."""
        reason = said.get("exc_info", (None, None))[1]
        mishap = f"Something went wrong here (id {self.mark})" if self.mark else "That can’t be asked here"
        text = reason.log_message if isinstance(reason, HTTPError) and reason.log_message else mishap
        self.set_status(status_code)
        self.finish({"faults": faults_of([Fault("", "", text, "")])})


@stream_request_body
class Asked(Shown):
    """A question in JSON, a JSON object for an answer. Only this server's own pages may ask.

    A subclass answers in ``answer``, which runs in a thread of its own; whatever ``InputError`` it raises goes to the
    page as its faults.
    """

    MOST_BYTES: ClassVar[int] = MOST_BYTES
    KIND: ClassVar[str] = "application/json"

    def prepare(self) -> None:
        """Refuse what comes from elsewhere, is of another kind, or is too long, before it is read."""
        super().prepare()
        self._body = bytearray()
        if not own_page(self):
            raise HTTPError(HTTPStatus.FORBIDDEN, "Only this server's own pages may ask that.")
        if self.request.headers.get("Content-Type", "").partition(";")[0].strip() != self.KIND:
            raise HTTPError(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, f"Send {self.KIND}.")
        if int(self.request.headers.get("Content-Length") or 0) > self.MOST_BYTES:
            raise HTTPError(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, f"At most {self.MOST_BYTES} bytes.")

    def data_received(self, chunk: bytes) -> None:
        """Collect, up to the limit."""
        if len(self._body) + len(chunk) > self.MOST_BYTES:
            raise HTTPError(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, f"At most {self.MOST_BYTES} bytes.")
        self._body += chunk

    async def post(self) -> None:
        """Answer off the event loop."""
        try:
            answer = await asyncio.to_thread(self.answer, self.question())
        except InputError as error:
            self.set_status(HTTPStatus.UNPROCESSABLE_ENTITY)
            answer = {"faults": faults_of(error.faults)}
        except CurvelabError as error:
            self.set_status(HTTPStatus.UNPROCESSABLE_ENTITY)
            answer = {"faults": faults_of([Fault("", "", str(error), "")])}
        except HTTPError:
            raise
        except Exception:  # noqa: BLE001 - whatever it was, the log has it under an id that the page shows
            mark = secrets.token_hex(3)
            _log.exception("%s failed, id %s", type(self).__name__, mark)
            self.set_status(HTTPStatus.INTERNAL_SERVER_ERROR)
            answer = {"faults": faults_of([Fault("", "", f"Something went wrong here (id {mark})", "try again")])}
        self.finish(answer)

    def question(self) -> Any:
        """What was asked: an object."""
        try:
            asked = json.loads(bytes(self._body), parse_constant=_no_number)
        except (ValueError, RecursionError):
            raise HTTPError(HTTPStatus.BAD_REQUEST, "That is no JSON.") from None
        if not isinstance(asked, dict):
            raise HTTPError(HTTPStatus.BAD_REQUEST, "Send an object.")
        return asked

    def answer(self, asked: Any) -> dict[str, Any]:
        """Answer a question; in a thread."""
        raise NotImplementedError


def _no_number(name: str) -> float:
    """JSON has no NaN and no infinity, whatever Python's reader takes."""
    raise ValueError(name)


def own_page(handler: RequestHandler) -> bool:
    """The request comes from a page of this server: the same rule as for the line that a page keeps open."""
    origin = handler.request.headers.get("Origin", "")
    host = origin.partition("://")[2]
    allowed = handler.application.websocket_origins  # type: ignore[attr-defined] - Bokeh's application has them
    return bool(host) and check_allowlist(host, list(allowed))


def faults_of(faults: Iterable[Fault]) -> list[dict[str, str]]:
    """Faults for the page: where, the field, what was found, what would be right."""
    return [{"where": fault.where, "field": fault.field, "got": fault.got, "right": fault.right} for fault in faults]
