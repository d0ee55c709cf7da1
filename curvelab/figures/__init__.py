"""Results drawn as Bokeh figures; outside app/ the only Bokeh."""
