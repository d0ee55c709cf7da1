"""Results drawn as Bokeh figures; outside app/ the only Bokeh."""

from curvelab.figures.bench import Bench
from curvelab.figures.run import RunDrawing

__all__ = ["Bench", "RunDrawing"]
