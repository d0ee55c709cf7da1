"""A file is packed once, not once a visitor, and anew when it has changed."""

import asyncio
import gzip
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tornado.httpclient import AsyncHTTPClient, HTTPResponse
from tornado.httpserver import HTTPServer
from tornado.testing import bind_unused_port
from tornado.web import Application, RequestHandler, StaticFileHandler

from curvelab.app import packing
from curvelab.app.packing import Packed

TEXT = b"const words = 'water and hose';\n" * 9000  # more than one part of what Tornado reads at once


@pytest.fixture(autouse=True)
def _empty(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(Packed, "_kept", {})
    StaticFileHandler.reset()
    yield
    StaticFileHandler.reset()


class Page(RequestHandler):
    def get(self) -> None:
        self.write(b"x" * 5000)


def asked(folder: Path, *paths: str, **headers: str) -> list[HTTPResponse]:
    """The answers, one after the other; a path of ``!`` writes the file anew first."""

    async def work() -> list[HTTPResponse]:
        rules: list[Any] = [(r"/files/(.*)", StaticFileHandler, {"path": str(folder)}), (r"/page", Page)]
        listening, port = bind_unused_port()
        server = HTTPServer(Application(rules, transforms=[Packed]))
        server.add_socket(listening)
        client, answers = AsyncHTTPClient(force_instance=True), list[HTTPResponse]()
        for path in paths:
            if path.startswith("!"):
                StaticFileHandler.reset()
                (folder / "words.js").write_bytes(TEXT.replace(b"hose", b"mud!"))
            address = f"http://127.0.0.1:{port}/{path.lstrip('!')}"
            wanted = {"Accept-Encoding": "gzip", **headers}
            answers.append(await client.fetch(address, headers=wanted, decompress_response=False, raise_error=False))
        client.close()
        server.stop()
        return answers

    (folder / "words.js").write_bytes(TEXT)
    return asyncio.run(work())


def test_the_second_visitor_gets_what_was_packed_for_the_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    work: list[int] = []
    plain = gzip.GzipFile.write

    def write(self: gzip.GzipFile, data: Any) -> int:
        work.append(len(data))
        return plain(self, data)

    monkeypatch.setattr(gzip.GzipFile, "write", write)
    first, second = asked(tmp_path, "files/words.js", "files/words.js")
    assert sum(work) == len(TEXT), "packed once"
    for answer in (first, second):
        assert answer.headers["Content-Encoding"] == "gzip"
        assert answer.headers["Vary"] == "Accept-Encoding"
        assert gzip.decompress(answer.body) == TEXT
    assert int(second.headers["Content-Length"]) == len(second.body) == len(first.body)


def test_a_file_that_has_changed_is_packed_anew(tmp_path: Path):
    before, after = asked(tmp_path, "files/words.js", "!files/words.js")
    assert b"hose" in gzip.decompress(before.body)
    assert b"hose" not in gzip.decompress(after.body)


def test_a_part_of_a_file_a_page_and_who_takes_nothing_packed_get_what_they_ask_for(tmp_path: Path):
    asked(tmp_path, "files/words.js")
    (part,) = asked(tmp_path, "files/words.js", Range="bytes=6-10")
    body = gzip.decompress(part.body) if part.headers.get("Content-Encoding") == "gzip" else part.body
    assert (part.code, body) == (206, TEXT[6:11])
    plain, pages = asked(tmp_path, "files/words.js", **{"Accept-Encoding": ""}), asked(tmp_path, "page", "page")
    assert "Content-Encoding" not in plain[0].headers
    assert plain[0].body == TEXT
    assert [gzip.decompress(page.body) for page in pages] == [b"x" * 5000] * 2
    assert {path for path, _ in Packed._kept} == {"/files/words.js"}


def test_no_more_is_kept_than_fits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(packing, "MOST_PACKED_BYTES", 100)
    first, second = asked(tmp_path, "files/words.js", "files/words.js")
    assert gzip.decompress(first.body) == gzip.decompress(second.body) == TEXT
    assert not Packed._kept
