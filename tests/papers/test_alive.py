"""What stays alive behind each isolator, what lifts the protective conductor, zones without RCD."""

import dataclasses
import math

import pytest

from islewright import read_job
from islewright import study as study_of
from islewright.network.rise import Rise
from islewright.papers import cover, isolating, opens_first, reports, rising
from tests.papers import house

SWITCH, RUNNING = "main switch of main board", "left running"


def cells(told, isolator, inverter):
    """Marks of one row by the place that heads the column."""
    names = [row["isolator"] or None for row in told["rows"]]
    for i, name in enumerate(names):
        names[i] = name or names[i - 1]
    row = next(
        row
        for row, name in zip(told["rows"], names, strict=True)
        if (name, row["inverter"]) == (isolator, inverter)
    )
    return dict(zip(told["places"], row["cells"], strict=True))


def test_the_table_says_what_the_study_says():
    """A bar for each place that is alive, a stroke for each that is dead, in the house's order."""
    told = isolating.isolating(house.study())

    assert told["places"][:3] == ["behind the main fuse", house.MAIN, house.BACKED]
    assert cells(told, SWITCH, RUNNING)[house.BACKED] == "alive"
    assert cells(told, SWITCH, RUNNING)[house.MAIN] == "dead"
    assert cells(told, SWITCH, "stopped first")[house.BACKED] == "dead"


def test_an_inverter_that_runs_is_never_called_dead():
    """Cut off from the house it may still feed its own terminals."""
    told = isolating.isolating(house.study())
    row = cells(told, "C25 of the inverter cable", RUNNING)

    assert row["inverter, a.c. side"] == "treat"
    assert cells(told, SWITCH, "stopped first")["inverter, a.c. side"] == "dead"


def test_a_place_that_nobody_tells_of_is_not_called_dead():
    """Neither among the alive nor among the dead: not known."""
    study = house.study()
    first = dataclasses.replace(study.isolations[0], dead=())
    study.isolations = (first, *study.isolations[1:])

    assert cells(isolating.isolating(study), SWITCH, RUNNING)[house.MAIN] == "not known"


def test_a_house_that_comes_alive_again_is_the_first_caution():
    """The switch is named, and the order of work that keeps the house dead."""
    study = house.study()
    caution = next(cover.cautions(study))

    assert caution["danger"] == f"Never open the {SWITCH} first."
    assert "come alive again: backed-up board" in caution["why"]
    assert "Stop the inverter. Open. Lock. Prove dead." in caution["why"]


def test_a_house_that_stays_dead_has_no_such_caution():
    """Where no board depends on the inverter's stop, nobody is told never to open."""
    study = house.study()
    study.isolations = study.isolations[1:]

    assert isolating.starts_the_island(study) == {}
    assert not any("Never open" in c["danger"] for c in isolating.cautions(study))


def test_a_rise_is_held_against_the_line_of_the_profile():
    """Beyond the line is told apart; a bar off the scale is cut; no electrode is no current."""
    told = rising.rising(house.study())
    low, high = told["rows"]

    assert told["limit"] == "50 V"
    assert (low["volts"], low["beyond"], low["electrode"]) == ("13.2", False, "0.73")
    assert (high["volts"], high["beyond"], high["cut"], high["electrode"]) == (
        "176.7", True, True, "–",
    )  # fmt: skip
    assert low["because"].startswith("Neighbours' 6 kW")


def test_a_rise_that_is_not_known_says_so():
    """No bar of length nought for it."""
    study = house.study()
    study.rises = (
        Rise(case="x", mode="grid mode", met_v=math.nan, electrode_a=math.nan, because=""),
    )
    row = rising.rising(study)["rows"][0]

    assert (row["volts"], row["known"]) == ("not known", False)


def test_a_zone_without_rcd_says_what_ends_the_fault_there():
    """Place, the surest end and what is alive then."""
    study = house.study()
    zone = opens_first.opens_first(study)["zones"][0]

    assert zone["place"] == "cable inverter cable"
    assert zone["ends"] == "inverter stops within 0.6 s"
    assert zone["then"] == "nothing"


def test_a_zone_whose_end_is_not_known_promises_none():
    """A bar with a question counts for nothing."""
    study = house.study()
    row = study.zones[0]
    blank = tuple(dataclasses.replace(bar, questions=(house.FALL,)) for bar in row.bars)
    study.zones = (dataclasses.replace(row, bars=blank),)

    assert opens_first.opens_first(study)["zones"][0]["ends"] == "nothing that is sure to"


def test_the_page_names_both_tables_and_the_line(texts):
    """Isolators, mishaps, the 50 V line and what is assumed stand on one page."""
    page = next(text for text in texts if "What stays alive" in text[:120])

    for words in (SWITCH, "treat as alive", "dead once proved", "What lifts the protective",
                  "the 50 V line", "7 Ω from the line into the soil (assumed)"):  # fmt: skip
        assert words in page


def test_a_study_without_a_network_says_treat_as_alive(tmp_path):
    """Nothing solved is nothing dead."""
    from islewright import write_pack
    from tests.papers.test_pack import pdf_text

    bare = house.study()
    bare.isolations, bare.rises, bare.zones, bare.race, bare.states = (), (), (), (), ()
    text = pdf_text(write_pack(bare, tmp_path / "pack.pdf"))

    assert "Treat everything as alive." in text
    assert "The job does not state enough to say." in text


def test_orders_are_orders_where_no_remedy_is_known():
    """A gap is an order to measure or ask; a demand is never printed as one."""
    study = house.study()
    told = cover.orders(study, reports.gather(study.findings))
    said = {order["where"]: "".join(text for _, text in order["do"]) for order in told}

    assert said["Gate drive, circuit 34"] == "Measure along the route. How long is the cable?"
    assert said["Islanding switch"].startswith("Ask the operator. Does the operator allow")


def test_a_house_of_many_boards_takes_further_tables(tmp_path):
    """Every board heads a column, and no bar becomes too narrow to see."""
    from islewright import write_pack
    from tests.papers.test_pack import pdf_text

    big = house.study()
    boards = tuple(f"board {n} over the yard" for n in range(14))
    big.isolations = tuple(
        dataclasses.replace(row, dead=(*row.dead, *boards)) for row in big.isolations
    )
    text = pdf_text(write_pack(big, tmp_path / "pack.pdf"))

    assert all(board in text for board in boards)


@pytest.mark.parametrize(("name", "told"), [("cabin", True), ("cottage", False)])
def test_the_table_of_isolators_owns_up_to_a_generator(name, told):
    """It is solved without one: whoever starts it makes the board alive all the same."""
    of = study_of(read_job(f"examples/{name}/{name}.yaml"))

    assert isolating.isolating(of)["generator"] is told
