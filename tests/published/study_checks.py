"""Checks of the studies by the road a user takes: a setup as a file holds it, a study, an answer. SI in and out."""

from __future__ import annotations

from typing import Any

import numpy as np

from curvelab.model.setup import Setup
from curvelab.studies.choose import choose
from curvelab.studies.limit import limit
from curvelab.studies.solve import curves, solve
from curvelab.studies.vary import vary
from curvelab.units import Quantity
from tests.published.records import check

Q = Quantity
FLAT = [[0.0, 1.0], [0.5, 1.0], [1.0, 1.0]]


def si(number: float, unit: str) -> str:
    """A number as a file writes it."""
    return f"{float(number):.12g} {unit}"


def pump(points: Any, npshr: Any = (), **more: Any) -> dict[str, Any]:
    """A pump written out in a setup, points in m³/s and m."""

    def table(rows: Any) -> dict[str, Any]:
        return {"flow": "m3/s", "head": "m", "points": [[float(x), float(y)] for x, y in rows]}

    record: dict[str, Any] = {"id": "one", "kind": "clear-water", "source": "the record", "speed": "3600 rpm"}
    record |= {"head": table(points)} | more
    return record | ({"npshr": table(npshr)} if len(npshr) else {})


def line(record: dict[str, Any], *, suction: dict[str, Any], discharge: dict[str, Any], **more: Any) -> Setup:
    """A setup of written-out hose. ``more`` sets further sections."""
    lift, rise = suction.pop("lift", "0 m"), discharge.pop("rise", "0 m")
    hose = {"bore": "1 m", "roughness": "0 mm", "length": "0 m"}
    return Setup.model_validate(
        {
            "units": "metric",
            "pump": {"record": record},
            "suction": {"lift": lift, "margin": "0 m", "leg": [hose | suction]},
            "discharge": {"rise": rise, "leg": [hose | discharge]},
        }
        | more
    )


def generic(shut_off: float, greatest: float) -> dict[str, Any]:
    """A curve H₀(1 − (Q/Q_m)^1.8) that belongs to no maker, as 41 points."""
    share = np.linspace(0.0, 1.0, 41)
    return pump(np.stack([greatest * share, shut_off * (1.0 - share**1.8)], axis=1))


GENERIC = {
    "shut_off": Q.HEAD, "greatest": Q.FLOW, "port": Q.BORE, "bore": Q.BORE, "length": Q.LENGTH, "abreast": None,
    "rise": Q.LENGTH,
}  # fmt: skip


def generic_setup(
    shut_off: float,
    greatest: float,
    port: float,
    bore: float,
    length: float,
    *,
    abreast: int = 1,
    rise: float = 12 * 0.3048,
) -> Setup:
    """8 ft of lift through 20 ft of suction hose as wide as the port, then lay-flat to a free end.

    Roughness 0.3 mm and 0.05 mm, 68 °F, sea level; a loss of 5 velocity heads on the suction for strainer and fittings.
    """
    return line(
        generic(shut_off, greatest),
        suction={"lift": "8 ft", "bore": si(port, "m"), "roughness": "0.3 mm", "length": "20 ft", "k": 5.0},
        discharge={
            "rise": si(rise, "m"),
            "bore": si(bore, "m"),
            "roughness": "0.05 mm",
            "length": si(length, "m"),
            "abreast": int(abreast),
        },
        site={"temperature": "68 degF"},
    )


@check(Q.FLOW, **GENERIC)
def generic_flow(**case):
    return solve(generic_setup(**case)).flow_m3_s


@check(Q.FLOW, more_rise=Q.LENGTH, more_length=Q.LENGTH, **GENERIC)
def generic_change(more_rise=0.0, more_length=0.0, **case):
    """What a flow changes by, from a sweep of two values."""
    setup = generic_setup(**case)
    if more_rise:
        rise = setup.discharge.rise.si
        flow = vary(setup, "discharge.rise", [rise, rise + more_rise]).columns.flow_m3_s
    else:
        length = setup.discharge.leg[0].length.si
        flow = vary(setup, "discharge.leg.0.length", [length, length + more_length]).columns.flow_m3_s
    return flow[1] - flow[0]


@check(Q.FLOW, change=None, **GENERIC)
def generic_gain(change, **case):
    """What one neighbour gains, named as the study names it."""
    setup = generic_setup(**case).with_("units", "us")
    return next(row.gain_m3_s for row in choose(setup).rows if row.change == change)


@check(Q.FLOW, bore=Q.BORE, roughness=Q.ROUGHNESS, temperature=Q.TEMPERATURE, share=None)
def flow_at_share(bore, roughness, temperature, share):
    """Flow at which a hose takes this share of its length as head, read off the bands of the system curve."""
    length = 100.0
    setup = line(
        pump([[0.0, 50.0], [0.1, 0.0]]),
        suction={},
        discharge={"bore": si(bore, "m"), "roughness": si(roughness, "m"), "length": si(length, "m")},
        site={"temperature": si(temperature - 273.15, "degC")},
    )
    table = curves(setup, 20_001)
    return np.interp(share * length, table.band_discharge_m, table.flow_m3_s)


