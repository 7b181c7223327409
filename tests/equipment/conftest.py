from __future__ import annotations

import pytest

from archerysim.equipment import Setup, loads
from tests.support.equipment.setup_texts import BUILT, MEASURED


@pytest.fixture
def measured() -> Setup:
    return loads(MEASURED)


@pytest.fixture
def built() -> Setup:
    return loads(BUILT)
