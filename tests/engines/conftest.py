from __future__ import annotations

import pytest

from tests.engines.house import House
from tests.engines.variants import house_of


@pytest.fixture
def house(request) -> House:
    """One of the examples or variants by its name."""
    return house_of(request.param)
