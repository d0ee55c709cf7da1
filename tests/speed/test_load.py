"""Forty pages at once: nothing that anybody changed is lost, and when they are closed nothing of them is left."""

from __future__ import annotations

import asyncio
import sys
from dataclasses import dataclass
from statistics import median
from time import perf_counter

import pytest

from tests.speed.visitors import Served, Visitor, served

VISITORS = 40
AGAIN = 6
EVERY_S = 2.0
CHANGES = 3
MOST_TIMES = 2.5
MOST_BESIDES = 0.25
MOST_MORE_MB = 25.0
"""Less than a page for each of those who come again would keep."""
VIEWS = ("sessions", "Page", "AppState", "Bench")


@dataclass(frozen=True)
class Visits:
    """How long the answers took, and what a page and a change cost: [s] each."""

    took_s: list[float]
    opened_s: float
    answering_s: float
    besides_s: float


def rise(place: int, at: int) -> float:
    """What a visitor asks for; no two in a row are alike, and none is what the page opens with. [ft]"""
    return 50.0 + place + at


async def visits(server: Served, count: int, every_s: float) -> Visits:
    """Open so many pages, one after another; when all are open each makes changes, so far apart."""
    began, pages = perf_counter(), [Visitor(server.port) for _ in range(count)]
    for page in pages:
        await page.open()

    async def work(place: int, page: Visitor) -> list[float]:
        took: list[float] = []
        start = perf_counter() + place * every_s / count
        for at in range(CHANGES):
            await asyncio.sleep(max(start + at * every_s - perf_counter(), 0.0))
            took.append(await page.change({"do": "set", "path": "discharge.rise", "number": rise(place, at)}))
        return took

    opened, before = perf_counter() - began, server.ask()
    took = await asyncio.gather(*(work(place, page) for place, page in enumerate(pages)))
    after = server.ask()
    for place, page in enumerate(pages):
        assert sorted(page.answered) == list(range(1, CHANGES + 2)), "each change is answered, and once"
        said = [page.rises[at + 2] for at in range(CHANGES)]
        assert said == [rise(place, at) for at in range(CHANGES)], "and by what it asked for"
        await page.close()
    changes = count * CHANGES
    return Visits(
        took_s=sorted(one for times in took for one in times),
        opened_s=opened / count,
        answering_s=(after["answering_s"] - before["answering_s"]) / changes,
        besides_s=(after["besides_s"] - before["besides_s"]) / changes,
    )


def left(server: Served) -> dict[str, float]:
    """What the server holds when everybody has gone."""
    end = perf_counter() + 60
    while any((now := server.ask())[name] for name in VIEWS) and perf_counter() < end:
        asyncio.run(asyncio.sleep(0.2))
    return now


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="memory is read from where Linux tells it")
def test_forty_visitors():
    """Held is what a busy machine can't change: how long an answer takes there is printed."""
    with served() as server:
        alone = asyncio.run(visits(server, 1, EVERY_S))
        many = asyncio.run(visits(server, VISITORS, EVERY_S))
        first = left(server)
        asyncio.run(visits(server, AGAIN, 0.5))
        second = left(server)
    print(
        f"\n{VISITORS} visitors, a change of each every {EVERY_S:g} s: median {1e3 * median(many.took_s):.0f} ms, "
        f"p90 {1e3 * many.took_s[int(0.9 * len(many.took_s))]:.0f} ms, most {1e3 * many.took_s[-1]:.0f} ms; "
        f"alone {1e3 * median(alone.took_s):.0f} ms. Processor time of the thread that answers: "
        f"{1e3 * many.answering_s:.0f} ms a change, alone {1e3 * alone.answering_s:.0f} ms; of other threads "
        f"{1e3 * many.besides_s:.0f} ms. A page opened in {many.opened_s:.2f} s. "
        f"{first['megabytes']:.0f} MB when all had gone, {second['megabytes']:.0f} MB after {AGAIN} more"
    )
    assert [first[name] for name in VIEWS] == [second[name] for name in VIEWS] == [0, 0, 0, 0]
    assert second["megabytes"] < first["megabytes"] + MOST_MORE_MB
    assert many.answering_s < MOST_TIMES * alone.answering_s, "a change costs more the more pages are open"
    assert many.besides_s < MOST_BESIDES * many.answering_s, "what isn't an answer is worked out in another process"
