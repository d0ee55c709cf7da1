"""Where the studies of all visitors are worked out: one after another, the quick ones first, beside the server.

The server's own thread answers changes; whatever else works in its process takes from that, for only one thread of it
runs at a time. So ``serve`` starts a process that does the studies. It is forked before anything is opened, has nothing
but a pipe, and ends when the other end of that is closed, however the server ended. Without it they go to threads.
"""

from __future__ import annotations

import asyncio
import copyreg
import gc
import heapq
import logging
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from itertools import count
from multiprocessing.connection import Connection
from types import MappingProxyType
from typing import Any, Final
from weakref import WeakKeyDictionary

Work = Callable[..., Any]
"""A function of a module, so that it has a name in the other process too."""
_NICE: Final = 5
_log = logging.getLogger(__name__)


def _view(of: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(of)


def _copied(view: MappingProxyType[Any, Any]) -> tuple[Any, ...]:
    return _view, (dict(view),)


copyreg.pickle(MappingProxyType, _copied)


class Beside:
    """The process beside; ``do`` may be called from any thread."""

    def __init__(self) -> None:
        self._line, theirs = multiprocessing.Pipe()
        context = multiprocessing.get_context("fork")
        self._process = context.Process(target=_work, args=(theirs, self._line), daemon=True)
        self._process.start()
        theirs.close()
        self._lock = threading.Lock()
        self._lists: Any = None

    def do(self, work: Work, given: Any, lists: Any) -> Any:
        """``work(given, lists)``, done there. ``lists`` travel only when they are others than the last time.

        Raises
        ------
        OSError, EOFError
            If the process is gone.
        Exception
            If something given can't travel.
        """
        with self._lock:
            news = lists is not self._lists
            self._line.send((work, given, lists if news else None))
            self._lists = lists
            return self._line.recv()

    def end(self) -> None:
        """End it."""
        self._line.close()
        self._process.join(1)
        self._process.kill()


_beside: list[Beside] = []


def start_beside() -> None:
    """Start the process, once, before the server opens anything; only where a fork is safe."""
    gc.collect()
    gc.freeze()  # what is loaded by now stays: neither process looks through it again
    if sys.platform == "linux" and not _beside:
        _beside.append(Beside())


def end_beside() -> None:
    """End the process if there is one."""
    while _beside:
        _beside.pop().end()


def beside() -> bool:
    """Whether there is one."""
    return bool(_beside)


def done(work: Work, given: Any, lists: Any) -> Any:
    """``work(given, lists)``, in the process beside if there is one, else here; called in a thread."""
    for process in tuple(_beside):
        try:
            return process.do(work, given, lists)
        except Exception:  # noqa: BLE001 - whatever it was, the studies are done
            _log.exception("the process beside does not answer; the studies go on in threads")
            end_beside()
    return work(given, lists)


def _work(line: Connection, other: Connection) -> None:
    """Do what is asked until nobody is left to ask."""
    other.close()  # or this end would keep the line open
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.nice(_NICE)
    known = None
    while True:
        try:
            work, given, lists = line.recv()
            known = known if lists is None else lists
            line.send(work(given, known))
        except (EOFError, OSError):
            return


class _Turns:
    """Who is next; of those who wait, the quick ones first, then who came first."""

    def __init__(self) -> None:
        self._taken = False
        self._waiting: list[tuple[bool, int, asyncio.Future[None]]] = []
        self._number = count()

    @asynccontextmanager
    async def turn(self, *, slow: bool) -> AsyncIterator[None]:
        if self._taken:
            mine: asyncio.Future[None] = asyncio.get_running_loop().create_future()
            heapq.heappush(self._waiting, (slow, next(self._number), mine))
            try:
                await mine
            except asyncio.CancelledError:
                if mine.done() and not mine.cancelled():
                    self._next()
                raise
        self._taken = True
        try:
            yield
        finally:
            self._next()

    def _next(self) -> None:
        while self._waiting:
            *_, following = heapq.heappop(self._waiting)
            if not following.done():
                following.set_result(None)
                return
        self._taken = False


_turns: WeakKeyDictionary[asyncio.AbstractEventLoop, _Turns] = WeakKeyDictionary()


@asynccontextmanager
async def turn(*, slow: bool) -> AsyncIterator[None]:
    """Wait until it is one's turn; all visitors of a server wait in one line."""
    turns = _turns.setdefault(asyncio.get_running_loop(), _Turns())
    async with turns.turn(slow=slow):
        yield
