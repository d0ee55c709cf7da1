"""Visitors of the page without a browser: they speak its line as a browser does; and the page in a process of its own.

What a browser would draw is thrown away; what is kept is which change was answered, when, and with which link.
"""

from __future__ import annotations

import asyncio
import gc
import json
import multiprocessing
import re
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from time import perf_counter, process_time, thread_time
from typing import Any
from weakref import WeakSet

from tornado.httpclient import AsyncHTTPClient, HTTPRequest
from tornado.websocket import WebSocketClientConnection, websocket_connect

KEPT_MS = 3000
NOW = re.compile(r'"now","new":\{"type":"map","entries":\[\["seq",(\d+)\]')
RISE = re.compile(r'"discharge\.rise",\[([\d.]+),')
TOKEN = re.compile(r'"token":"([^"]+)"')


def serve(line: Connection) -> None:
    """Serve the page in this process, and answer what the other end of the line asks about it."""
    from curvelab.app.studies.lane import start_beside

    start_beside()
    asyncio.run(_serve(line))


async def _serve(line: Connection) -> None:
    from curvelab.app.page import Page
    from curvelab.app.server import make_server
    from curvelab.app.state import AppState
    from curvelab.figures.bench import Bench

    server = make_server(0, kept_ms=KEPT_MS)
    server.start()
    over = asyncio.Event()

    views = {kind: watched(kind) for kind in (Page, AppState, Bench)}

    def asked() -> None:
        try:
            line.recv()
        except EOFError:  # whoever asked has gone
            over.set()
            return
        gc.collect()
        held = {kind.__name__: len(alive) for kind, alive in views.items()}
        line.send(
            {
                "sessions": len(server.get_sessions()),
                "megabytes": resident_mb(),
                "answering_s": thread_time(),
                "besides_s": process_time() - thread_time(),
                **held,
            }
        )

    asyncio.get_running_loop().add_reader(line.fileno(), asked)
    line.send(server.port)
    await over.wait()


def watched(kind: type) -> WeakSet[Any]:
    """All of a kind that are alive, from now on."""
    alive: WeakSet[Any] = WeakSet()
    made = kind.__init__

    def make(self: Any, *given: Any, **named: Any) -> None:
        alive.add(self)
        made(self, *given, **named)

    kind.__init__ = make  # type: ignore[method-assign]
    return alive


def resident_mb() -> float:
    """What this process holds of the machine's memory. [MB]"""
    pages = Path("/proc/self/statm").read_text(encoding="utf-8").split()[1]
    return int(pages) * 4096 / 1e6


class Served:
    """The other end of the line."""

    def __init__(self, line: Connection) -> None:
        self.line = line
        assert line.poll(60), "the server did not come up"
        self.port: int = line.recv()

    def ask(self) -> dict[str, Any]:
        """How many sessions and views are alive there, what it holds of the memory, and the processor time it took.

        ``answering_s`` is that of the thread that answers, ``besides_s`` that of all others in its process.
        """
        self.line.send("")
        assert self.line.poll(60), "the server does not answer"
        return self.line.recv()


@contextmanager
def served() -> Iterator[Served]:
    """The page in a process of its own."""
    own, theirs = multiprocessing.Pipe()
    process = multiprocessing.get_context("spawn").Process(target=serve, args=(theirs,))
    process.start()
    try:
        theirs.close()
        yield Served(own)
    finally:
        own.close()
        process.join(10)
        process.kill()


class Visitor:
    """One page, opened and watched."""

    def __init__(self, port: int) -> None:
        self.port, self.address = port, f"http://127.0.0.1:{port}"
        self.seq = 0
        self.sent: dict[int, float] = {}
        self.answered: dict[int, float] = {}
        self.rises: dict[int, float] = {}
        """What the answers said the rise is, by their number."""
        self.over = False
        self._line: WebSocketClientConnection
        self._came = asyncio.Event()

    async def open(self) -> None:
        """Ask for it, say that it is drawn and how wide it is. Its document stays there: nothing would draw it."""
        page = await AsyncHTTPClient().fetch(self.address + "/", request_timeout=60)
        token = TOKEN.search(page.body.decode())
        assert token
        request = HTTPRequest(f"ws://127.0.0.1:{self.port}/ws", headers={"Origin": self.address})
        self._line = await websocket_connect(request, subprotocols=["bokeh", token[1]])
        assert (await self._message())[0] == "ACK"
        self._wire = wire_of(page.body.decode())
        self._reader = asyncio.create_task(self._read())
        self._event("document_ready")
        await self.change({"do": "width", "value": 1440})

    async def change(self, edit: dict[str, Any]) -> float:
        """Make a change and wait for its answer. [s]"""
        self.seq += 1
        seq, has = self.seq, self.seq - 1
        self.sent[seq] = perf_counter()
        data = {"seq": seq, "has": has, "held": False, "edits": [coded(edit)]}
        self._event("data_event", model={"id": self._wire}, data=coded(data))
        while seq not in self.answered:
            self._came.clear()
            await asyncio.wait_for(self._came.wait(), 30)
        return self.answered[seq] - self.sent[seq]

    async def close(self) -> None:
        self.over = True
        self._line.close()
        await self._reader

    def _event(self, name: str, **values: Any) -> None:
        event = {"type": "event", "name": name, "values": coded(values)}
        self._send("PATCH-DOC", {"events": [{"kind": "MessageSent", "msg_type": "bokeh_event", "msg_data": event}]})

    def _send(self, kind: str, content: Any) -> None:
        for part in ({"msgid": "1", "msgtype": kind}, {}, content):
            self._line.write_message(json.dumps(part))

    async def _message(self) -> tuple[str, str]:
        """Kind and content of the next message, once all of it is here."""
        head = await self._line.read_message()
        if head is None:
            return "", ""
        said = json.loads(head)
        rest = [await self._line.read_message() for _ in range(2 + 2 * said.get("num_buffers", 0))]
        return said["msgtype"], str(rest[1])

    async def _read(self) -> None:
        while True:
            kind, content = await self._message()
            if not kind:
                assert self.over, "the server closed the line"
                return
            assert kind in ("PATCH-DOC", "OK"), content
            for now in NOW.finditer(content):
                assert int(now[1]) not in self.answered, "answered twice"
                self.answered[int(now[1])] = perf_counter()
                rise = RISE.search(content, now.end())
                if rise:
                    self.rises[int(now[1])] = float(rise[1])
                self._came.set()


def coded(values: dict[str, Any]) -> dict[str, Any]:
    """An object as Bokeh's protocol has it."""
    return {"type": "map", "entries": [[key, value] for key, value in values.items()]}


def wire_of(page: str) -> str:
    """Id of the model that brings changes: the first of those that are placed where nothing is seen."""
    found = re.search(r'<div hidden>\s*<div[^>]*data-root-id="(p\d+)"', page)
    assert found, "the page has no wire"
    return found[1]
