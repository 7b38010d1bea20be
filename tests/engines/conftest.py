from __future__ import annotations

from functools import cache

import pytest

from tests.engines.house import House

example = cache(House.example)


@pytest.fixture
def house(request) -> House:
    """One of the examples, read and built once for all tests."""
    return example(request.param)
