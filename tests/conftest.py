"""What every room's tests share."""

from pathlib import Path

import hypothesis
import pytest

import detentlib  # noqa: F401 - before numpy, as there

ROOT = Path(__file__).resolve().parents[1]

hypothesis.settings.register_profile("house", deadline=None, derandomize=True, database=None)
hypothesis.settings.load_profile("house")


@pytest.fixture(scope="session")
def root():
    """The project's folder."""
    return ROOT
