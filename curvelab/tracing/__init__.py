"""From a picture of a pump curve to a curve.

``frame`` says what the axes are, ``map`` puts marks on them, ``sheet`` lays the chart flat, ``ruling`` finds its grid,
``start`` or ``seek`` takes a line up, ``follow`` walks along it, looking ``across`` it for its ``ink``; ``line`` joins
and smooths what was seen, ``trace`` puts it into units with its error and its doubts, ``pumpfile`` makes a pump of it.
"""
