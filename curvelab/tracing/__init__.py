"""From a picture of a pump curve to a curve."""
