"""What every room's tests share."""

import os
from pathlib import Path

# the matrices here are tiny: threads for them only stand in each other's way
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import hypothesis
import pytest

ROOT = Path(__file__).resolve().parents[1]

hypothesis.settings.register_profile("house", deadline=None, derandomize=True, database=None)
hypothesis.settings.load_profile("house")


@pytest.fixture(scope="session")
def root():
    """The project's folder."""
    return ROOT
