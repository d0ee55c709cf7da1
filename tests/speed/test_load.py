"""Forty pages at once: nothing that anybody changed is lost, and when they are closed nothing of them is left."""

from __future__ import annotations

import asyncio
import sys
from statistics import median
from time import perf_counter

import pytest

from tests.speed.visitors import Served, Visitor, served

VISITORS = 40
AGAIN = 6
EVERY_S = 2.0
CHANGES = 3
MOST_TIMES = 15.0
MOST_MORE_MB = 25.0
"""Less than a page for each of those who come again would keep."""
VIEWS = ("sessions", "Page", "AppState", "Bench")


def rise(place: int, at: int) -> float:
    """What a visitor asks for; no two in a row are alike, and none is what the page opens with. [ft]"""
    return 50.0 + place + at


async def visits(port: int, count: int, every_s: float) -> list[float]:
    """Open so many pages, one after another; when all are open each makes changes, so far apart. [s] of each."""
    pages = [Visitor(port) for _ in range(count)]
    for page in pages:
        await page.open()

    async def work(place: int, page: Visitor) -> list[float]:
        took: list[float] = []
        start = perf_counter() + place * every_s / count
        for at in range(CHANGES):
            await asyncio.sleep(max(start + at * every_s - perf_counter(), 0.0))
            took.append(await page.change({"do": "set", "path": "discharge.rise", "number": rise(place, at)}))
        return took

    took = await asyncio.gather(*(work(place, page) for place, page in enumerate(pages)))
    for place, page in enumerate(pages):
        assert sorted(page.answered) == list(range(1, CHANGES + 2)), "each change is answered, and once"
        said = [page.rises[at + 2] for at in range(CHANGES)]
        assert said == [rise(place, at) for at in range(CHANGES)], "and by what it asked for"
        await page.close()
    return [one for times in took for one in times]


def left(server: Served) -> dict[str, float]:
    """What the server holds when everybody has gone."""
    end = perf_counter() + 60
    while any((now := server.ask())[name] for name in VIEWS) and perf_counter() < end:
        asyncio.run(asyncio.sleep(0.2))
    return now


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="memory is read from where Linux tells it")
def test_forty_visitors():
    with served() as server:
        alone = asyncio.run(visits(server.port, 1, 0.5))
        began = perf_counter()
        took = sorted(asyncio.run(visits(server.port, VISITORS, EVERY_S)))
        opened = (perf_counter() - began - EVERY_S * CHANGES) / VISITORS
        first = left(server)
        asyncio.run(visits(server.port, AGAIN, 0.5))
        second = left(server)
    print(
        f"\n{VISITORS} visitors, a change of each every {EVERY_S:g} s: median {1e3 * median(took):.0f} ms, "
        f"p90 {1e3 * took[int(0.9 * len(took))]:.0f} ms, most {1e3 * took[-1]:.0f} ms; "
        f"alone {1e3 * median(alone):.0f} ms; opened in {opened:.2f} s each; "
        f"{first['megabytes']:.0f} MB when all had gone, {second['megabytes']:.0f} MB after {AGAIN} more"
    )
    assert [first[name] for name in VIEWS] == [second[name] for name in VIEWS] == [0, 0, 0, 0]
    assert second["megabytes"] < first["megabytes"] + MOST_MORE_MB
    assert median(took) < MOST_TIMES * median(alone)
