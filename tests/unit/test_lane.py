"""One line for all visitors' studies, and the process beside the server that works them out."""

import asyncio
import subprocess
import sys
from typing import Any

import pytest

from curvelab.app.studies import lane
from curvelab.app.studies.lane import turn


async def waits(order: list[str], name: str, *, slow: bool) -> None:
    async with turn(slow=slow):
        order.append(name)
        await asyncio.sleep(0)
        order.append(name)


def test_one_at_a_time_and_the_quick_ones_first():
    order: list[str] = []

    async def work() -> None:
        wanted = [("slow 1", True), ("slow 2", True), ("quick 1", False), ("slow 3", True), ("quick 2", False)]
        await asyncio.gather(*(waits(order, name, slow=slow) for name, slow in wanted))

    asyncio.run(work())
    names = ["slow 1", "quick 1", "quick 2", "slow 2", "slow 3"]
    assert order == [name for name in names for _ in range(2)]


@pytest.mark.parametrize("wait", [0, 1, 2, 3])
def test_who_gives_up_or_fails_holds_nobody_up(wait: int):
    order: list[str] = []

    async def fails() -> None:
        async with turn(slow=False):
            await asyncio.sleep(0)
            raise RuntimeError

    async def work() -> None:
        first = asyncio.create_task(fails())
        gone = asyncio.create_task(waits(order, "gone", slow=False))
        last = asyncio.create_task(waits(order, "last", slow=True))
        for _ in range(wait):
            await asyncio.sleep(0)
        gone.cancel()
        await asyncio.wait_for(asyncio.gather(first, gone, last, return_exceptions=True), 5)
        await asyncio.wait_for(waits(order, "after", slow=True), 5)

    asyncio.run(work())
    assert order[-4:] == ["last", "last", "after", "after"]


def test_without_a_process_beside_it_is_done_here():
    assert not lane.beside()
    assert lane.done(divmod, 7, 2) == (3, 1)


def script(text: str) -> str:
    """What it prints: a fork is made where nothing else runs."""
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


BOTH_WAYS = """
from curvelab.app.state import show
from curvelab.app.studies import desk, lane
from curvelab.model.catalogue import default_catalogue

lists = default_catalogue()
lane.start_beside()
assert lane.beside()
for name in ("mill-pond", "cellar"):
    shown = show(lists.setups[name].with_("discharge.rise", "21 ft"), lists)
    keys = [key for key in (desk.KEY, *desk._BY_KEY) if key != "doubt"]
    here, there = desk._ask_all(keys, shown, lists), desk._ask_beside(keys, shown, lists)
    assert list(there) == keys
    for key in keys:
        assert repr(there[key]) == repr(here[key]), key
sure = desk._ask_beside(["doubt"], shown, lists)["doubt"]
assert sure.words["brief"] == desk._ask_all(["doubt"], shown, lists)["doubt"].words["brief"]
lane.end_beside()
print("alike")
"""

GONE = """
import logging, sys
from curvelab.app.studies import lane

logging.basicConfig(stream=sys.stdout, format="%(message)s")
lane.start_beside()
there = lane.done(divmod, 7, 2)
lane._beside[0]._process.kill()
print(there, lane.done(divmod, 9, 2), lane.beside())
"""

KILLED = """
import os, signal, time
from curvelab.app.studies import lane

reader, writer = os.pipe()
if os.fork() == 0:
    lane.start_beside()
    os.write(writer, str(lane._beside[0]._process.pid).encode())
    os.kill(os.getpid(), signal.SIGKILL)
os.wait()
pid = int(os.read(reader, 20))
until = time.monotonic() + 20
while time.monotonic() < until:
    try:
        state = open(f"/proc/{pid}/stat").read().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        state = "gone"
    if state in ("gone", "Z"):
        print("gone")
        break
    time.sleep(0.05)
"""

FORKS = pytest.mark.skipif(sys.platform != "linux", reason="the process is only started where a fork is safe")


@FORKS
def test_a_study_says_the_same_there_as_here():
    assert script(BOTH_WAYS) == "alike"


@FORKS
def test_when_the_process_is_gone_the_studies_go_on_here():
    said = script(GONE)
    assert "the studies go on in threads" in said
    assert said.endswith("(3, 1) (4, 1) False")


@FORKS
def test_the_process_ends_with_the_server_however_that_ended():
    assert script(KILLED) == "gone"


def test_what_is_asked_of_it_waits_for_nothing_but_the_line(monkeypatch: pytest.MonkeyPatch):
    """Lists travel only when they are others than the last time."""
    sent: list[Any] = []

    class Line:
        def send(self, what: Any) -> None:
            sent.append(what)

        def recv(self) -> int:
            return 5

    process = lane.Beside.__new__(lane.Beside)
    monkeypatch.setattr(process, "_line", Line(), raising=False)
    monkeypatch.setattr(process, "_lock", lane.threading.Lock(), raising=False)
    monkeypatch.setattr(process, "_lists", None, raising=False)
    first, second = {"a": 1}, {"a": 1}
    for lists in (first, first, second, first):
        assert process.do(divmod, 1, lists) == 5
    assert [lists for *_, lists in sent] == [first, None, second, first]
