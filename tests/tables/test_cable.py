"""Current-carrying capacity and its correction factors."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from islewright.tables import NotInTable, cable


def columns():
    """Every column of the capacity tables."""
    return sorted(cable._ampacities())


def test_every_row_is_carried_over():
    """694 capacities are in use; where pages disagree, the other stands beside."""
    assert sum(len(column) for column in cable._ampacities().values()) == 694
    assert {"A1", "A2", "B1", "B2", "C", "D1", "D2", "E", "F"} <= set(cable.methods())


@pytest.mark.parametrize("column", columns())
def test_capacity_rises_with_size_and_slower_than_it(column):
    """More metal carries more, but never in proportion."""
    sizes = cable.ampacity_sizes(*column)
    amps = [cable.ampacity_a(*column, size) for size in sizes]
    density = [current / size for current, size in zip(amps, sizes, strict=True)]

    assert amps == sorted(set(amps))
    assert density == sorted(density, reverse=True)


@pytest.mark.parametrize(
    "column", [c for c in columns() if c[3] == 3 and not c[0].startswith(("F", "G"))]
)
def test_three_loaded_conductors_carry_less_than_two(column):
    """A third loaded conductor is a third source of heat."""
    for size in cable.ampacity_sizes(*column):
        assert cable.ampacity_a(*column, size) < cable.ampacity_a(*column[:3], 2, size)


@pytest.mark.parametrize("column", [c for c in columns() if c[1] == "XLPE"])
def test_xlpe_carries_more_than_pvc(column):
    """20 K more leave more room for the current."""
    method, _, material, loaded = column
    pvc = (method, "PVC", material, loaded)
    for size in set(cable.ampacity_sizes(*column)) & set(cable.ampacity_sizes(*pvc)):
        assert 1.1 < cable.ampacity_a(*column, size) / cable.ampacity_a(*pvc, size) < 1.4


def test_where_pages_disagree_the_difference_is_the_spread():
    """B1, 35 mm², three loaded: 110 A on most pages, 111 A on one."""
    found = cable.ampacity_a("B1", "PVC", "Cu", 3, 35)

    assert found == 110
    assert found.spread == 1
    assert cable.ampacity_a("B1", "PVC", "Cu", 3, 25).spread == 0


def test_an_older_edition_is_no_disagreement():
    """F at 25 mm² had 126 A in an older edition; that is history, not doubt."""
    assert cable.ampacity_a("F", "PVC", "Cu", 2, 25).spread == 0


def test_words_and_signs_name_the_same_material():
    """Copper and Cu, EPR and XLPE read the same column."""
    assert cable.ampacity_a("C", "EPR", "copper", 2, 2.5) == cable.ampacity_a(
        "C", "XLPE", "Cu", 2, 2.5
    )


@pytest.mark.parametrize("buried", [False, True])
@pytest.mark.parametrize("insulation", ["PVC", "XLPE"])
def test_the_factor_is_one_at_the_reference_temperature(insulation, buried):
    """Air 30 °C, ground 20 °C."""
    reference = cable.reference_ambient_c(buried=buried)

    assert cable.ambient_factor(insulation, reference, buried=buried) == 1
    assert reference == (20 if buried else 30)


@given(
    insulation=st.sampled_from(["PVC", "XLPE"]),
    buried=st.booleans(),
    pair=st.tuples(st.floats(-20, 60), st.floats(-20, 60)).map(sorted),
)
def test_a_warmer_place_never_gives_a_larger_factor(insulation, buried, pair):
    """Monotone also between the rows, and never more than the law allows, rounding apart."""
    cool, warm = (cable.ambient_factor(insulation, t, buried=buried) for t in pair)
    reference = cable.reference_ambient_c(buried=buried)

    assert cool >= warm
    for at, factor in zip(pair, (cool, warm), strict=True):
        assert factor <= cable.ambient_law(insulation, at, reference_c=reference) + 0.0051


@given(count=st.integers(1, 60), arrangement=st.sampled_from(["bunched", "wall", "ladder"]))
def test_more_circuits_never_give_a_larger_factor(count, arrangement):
    """Each neighbour is one more source of heat."""
    assert cable.grouping_factor(arrangement, count) >= cable.grouping_factor(
        arrangement, count + 1
    )


@pytest.mark.parametrize(
    ("arrangement", "spacing", "count", "factor"),
    [
        ("bunched", "", 9, 0.5),
        ("bunched", "", 11, 0.5),
        ("bunched", "", 12, 0.45),
        ("bunched", "", 40, 0.38),
        ("wall", "", 30, 0.7),
        ("ceiling", "", 1, 0.95),
        ("in ground", "touching", 1, 1),
        ("in ground", "touching", 10, 0.36),
        ("ducts, multi-core", "0.5 m", 4, 0.85),
    ],
)
def test_a_count_between_rows_takes_the_safe_row(arrangement, spacing, count, factor):
    """9 to 11 circuits share a row in air; in the ground 10 count as 12."""
    assert cable.grouping_factor(arrangement, count, spacing=spacing) == factor


def test_a_disputed_grouping_factor_carries_the_difference():
    """Six ducts 1.0 m apart: 0.90, but the page that prints the table has 0.80."""
    found = cable.grouping_factor("ducts, multi-core", 6, spacing="1.0 m")

    assert found == 0.9
    assert found.spread == pytest.approx(0.1)


def test_drier_soil_takes_the_next_row():
    """A straight line between rows would lie above the curve, so none is drawn."""
    assert cable.soil_factor("D1", 2.5) == 1
    assert cable.soil_factor("D1", 1.2) == cable.soil_factor("D1", 1.5) == 1.1
    assert cable.soil_factor("D2", 0.1) == 1.88


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: cable.ampacity_a("C", "PVC", "Cu", 2, 5), r"4 mm² and 6 mm²"),
        (lambda: cable.ampacity_a("C", "PVC", "Cu", 4, 6), r"4 loaded conductors is not listed"),
        (lambda: cable.ampacity_a("Z", "PVC", "Cu", 2, 6), r"listed methods: A1"),
        (lambda: cable.ambient_factor("PVC", 61), r"61 °C is not listed; nearest is 60 °C"),
        (lambda: cable.ambient_factor("rubber 60", 30), r"PVC, XLPE"),
        (lambda: cable.ambient_law("PVC", 71, reference_c=30), r"above its limit of 70 °C"),
        (lambda: cable.soil_factor("C", 1), r"D1 and D2"),
        (lambda: cable.soil_factor("D1", 4), r"nearest is 3 K m/W"),
        (lambda: cable.grouping_factor("heap", 2), r"listed: bunched"),
        (lambda: cable.grouping_factor("in ground", 2), r"in ground touching"),
        (lambda: cable.grouping_factor("in ground", 21, spacing="touching"), r"nearest is 20"),
        (lambda: cable.grouping_factor("bunched", 0), r"0 is not listed"),
    ],
)
def test_what_is_not_listed_names_what_is(call, message):
    """Beyond the table there is no answer, and the message says where it ends."""
    with pytest.raises(NotInTable, match=message):
        call()


@pytest.mark.parametrize(
    ("length_m", "factor"), [(0.01, 0.88), (0.05, 0.88), (0.06, 0.78), (0.4, 0.51), (3, 0.5)]
)
def test_insulation_round_a_cable_takes_the_next_longer_row(length_m, factor):
    """Table 52.2 of BS 7671 (from memory); from half a metre on a half."""
    assert cable.insulation_factor(length_m) == factor


@pytest.mark.parametrize(
    ("share", "factor", "governs"),
    [(0, 1, "line"), (15, 1, "line"), (15.1, 0.86, "line"), (33, 0.86, "line"),
     (34, 0.86, "neutral"), (45, 0.86, "neutral"), (46, 1, "neutral"), (100, 1, "neutral")],
)  # fmt: skip
def test_third_harmonics_take_off_what_annex_e_says(share, factor, governs):
    """Bounds belong to the lower band (IEC 60364-5-52, Table E.52.1, from memory)."""
    found, by = cable.harmonic_factor(share)

    assert (float(found), by) == (factor, governs)
