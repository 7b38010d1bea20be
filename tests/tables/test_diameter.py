"""Outside diameters of cables, as standards and catalogues bound them."""

import pytest

from islewright.tables import NotInTable
from islewright.tables.diameter import DiameterRow, outside_diameter
from islewright.tables.rows import read

ROWS = read("cable_diameter", DiameterRow)


def test_bounds_are_in_order_and_grow_with_size_and_cores():
    """A thicker conductor or one more core never makes a thinner cable of the same type."""
    assert len(ROWS) == 107
    for row in ROWS:
        assert row.least_mm <= row.most_mm
        for other in ROWS:
            larger = other.area_mm2 >= row.area_mm2 and other.cores >= row.cores
            if other.type == row.type and larger:
                assert other.most_mm >= row.most_mm


@pytest.mark.parametrize(
    ("type_", "cores", "size", "least", "most"),
    [
        # EN 50525-2-21, limits of the mean overall diameter (from memory)
        ("H07RN-F 5G6", 5, 6, 17.5, 22.2),
        # IEC 60227-5, Table 13
        ("h05vv-f", 3, 2.5, 9.2, 11.4),
        # a cable trader's table: 26.6 mm
        ("SWA", 5, 16, 25.9, 27.3),
    ],
)
def test_a_cable_is_found_by_the_word_it_begins_with(type_, cores, size, least, most):
    """However it is written on the sheath."""
    row = outside_diameter(type_, cores, size)

    assert (row.least_mm, row.most_mm) == (least, most)


def test_what_is_not_listed_is_told_with_what_is():
    """No guess from a neighbour."""
    with pytest.raises(NotInTable, match="listed are H07RN-F, H05VV-F"):
        outside_diameter("five-core PVC", 5, 6)
    with pytest.raises(NotInTable, match="nearest is 25 mm²"):
        outside_diameter("NYM-J", 5, 35)
