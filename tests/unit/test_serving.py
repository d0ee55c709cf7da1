"""Whom the server lets in, and what it is started with: what can be seen without asking it anything."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from curvelab.app import server
from curvelab.app.server import ORIGINS, make_server, serve


def made(*given: Any, **named: Any) -> Any:
    """A server, made in a loop of its own and never started."""

    async def make() -> Any:
        one = make_server(*given, **named)
        one.stop()
        return one

    with ThreadPoolExecutor(1) as pool:
        return pool.submit(lambda: asyncio.run(make())).result()


def test_only_hosts_that_were_named_may_open_a_line():
    one = made(0, "127.0.0.1", origins=("yard.example:443",))
    assert one._tornado.websocket_origins == {"yard.example:443"}
    own = made(0)
    assert own._tornado.websocket_origins == {f"{name}:{own.port}" for name in ("127.0.0.1", "localhost")}


def test_sessions_are_signed_with_a_key_of_this_process_alone():
    one, other = made(0)._tornado, made(0)._tornado
    assert one.sign_sessions
    assert len(one.secret_key) >= 32
    assert one.secret_key != other.secret_key


@pytest.mark.parametrize(
    ("said", "origins"),
    [
        ("", ()),
        (" , ", ()),
        ("yard.example:443", ("yard.example:443",)),
        (" yard.example:443 , 10.0.0.7:5006,", ("yard.example:443", "10.0.0.7:5006")),
    ],
)
def test_the_environment_names_them(said: str, origins: tuple[str, ...], monkeypatch: pytest.MonkeyPatch):
    started: list[Any] = []

    class Started:
        port = 5006

        def run_until_shutdown(self) -> None:
            started.append("run")

    def make(*given: Any, **named: Any) -> Started:
        started.append((*given, named))
        return Started()

    monkeypatch.setenv(ORIGINS, said)
    monkeypatch.setattr(server, "make_server", make)
    monkeypatch.setattr(server, "start_beside", lambda: started.append("beside"))
    monkeypatch.setattr(server, "end_beside", lambda: started.append("end"))
    serve(5006, "127.0.0.1")
    assert started == ["beside", (5006, "127.0.0.1", {"origins": origins, "show": False}), "run", "end"]
