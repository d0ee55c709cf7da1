"""Results drawn as Bokeh figures; outside app/ the only Bokeh."""

from curvelab.figures.bench import Bench

__all__ = ["Bench"]
