"""What the tests of the model share: a small yard of invented records, and a setup that uses it."""

from copy import deepcopy
from pathlib import Path
from typing import Any

HOSES = """
format = "curvelab-hoses/1"
source = "made up for a test"

[[hose]]
id = "reed"
use = "suction"
rigid = true
roughness = "0.1 mm"
[[hose.size]]
size = "3 in"
bore = "3.05 in"
vacuum = "28 inHg"
working_pressure = "50 psi"
[[hose.size]]
size = "4 in"
bore = "4.02 in"

[[hose]]
id = "ribbon"
use = "discharge"
roughness = "0.03 mm"
[[hose.size]]
size = "2 in"
bore = "2.00 in"
charged_bore = "2.06 in"
working_pressure = "100 psi"
[[hose.size]]
size = "3 in"
bore = "3.00 in"
charged_bore = "3.10 in"
working_pressure = "80 psi"
[[hose.derate]]
temperature = "30 degC"
share = 0.9
[[hose.derate]]
temperature = "50 degC"
share = 0.5
"""

FITTINGS = """
format = "curvelab-fittings/1"

[[fitting]]
id = "sieve"
where = "suction-end"
k = 1.5
sizes = ["3 in", "4 in"]
estimate = true

[[fitting]]
id = "flap"
where = "suction-end"
k = 2.0
holds_prime = true
estimate = true

[[fitting]]
id = "bend"
where = "any"
source = "made up for a test"
[[fitting.size]]
size = "2 in"
k = 0.6
[[fitting.size]]
size = "3 in"
k = 0.5

[[fitting]]
id = "clip"
where = "any"
k = 0.2
working_pressure = "60 psi"
estimate = true

[[fitting]]
id = "tap"
where = "outlet"
k = 0.3
estimate = true
"""

LIQUIDS = """
format = "curvelab-liquids/1"
[[liquid]]
id = "water"
source = "computed"
[[liquid]]
id = "syrup"
density_ratio = 1.3
kinematic_viscosity = "3 mm2/s"
vapour_pressure = "1 kPa"
temperature = "40 degC"
estimate = true
"""

PUMP = """
format = "curvelab-pump/1"
id = "moor-3"
name = "Moor 3"
kind = "trash"
source = "made up for a test"
inlet = "3 in"
outlet = "3 in"
speed = "3600 rpm"
priming_lift = "26 ft"
carries = ["water"]
[engine]
power = "8 hp"
[head]
flow = "gpm"
head = "ft"
points = [[0, 90], [100, 85], [200, 70], [300, 40]]
[npshr]
flow = "gpm"
head = "ft"
points = [[60, 6], [300, 18]]
"""

PRICES = """
format = "curvelab-prices/1"
currency = "USD"
source = "made up for a test"
[[price]]
item = "moor-3"
day = 70.0
[[price]]
item = "ribbon"
size = "3 in"
per = "length"
day = 9.0
"""

CAUTIONS = """
format = "curvelab-cautions/1"
[[caution]]
id = "fumes"
text = "Fumes kill."
source = "made up for a test"
when = { place = ["pit"], warning = ["over-rated"] }
"""

FILES = {
    "hoses.toml": HOSES,
    "fittings.toml": FITTINGS,
    "liquids.toml": LIQUIDS,
    "prices.toml": PRICES,
    "cautions.toml": CAUTIONS,
    "pumps/moor-3.toml": PUMP,
}

SETUP: dict[str, Any] = {
    "format": "curvelab-setup/1",
    "title": "Pond to tank",
    "units": "us",
    "site": {"altitude": "2100 ft", "temperature": "55 degF"},
    "pump": {"id": "moor-3"},
    "suction": {
        "lift": "12 ft",
        "leg": [{"hose": "reed", "size": "3 in", "length": "20 ft", "fittings": {"sieve": 1, "bend": 2}}],
    },
    "discharge": {
        "rise": "35 ft",
        "leg": [
            {"hose": "ribbon", "size": "3 in", "length": "200 ft", "fittings": {"clip": 2}},
            {"hose": "ribbon", "size": "2 in", "length": "100 ft", "abreast": 2, "k": 0.4},
        ],
        "waypoint": [{"distance": "180 ft", "height": "40 ft", "name": "hump"}],
    },
}


def yard(folder: Path, **changed: str) -> Path:
    """The small yard written to a folder; keyword ``hoses="…"`` writes another text for hoses.toml."""
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(changed.get(path.stem.replace("-", "_"), text))
    return folder


def setup_table(**changes: Any) -> dict[str, Any]:
    """The setup's table with some paths changed: ``setup_table(**{"suction.lift": "3 m"})``; ``None`` takes one out."""
    table = deepcopy(SETUP)
    for path, value in changes.items():
        at: Any = table
        *way, last = path.split(".")
        for key in way:
            at = at[int(key)] if isinstance(at, list) else at.setdefault(key, {})
        if value is None:
            del at[int(last) if isinstance(at, list) else last]
        elif isinstance(at, list):
            at.insert(int(last), value) if int(last) == len(at) else at.__setitem__(int(last), value)
        else:
            at[last] = value
    return table
