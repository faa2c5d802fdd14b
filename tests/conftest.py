"""What every room's tests share."""

import os
from pathlib import Path

# printed numbers are those of the demo, whatever knife its reader has chosen
os.environ["DETENT_DEMO_ONLY"] = "1"

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
