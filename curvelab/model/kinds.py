"""The kinds of value that files hold, each with the range that makes sense.

The ranges are wide: they catch a slipped unit or a typing error. What the page's sliders span is narrower and stands in
the table of fields.
"""

from __future__ import annotations

from typing import Annotated

from curvelab.hydraulics.air import ALTITUDE_M, BAROMETER_PA
from curvelab.hydraulics.rules import SPEED_RATIO
from curvelab.model.amount import Amount, Count, Day, Flag, Kind, Number, Text
from curvelab.units import Quantity

LENGTH = Kind(Quantity.LENGTH, 0.0, 1e5, "a length from 0 to 100 km")
HEIGHT = Kind(Quantity.LENGTH, -5e3, 5e3, "a height from −5 km to 5 km")
DEPTH = Kind(Quantity.LENGTH, 0.0, 1e3, "a depth from 0 to 1 km")
ALTITUDE = Kind(Quantity.LENGTH, *ALTITUDE_M, "an altitude from -500 m to 5000 m (-1640 ft to 16 400 ft)")
BORE = Kind(Quantity.BORE, 1e-3, 2.0, "a bore from 1 mm to 2 m")
SOLIDS = Kind(Quantity.BORE, 0.0, 2.0, "a size from 0 to 2 m")
ROUGHNESS = Kind(Quantity.ROUGHNESS, 0.0, 0.05, "a roughness from 0 to 50 mm")
HEAD = Kind(Quantity.HEAD, 0.0, 1e4, "a head from 0 to 10 km")
PRESSURE = Kind(Quantity.PRESSURE, 0.0, 1e8, "a pressure above the air's from 0 to 1000 bar")
BAROMETER = Kind(
    Quantity.PRESSURE, *BAROMETER_PA, "a station pressure, not reduced to sea level, from 300 hPa to 1200 hPa"
)
VACUUM = Kind(Quantity.VACUUM, 0.0, 101_325.0, "a vacuum from 0 to 29.92 inHg (101.3 kPa)")
TEMPERATURE = Kind(Quantity.TEMPERATURE, 273.15, 373.15, "a temperature from 0 degC to 100 degC (32 degF to 212 degF)")
AIR_TEMPERATURE = Kind(
    Quantity.TEMPERATURE, 233.15, 333.15, "a temperature of the air from -40 degC to 60 degC (-40 degF to 140 degF)"
)
FLOW = Kind(Quantity.FLOW, 0.0, 100.0, "a flow from 0 to 100 m3/s")
SOME_FLOW = Kind(Quantity.FLOW, 0.0, 100.0, "a flow of more than 0, at most 100 m3/s", above=True)
SOME_PRESSURE = Kind(Quantity.PRESSURE, 0.0, 1e8, "a pressure of more than 0, at most 1000 bar", above=True)
SOME_LENGTH = Kind(Quantity.LENGTH, 0.0, 1e5, "a length of more than 0, at most 100 km", above=True)
VOLUME = Kind(Quantity.VOLUME, 0.0, 1e9, "a volume of more than 0, at most 1e9 m3", above=True)
TIME = Kind(Quantity.TIME, 0.0, 3.2e8, "a time from 0 to 10 years")
SOME_TIME = Kind(Quantity.TIME, 0.0, 3.2e8, "a time of more than 0, at most 10 years", above=True)
AREA = Kind(Quantity.AREA, 0.0, 1e10, "an area from 0 to 10 000 km2")
LEVEL_RATE = Kind(Quantity.LEVEL_RATE, 0.0, 1.0, "a rate of more than 0, at most 1 m/s", above=True)
SHARE = Kind(Quantity.SHARE, 0.0, 1.0, "a share from 0 % to 100 %")
ROTATION = Kind(Quantity.ROTATION, 1 / 60, 1e3, "a speed from 1 rpm to 60 000 rpm")
MASS = Kind(Quantity.MASS, 0.0, 1e5, "a mass from 0 to 100 t")
LINE_MASS = Kind(Quantity.LINE_MASS, 0.0, 1e3, "a mass per length from 0 to 1000 kg/m")
POWER = Kind(Quantity.POWER, 0.0, 1e7, "a power of more than 0, at most 10 MW", above=True)
FUEL = Kind(Quantity.FUEL, 0.0, 1e3, "a volume of fuel of more than 0, at most 1000 m3", above=True)
SPECIFIC_FUEL = Kind(Quantity.SPECIFIC_FUEL, 0.0, 1e-8, "a consumption of more than 0, at most 36 L/kWh", above=True)
VISCOSITY = Kind(Quantity.VISCOSITY, 1e-8, 1.0, "a kinematic viscosity from 0.01 mm2/s to 1 m2/s")

FACTOR = Number(0.0, 1e6)
WEAR = Number(0.05, 1.5)
THROTTLE = Number(*SPEED_RATIO)
RATIO = Number(0.0, 1.0)
SPREAD = Number(1.0, 100.0)
DISCHARGE_COEFFICIENT = Number(0.0, 1.0, above=True)
EXPONENT = Number(0.0, 10.0)
ABREAST = Count(1, 100)
COUNT = Count(1, 10_000)
PIECES = Count(1, 1000)
LINE = Text()
SENTENCES = Text("a sentence in quotes", longest=1000, least=1)
ID = Text("an id of letters, digits and hyphens", longest=64, pattern=r"[A-Za-z0-9][A-Za-z0-9-]*")
YES_NO = Flag()
DAY = Day()
TIME_OF_DAY = Text("a time of day such as 9:30", longest=5, pattern=r"([01]?\d|2[0-3]):[0-5]\d")

Words = Annotated[str, LINE]
MaybeWords = Annotated[str | None, LINE]
Id = Annotated[str, ID]
YesNo = Annotated[bool, YES_NO]
Length = Annotated[Amount, LENGTH]
MaybeLength = Annotated[Amount | None, LENGTH]
SomeLength = Annotated[Amount | None, SOME_LENGTH]
Height = Annotated[Amount, HEIGHT]
Bore = Annotated[Amount, BORE]
MaybeBore = Annotated[Amount | None, BORE]
MaybeDepth = Annotated[Amount | None, DEPTH]
MaybeSolids = Annotated[Amount | None, SOLIDS]
MaybePressure = Annotated[Amount | None, SOME_PRESSURE]
MaybeVacuum = Annotated[Amount | None, VACUUM]
MaybeShare = Annotated[Amount | None, SHARE]
MaybeMass = Annotated[Amount | None, MASS]
Factor = Annotated[float, FACTOR]
MaybeFactor = Annotated[float | None, FACTOR]


def amount(text: str, kind: Kind) -> Amount:
    """A default, written as a file would."""
    return kind.read(text)
