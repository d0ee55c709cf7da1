"""What all tests share: hypothesis profiles, marks by folder, and what a missing browser means."""

import os
import shutil
from pathlib import Path

import hypothesis
import pytest

IN_CI = os.environ.get("CI") == "true"

hypothesis.settings.register_profile("here", deadline=None)
# In CI one submission has one answer, and a failure isn't shrunk for minutes: that is done where it is looked into.
UNSHRUNK = [phase for phase in hypothesis.Phase if phase is not hypothesis.Phase.shrink]
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True, phases=UNSHRUNK)
hypothesis.settings.load_profile("ci" if IN_CI else "here")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Every test under tests/browser needs the browser."""
    for item in items:
        if Path(__file__).parent / "browser" in item.path.parents:
            item.add_marker(pytest.mark.browser)


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Without a browser: a failure in CI, a skip that says so elsewhere."""
    if item.get_closest_marker("browser") and not chromium_path():
        if IN_CI:
            pytest.fail("no chromium on the PATH: in CI that is a failure", pytrace=False)
        pytest.skip("no chromium on the PATH; Debian's package is called chromium-headless-shell (or chromium)")


def chromium_path() -> str | None:
    """Where Debian's browser lies; never a browser that a test tool would download.

    Its headless shell where it is there: the whole browser draws a window and its buttons for every page as well, for
    which each page takes a second of processor time more.
    """
    return shutil.which("chromium-headless-shell") or shutil.which("chromium")
