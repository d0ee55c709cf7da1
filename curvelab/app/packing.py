"""Answers packed for the way: a file once, however many visitors ask for it."""

from __future__ import annotations

from http import HTTPStatus
from typing import Final

from tornado.httputil import HTTPHeaders, HTTPServerRequest
from tornado.web import GZipContentEncoding

MOST_PACKED_BYTES: Final = 16_000_000
"""So much is kept packed. [B] All files that a page needs come to a megabyte."""


class Packed(GZipContentEncoding):
    """Packs what is sent, and keeps what is a file: known by its path and the tag that goes with its content."""

    _kept: Final[dict[tuple[str, str], bytes]] = {}

    def __init__(self, request: HTTPServerRequest) -> None:
        super().__init__(request)
        self._path, self._file = request.path, ("", "")
        self._sent: list[bytes] = []
        self._done = False

    def transform_first_chunk(
        self,
        status_code: int,
        headers: HTTPHeaders,
        chunk: bytes,
        finishing: bool,  # noqa: FBT001 - Tornado's signature
    ) -> tuple[int, HTTPHeaders, bytes]:
        """The whole file at once if it was packed before; its parts, as they are read, are then dropped."""
        file = status_code == HTTPStatus.OK and "Last-Modified" in headers  # a page has a tag too, and no such time
        whole = file and self._gzipping and chunk and "Content-Encoding" not in headers
        self._file = (self._path, headers.get("Etag", "")) if whole else ("", "")
        packed = self._kept.get(self._file)
        if packed is not None:
            self._done = True
            headers["Vary"] = ", ".join(name for name in (headers.get("Vary", ""), "Accept-Encoding") if name)
            headers["Content-Encoding"] = "gzip"
            headers["Content-Length"] = str(len(packed))
            return status_code, headers, packed
        return super().transform_first_chunk(status_code, headers, chunk, finishing)

    def transform_chunk(self, chunk: bytes, finishing: bool) -> bytes:  # noqa: FBT001 - Tornado's signature
        """A part; with the last of them the file is known."""
        if self._done:
            return b""
        packed = super().transform_chunk(chunk, finishing)
        if self._gzipping and self._file[1]:
            self._sent.append(packed)
            if finishing:
                self._keep(b"".join(self._sent))
        return packed

    def _keep(self, packed: bytes) -> None:
        if sum(map(len, self._kept.values())) + len(packed) <= MOST_PACKED_BYTES:
            self._kept[self._file] = packed