def by_gravity(drop: float, **discharge: Any) -> float:
    """Flow through a flooded line whose pump adds 1 m of the drop at every flow."""
    raised = drop - 1.0  # the water lies a metre less above the pump than it drops: the pump adds that metre
    setup = line(pump(FLAT), suction={"lift": si(-raised, "m")}, discharge=discharge)
    return solve(setup).crossing_flow_m3_s or float("nan")


@check(Q.FLOW, drop=Q.HEAD, length=Q.LENGTH, bores=Q.BORE, friction=None, k=None)
def pipes_in_parallel(drop, length, bores, friction, k):
    """Unlike pipes side by side between two basins, friction factor and losses as one coefficient each."""
    return sum(by_gravity(drop, bore=si(bore, "m"), k=friction * length / bore + k - 1.0) for bore in bores)


@check(Q.BORE, bore=Q.BORE, abreast=None, length=Q.LENGTH, drop=Q.HEAD, roughness=Q.ROUGHNESS)
def one_for_many(bore, abreast, length, drop, roughness):
    """Bore of the one hose that carries as much as several side by side, at equal loss in the hose."""
    hose = {"length": si(length, "m"), "roughness": si(roughness, "m")}
    wanted = by_gravity(drop, bore=si(bore, "m"), abreast=int(abreast), **hose)
    low, high = bore, 4.0 * bore
    for _ in range(50):
        middle = 0.5 * (low + high)
        enough = by_gravity(drop, bore=si(middle, "m"), **hose) >= wanted
        low, high = (low, middle) if enough else (middle, high)
    return high


@check(None, small=Q.BORE, abreast=None, large=Q.BORE, length=Q.LENGTH, drop=Q.HEAD, roughness=Q.ROUGHNESS)
def one_over_many(small, abreast, large, length, drop, roughness):
    """Flow in one large hose over that in several small ones, at equal loss."""
    hose = {"length": si(length, "m"), "roughness": si(roughness, "m")}
    many = by_gravity(drop, bore=si(small, "m"), abreast=int(abreast), **hose)
    return by_gravity(drop, bore=si(large, "m"), **hose) / many


@check(
    Q.LENGTH, flow=Q.FLOW, bore=Q.BORE, k=None, needed=Q.HEAD, temperature=Q.TEMPERATURE, air=Q.PRESSURE,
    altitude=Q.LENGTH,
)  # fmt: skip
def greatest_lift(needed, temperature, flow=1e-4, bore=1.0, k=0.0, air=None, altitude=0.0):
    """Greatest lift at which a pump that gives one flow, whatever is asked, has what its suction needs."""
    steep = [[0.0, 100.0], [0.99999 * flow, 99.0], [1.00001 * flow, 0.0]]
    site = {"temperature": si(temperature - 273.15, "degC")}
    site |= {"altitude": si(altitude, "m")} if air is None else {"barometer": si(air, "Pa")}
    setup = line(
        pump(steep, [[0.0, needed], [1.00001 * flow, needed]]),
        suction={"lift": "11 m", "length": "15 m"},
        discharge={"rise": "10 m", "length": "20 m"},
        site=site,
    )
    if k:  # a mouth in front of the wide hose, less what the step behind it takes
        step = (1.0 - bore**2) ** 2
        mouth = {"bore": si(bore, "m"), "roughness": "0 mm", "length": "0 m", "k": k - step}
        setup = setup.with_("suction.leg.1", {"bore": "1 m", "roughness": "0 mm", "length": "15 m"})
        setup = setup.with_("suction.leg.0", mouth)
    return limit(setup, "suction.lift", flow=0.9 * flow).value


@check(Q.LENGTH, pump_id=None, altitude=Q.LENGTH)
def greatest_lift_in_data(pump_id, altitude):
    """Greatest lift of a demo pump with a short line: what priming and suction let through, a trickle wanted."""
    setup = Setup.model_validate(
        {
            "units": "us",
            "site": {"altitude": si(altitude, "m")},
            "pump": {"id": pump_id, "throttle": 0.6},
            "suction": {
                "lift": "28 ft",
                "margin": "0 ft",
                "leg": [{"hose": "suction-smooth", "size": "3 in", "length": "30 ft"}],
            },
            "discharge": {"rise": "0 ft", "leg": [{"hose": "lay-flat-light", "size": "1 in", "length": "100 ft"}]},
        }
    )
    return limit(setup, "suction.lift").value


@check(Q.ROTATION, flow=Q.FLOW, head=Q.HEAD, rotation=Q.ROTATION, wanted=Q.FLOW)
def least_speed(flow, head, rotation, wanted):
    """Least speed that gives a flow through a line that asks no height, from the tested point of the curve."""
    share = np.array([0.0, 0.5, 1.0, 1.5])
    points = np.stack([share * flow, head * (1.2 - 0.2 * share**2)], axis=1)
    bore = 0.05
    k = head / (flow / (np.pi / 4.0 * bore**2)) ** 2 * 2.0 * 9.80665 - 1.0
    setup = line(
        pump(points, speed=si(rotation * 60.0, "rpm")),
        suction={},
        discharge={"bore": si(bore, "m"), "k": float(k)},
    ).with_("pump.speed", si(rotation * 60.0, "rpm"))
    return limit(setup, "pump.speed", flow=wanted).value
