"""Results put into words, sums and the sheet.

``rounded`` makes the one set of figures; ``words`` has the state and its sentences, ``answers`` what the flow does and
what gauges will show, ``against`` what changed against a chalked setup, ``cautions`` what can hurt, ``table`` all of it
as text.
"""
