"""Results and setups built by hand for the tests of words: the mill pond in each of its states."""

from dataclasses import replace

from curvelab.model.setup import Setup
from curvelab.studies.result import Band, GoverningPoint, OverRated, Part, Result, State
from curvelab.units import Quantity, parse

FT, GPM, PSI = 0.3048, 3.785411784e-3 / 60, 6894.757293168


def feet(**parts: float) -> tuple[Part, ...]:
    """Parts of a ledger or budget from feet."""
    return tuple(Part(item=item, head_m=head * FT) for item, head in parts.items())


def flow(gpm: float) -> float:
    return gpm * GPM


SOUND = Result(
    state=State.SOUND,
    flow_m3_s=flow(186.3),
    head_m=82.61 * FT,
    crossing_flow_m3_s=flow(186.3),
    crossing_head_m=82.61 * FT,
    static_head_m=50 * FT,
    shutoff_head_m=98 * FT,
    start_head_m=50 * FT,
    npsha_m=14.67 * FT,
    npshr_m=10.41 * FT,
    npshr_estimate_m=None,
    cavitation_flow_m3_s=flow(230.2),
    cavitation_flow_estimate_m3_s=None,
    margin_flow_m3_s=flow(211),
    margin_m=2 * FT,
    air_head_m=31.36 * FT,
    vapour_head_m=0.5 * FT,
    inlet_gauge_pa=-15.3 * 3386.389,
    pump_outlet_gauge_pa=28.2 * PSI,
    dead_head_gauge_pa=52.9 * PSI,
    shut_end_gauge_pa=37.2 * PSI,
    shaft_power_w=5400.0,
    efficiency=0.43,
    engine_share=0.9,
    engine_available_w=6000.0,
    priming_lift_m=24.2 * FT,
    prime_time_s=40.0,
    end_flow_m3_s=flow(420),
    other_crossings=(),
    governing_point=GoverningPoint(kind="outlet", distance_m=300 * FT, height_m=38 * FT),
    ledger=feet(lift=12, rise=38, suction=4.19, discharge=27.33, leaving=1.09),
    suction_budget=feet(vapour=0.5, lift=12, suction=4.19, needs=10.41, spare=4.26),
    velocities_m_s=(2.5, 2.5),
    hose_volume_m3=110 * 60 * GPM,
    over_rated=(),
    pumps=(),
    boosters=(),
    warnings=(),
    inputs={},
)
UNDER_RATED = replace(
    SOUND,
    over_rated=(OverRated(leg=0, from_m=60 * FT, to_m=121.7 * FT, pressure_pa=52.9 * PSI, rating_pa=50 * PSI),),
)
THIN = replace(
    SOUND,
    state=State.THIN,
    flow_m3_s=flow(215),
    npsha_m=13.2 * FT,
    npshr_m=11.8 * FT,
    ledger=feet(lift=12, rise=30, suction=5.6, discharge=32.4, leaving=1.4),
    suction_budget=feet(vapour=0.5, lift=12, suction=5.66, needs=11.8, spare=1.4),
)
CAVITATING = replace(
    SOUND,
    state=State.CAVITATING,
    flow_m3_s=flow(117.3),
    head_m=73.02 * FT,
    crossing_flow_m3_s=flow(164.8),
    static_head_m=59 * FT,
    start_head_m=59 * FT,
    npsha_m=7.68 * FT,
    npshr_m=7.68 * FT,
    cavitation_flow_m3_s=flow(117.3),
    ledger=feet(lift=21, rise=38, suction=2.18, discharge=11.33, leaving=0.51),
    suction_budget=feet(vapour=0.5, lift=21, suction=2.18, needs=7.68, spare=0),
)
NO_LIFT = replace(
    SOUND,
    state=State.NO_LIFT,
    flow_m3_s=0.0,
    head_m=None,
    crossing_flow_m3_s=None,
    crossing_head_m=None,
    static_head_m=124 * FT,
    start_head_m=124 * FT,
    governing_point=GoverningPoint(kind="waypoint", distance_m=200 * FT, height_m=112 * FT),
    npsha_m=18.9 * FT,
    npshr_m=5.3 * FT,
    ledger=feet(lift=12, rise=112, suction=0, discharge=0, leaving=0),
    suction_budget=feet(vapour=0.5, lift=12, suction=0, needs=5.3, spare=13.56),
    velocities_m_s=(0.0, 0.0),
)
NO_PRIME = replace(
    SOUND,
    state=State.NO_PRIME,
    flow_m3_s=0.0,
    head_m=None,
    crossing_flow_m3_s=flow(184),
    static_head_m=55 * FT,
    start_head_m=55 * FT,
    cavitation_flow_m3_s=flow(240),
    priming_lift_m=14.9 * FT,
    inlet_gauge_pa=-13.2 * 3386.389,
    pump_outlet_gauge_pa=0.0,
    ledger=feet(lift=17, rise=38, suction=0, discharge=0, leaving=0),
    suction_budget=feet(vapour=0.5, lift=17, suction=0, needs=3, spare=10.86),
    velocities_m_s=(0.0, 0.0),
)
OFF_CURVE = replace(
    SOUND,
    state=State.OFF_CURVE,
    flow_m3_s=flow(420),
    head_m=16 * FT,
    crossing_flow_m3_s=None,
    crossing_head_m=None,
    cavitation_flow_m3_s=None,
    ledger=feet(lift=-2, rise=4, suction=1, discharge=3, leaving=5, surplus=5),
    suction_budget=feet(vapour=0.5, lift=-2, suction=1, needs=12, spare=19.86),
)
UNTESTED = replace(OFF_CURVE, flow_m3_s=None, head_m=None, npsha_m=None, npshr_m=None)
GUESSED = replace(
    SOUND,
    npshr_m=None,
    npshr_estimate_m=Band(low=5.9 * FT, high=9.8 * FT),
    cavitation_flow_m3_s=None,
    cavitation_flow_estimate_m3_s=Band(low=flow(205), high=flow(260)),
    margin_flow_m3_s=None,
    suction_budget=feet(vapour=0.5, lift=12, suction=4.19, left=14.67),
)
PERHAPS = replace(
    GUESSED,
    npshr_estimate_m=Band(low=9.1 * FT, high=15.8 * FT),
    cavitation_flow_estimate_m3_s=Band(low=flow(151), high=flow(230)),
)
ALL = {
    "sound": SOUND,
    "under-rated": UNDER_RATED,
    "thin": THIN,
    "cavitating": CAVITATING,
    "no-lift": NO_LIFT,
    "no-prime": NO_PRIME,
    "off-curve": OFF_CURVE,
    "untested": UNTESTED,
    "guessed": GUESSED,
    "perhaps": PERHAPS,
    "past-npshr": replace(SOUND, npshr_m=None, suction_budget=feet(vapour=0.5, lift=12, suction=4.19, left=14.67)),
    "starved-at-rest": replace(
        CAVITATING,
        flow_m3_s=0.0,
        npsha_m=4 * FT,
        npshr_m=5.3 * FT,
        ledger=feet(lift=26.9, rise=38, suction=0, discharge=0, leaving=0),
        suction_budget=feet(vapour=0.5, lift=26.9, suction=0, needs=5.3, spare=-1.34),
    ),
    "starved-off-curve": replace(CAVITATING, crossing_flow_m3_s=None, crossing_head_m=None),
    "starved-by-hose": replace(
        CAVITATING,
        ledger=feet(lift=3, rise=38, suction=20.18, discharge=11.33, leaving=0.51),
        suction_budget=feet(vapour=0.5, lift=3, suction=20.18, needs=7.68, spare=0),
    ),
    "flooded": replace(
        SOUND,
        npsha_m=32.6 * FT,
        ledger=feet(lift=-6, rise=38, suction=4.19, discharge=45.33, leaving=1.09),
        suction_budget=feet(vapour=0.5, lift=-6, suction=4.19, needs=10.41, spare=22.26),
    ),
    "no-lift-siphon": replace(NO_LIFT, crossing_flow_m3_s=flow(120), static_head_m=40 * FT),
    "no-lift-droop": replace(NO_LIFT, shutoff_head_m=124.5 * FT),
    "no-prime-starved": replace(NO_PRIME, cavitation_flow_m3_s=flow(130)),
    "no-prime-no-crossing": replace(NO_PRIME, crossing_flow_m3_s=None),
    "off-curve-perhaps": replace(
        OFF_CURVE,
        npshr_m=None,
        npshr_estimate_m=Band(low=15 * FT, high=25 * FT),
        cavitation_flow_estimate_m3_s=Band(low=flow(310), high=None),
        suction_budget=feet(vapour=0.5, lift=-2, suction=1, left=31.86),
    ),
}


def setup(**fields: str) -> Setup:
    """The mill pond; fields by dotted path with ``__`` for the dots: ``suction__lift="21 ft"``."""
    made = Setup.model_validate(
        {
            "title": "Mill pond to orchard tank",
            "pump": {"id": "ferrow-3"},
            "suction": {
                "lift": "12 ft",
                "leg": [{"hose": "suction-smooth", "size": "3 in", "length": "20 ft"}],
            },
            "discharge": {
                "rise": "38 ft",
                "leg": [{"hose": "lay-flat-light", "size": "3 in", "length": "300 ft"}],
                "waypoint": [{"distance": "200 ft", "height": "34 ft"}],
            },
        }
    )
    for path, value in fields.items():
        made = made.with_(path.replace("__", "."), value)
    return made


def tank(**sizes: str) -> dict[str, str]:
    """A receiver of 5000 US gallons."""
    return {
        "shape": "box",
        "name": "orchard tank",
        "length": "10 ft",
        "width": "10 ft",
        "full": f"{6.68403:.5f} ft",
    } | sizes


def length_m(text: str) -> float:
    return parse(text, Quantity.LENGTH)
