"""Whatever a Setup holds, its TOML reads back equal and in the same words."""

import tomllib
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from curvelab.model.catalogue import default_catalogue
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.model.written import to_toml

_number = st.floats(0.001, 900, allow_nan=False).map(lambda x: f"{x:.6g}")
_ids = st.from_regex(r"[a-z][a-z0-9-]{0,8}", fullmatch=True)
_lengths = st.builds("{} {}".format, _number, st.sampled_from(["ft", "m", "in", "yd"]))
_heights = st.builds("{}{}".format, st.sampled_from(["", "-", "−"]), _lengths)
_flows = st.builds("{} {}".format, _number, st.sampled_from(["gpm", "imp gpm", "L/min"]))
_bores = st.builds("{} {}".format, st.floats(0.5, 12).map(lambda x: f"{x:.4g}"), st.just("in")) | st.sampled_from(
    ["2½ in", "1 1/2 in"]
)
_titles = st.text(st.characters(exclude_categories=["Cc", "Cs", "Cf", "Zl", "Zp"]), max_size=40)
_shared = {
    "length": _lengths,
    "abreast": st.integers(1, 9),
    "k": st.floats(0, 99),
    "fittings": st.dictionaries(_ids, st.integers(1, 9), max_size=3),
}
_legs = st.fixed_dictionaries(
    {"length": _lengths, "hose": _ids, "size": _bores}, optional={k: v for k, v in _shared.items() if k != "length"}
) | st.fixed_dictionaries(
    {"length": _lengths, "bore": _bores, "roughness": st.just("0.1 mm")},
    optional={"rigid": st.booleans(), "k": st.floats(0, 99)},
)
_pumps = st.fixed_dictionaries(
    {"id": _ids},
    optional={
        "throttle": st.floats(0.4, 1.05),
        "wear": st.floats(0.1, 1.2),
        "abreast": st.integers(1, 3),
        "beside": st.lists(st.fixed_dictionaries({"id": _ids}), max_size=2),
    },
)
_outlets = st.one_of(
    st.just({"kind": "open"}),
    st.fixed_dictionaries({"kind": st.just("submerged")}, optional={"depth": _lengths}),
    st.fixed_dictionaries(
        {"kind": st.just("nozzle"), "bore": _bores}, optional={"count": st.integers(1, 9), "cd": st.floats(0.1, 1)}
    ),
    st.fixed_dictionaries(
        {"kind": st.just("sprinklers"), "count": st.integers(1, 9), "flow": _flows, "pressure": st.just("40 psi")}
    ),
)
_sources = st.fixed_dictionaries(
    {"shape": st.just("box"), "length": _lengths, "width": _lengths, "depth": _lengths},
    optional={"inflow": _flows | st.just({"time": ["0 h", "2 h"], "flow": ["40 gpm", "1 gpm"]}), "name": _titles},
)
_setups = st.fixed_dictionaries(
    {
        "pump": _pumps,
        "suction": st.fixed_dictionaries(
            {"lift": _heights, "leg": st.lists(_legs, min_size=1, max_size=2)},
            optional={"margin": _lengths, "strainer_height": _lengths},
        ),
        "discharge": st.fixed_dictionaries(
            {"rise": _heights, "leg": st.lists(_legs, min_size=1, max_size=3)},
            optional={
                "valve_k": st.floats(0, 9),
                "waypoint": st.lists(
                    st.fixed_dictionaries({"distance": _lengths, "height": _heights}, optional={"name": _titles}),
                    max_size=3,
                ),
            },
        ),
    },
    optional={
        "title": _titles,
        "units": st.sampled_from(["us", "metric", "imperial"]),
        "job": st.fixed_dictionaries(
            {}, optional={"kind": st.just("drain"), "place": st.just("pit"), "solids": _bores}
        ),
        "site": st.fixed_dictionaries(
            {}, optional={"altitude": st.just("2100 ft"), "liquid": _ids, "temperature": st.just("55 °F")}
        ),
        "outlet": _outlets,
        "goal": st.fixed_dictionaries({}, optional={"flow": _flows}),
        "source": _sources,
        "doubt": st.fixed_dictionaries({}, optional={"length": st.just("5 %"), "lift": _lengths}),
        "booster": st.lists(st.fixed_dictionaries({"id": _ids, "distance": _lengths}), max_size=2),
    },
)


@given(_setups)
def test_written_as_toml_it_reads_back_equal_and_in_the_same_words(table: dict[str, Any]):
    setup = Setup.model_validate(table)
    text = setup.to_toml()
    again = Setup.model_validate(tomllib.loads(text))
    assert again == setup
    assert again.suction.lift.text == setup.suction.lift.text
    assert again.to_toml() == text
    assert text.startswith('format = "curvelab-setup/1"\n')


def test_every_demo_setup_reads_back():
    for setup in default_catalogue().setups.values():
        assert Setup.model_validate(tomllib.loads(setup.to_toml())) == setup


def test_every_demo_pump_reads_back():
    for pump in default_catalogue().pumps.values():
        assert Pump.model_validate(tomllib.loads(to_toml(pump))) == pump
