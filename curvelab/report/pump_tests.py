"""A pump's test as text: the verdict first, then what each reading says."""

from __future__ import annotations

from curvelab.model.pump import Pump
from curvelab.studies.pumptest import PumpTest, Worked
from curvelab.units import Quantity, System, show


def pump_test_text(found: PumpTest, pump: Pump, system: System = System.US) -> str:
    """What ``curvelab wear`` prints without ``--json``."""
    lines = [f"{pump.label}, tested {found.date}" if found.date else f"{pump.label}: never tested", found.sentence]
    lines += [found.advice, ""]
    lines += [f"  {reading_line(reading, system)}" for reading in found.readings]
    if found.wear is not None:
        lines += ["", f"For the next quote: [pump] wear = {found.wear:.2f}"]
    return "\n".join(lines).rstrip()


def reading_line(reading: Worked, system: System) -> str:
    """One reading worked out, or why nothing follows from it."""
    start = f"{reading.date}  {reading.kind:<9}"
    if reading.wear is None or reading.head_m is None or reading.as_new_head_m is None:
        return f"{start} {reading.reason}"
    flow = show(reading.flow_m3_s or 0.0, Quantity.FLOW, system)
    head, new = (show(value, Quantity.HEAD, system) for value in (reading.head_m, reading.as_new_head_m))
    return f"{start} {flow} at {head}, new {new}: {reading.wear:.2f} ± {reading.doubt or 0.0:.2f}"
