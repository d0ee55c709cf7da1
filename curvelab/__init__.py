"""System curves, operating points and suction limits of portable engine-driven pumps and hose.

::

    import curvelab

    setup = curvelab.load_setup("mill-pond.toml")
    result = curvelab.solve(setup)

Every name here is loaded when it is first used (PEP 562), so that ``import curvelab`` costs next to nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from curvelab.errors import CurvelabError, DomainError, Fault, InputError, StudyError, UnitError, UnknownNameError
    from curvelab.model.catalogue import Catalogue, default_catalogue
    from curvelab.model.files import load_setup
    from curvelab.model.setup import Setup
    from curvelab.studies.choose import choose
    from curvelab.studies.clock import clock
    from curvelab.studies.compare import compare
    from curvelab.studies.doubt import doubt
    from curvelab.studies.find import find
    from curvelab.studies.limit import limit
    from curvelab.studies.mend import mend
    from curvelab.studies.result import Result
    from curvelab.studies.several import relay
    from curvelab.studies.solve import curves, run, solve, solve_many
    from curvelab.studies.sums import sums
    from curvelab.studies.vary import vary
    from curvelab.tracing.curve import TracedCurve
    from curvelab.tracing.trace import trace

__version__ = "0.1.0"

__all__ = [
    "Catalogue",
    "CurvelabError",
    "DomainError",
    "Fault",
    "InputError",
    "Result",
    "Setup",
    "StudyError",
    "TracedCurve",
    "UnitError",
    "UnknownNameError",
    "__version__",
    "choose",
    "clock",
    "compare",
    "curves",
    "default_catalogue",
    "doubt",
    "find",
    "limit",
    "load_setup",
    "mend",
    "relay",
    "run",
    "solve",
    "solve_many",
    "sums",
    "trace",
    "vary",
]

if not TYPE_CHECKING:  # a type checker reads the imports above, and would take a __getattr__ for leave to name anything
    _HOMES = {
        "curvelab.errors": tuple(name for name in __all__ if name == "Fault" or name.endswith("Error")),
        "curvelab.model.catalogue": ("Catalogue", "default_catalogue"),
        "curvelab.model.files": ("load_setup",),
        "curvelab.model.setup": ("Setup",),
        "curvelab.studies.choose": ("choose",),
        "curvelab.studies.clock": ("clock",),
        "curvelab.studies.compare": ("compare",),
        "curvelab.studies.doubt": ("doubt",),
        "curvelab.studies.find": ("find",),
        "curvelab.studies.limit": ("limit",),
        "curvelab.studies.mend": ("mend",),
        "curvelab.studies.result": ("Result",),
        "curvelab.studies.several": ("relay",),
        "curvelab.studies.solve": ("curves", "run", "solve", "solve_many"),
        "curvelab.studies.sums": ("sums",),
        "curvelab.studies.vary": ("vary",),
        "curvelab.tracing.curve": ("TracedCurve",),
        "curvelab.tracing.trace": ("trace",),
    }
    _HOME = {name: home for home, names in _HOMES.items() for name in names}

    def __getattr__(name: str) -> object:
        home = _HOME.get(name)
        if home is None:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        value = getattr(import_module(home), name)
        globals()[name] = value
        return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
