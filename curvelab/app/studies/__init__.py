"""The studies below the page, and the buttons of what would help: asked when a change has settled, off the loop."""

from curvelab.app.studies.desk import Studies

__all__ = ["Studies"]
