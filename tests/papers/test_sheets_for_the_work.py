"""Sheets that are taken along: making it dead, settings, letters, arithmetic."""

import datetime
import io
import itertools
from pathlib import Path

import pypdf
import pytest

from islewright import read_job, study
from islewright.papers import (
    asking,
    by_hand,
    equipment,
    facts,
    letters_to_send,
    making_dead,
    pack,
    place,
    proving,
    reports,
    settings,
    typeset,
)

HOUSES = ("cottage", "farmhouse", "terrace")


@pytest.fixture(scope="module", params=HOUSES)
def studied(request):
    return study(read_job(f"examples/{request.param}/{request.param}.yaml"))


def test_every_source_of_the_house_is_named(studied):
    """Public supply, inverter, battery, PV where it is there, and what holds a charge."""
    names = [source["name"] for source in making_dead.sources(studied.job)]

    assert names[:3] == ["public supply", "inverter", "battery"]
    assert ("PV array" in names) is studied.job.placement.has("pv")
    assert names[-1] == "capacitors"


def test_every_board_and_terminal_has_a_row_to_write_readings_in(studied):
    """Each board and each side of switch and inverter is a point at which dead is proved."""
    alternating, direct = making_dead.making_dead(studied)["readings"]
    places = " ".join(point["place"] for point in alternating["points"])

    assert [board for board in studied.job.boards if board not in places] == []
    assert places.count("islanding switch") == 2
    assert "inverter, a.c. terminals" in places
    assert direct["points"][0]["place"] == "inverter, battery terminals"


def test_a_direct_current_source_is_read_pole_to_pole_and_each_pole_to_earth():
    """A string that has lost one pole still stands against earth with the other."""
    of = study(read_job("examples/farmhouse/farmhouse.yaml"))
    _alternating, direct = making_dead.making_dead(of)["readings"]

    assert direct["heads"] == ["+ to −", "+ to PE", "− to PE"]
    assert [p["place"] for p in direct["points"]] == [
        "inverter, battery terminals",
        "inverter, PV terminals, each string",
    ]
    assert all("capacitors" in point["whence"] for point in direct["points"])


def test_a_tester_is_asked_for_that_bears_the_highest_voltage_of_the_direct_current_side():
    """The strings of the farmhouse reach 620 V, the cottage has a battery of 51 V alone."""
    told = {
        name: making_dead.making_dead(study(read_job(f"examples/{name}/{name}.yaml")))["tester"]
        for name in ("farmhouse", "cottage")
    }

    assert told["farmhouse"] == "made for d.c. up to 620 V"
    assert told["cottage"] == "made for d.c. up to 51 V"


def test_a_generator_is_a_source_and_is_unplugged_before_the_supply_is_opened():
    """The cabin has an inlet: it is named, stopped, locked out, and its pins are read."""
    told = making_dead.making_dead(study(read_job("examples/cabin/cabin.yaml")))
    orders = [step["order"] for step in told["steps"]]
    unplugged = orders.index("Stop the generator. Pull its plug. Lock, tag.")
    (source,) = [s for s in told["sources"] if s["name"] == "generator"]
    points = {p["place"]: p["whence"] for p in told["readings"][0]["points"]}

    assert source["at"] == "portable, feeds backed-up board"
    assert told["count"] == "Five things"
    assert "generator inlet" in told["places"]
    assert unplugged < next(n for n, order in enumerate(orders) if "main switch" in order)
    assert "generator inlet, pins or terminals" in points
    assert all("generator" in whence for whence in points.values())
    assert "Somebody may start the generator." in [c["danger"] for c in told["cautions"]]


def test_pv_with_an_inverter_of_its_own_is_a_source_and_two_points_more(tmp_path):
    """Coupled at a.c.: its inverter feeds a board, holds a charge, and is read on both sides."""
    folder = Path("examples/terrace")
    shelf = (folder / "equipment.yaml").read_text("utf-8")
    house = (folder / "terrace.yaml").read_text("utf-8")
    shelf = shelf.replace("coupling: d.c.", "coupling: a.c.")
    house = house.replace("    at: roof\n", "    at: roof\n    connected to: backed-up board\n", 1)
    (tmp_path / "equipment.yaml").write_text(shelf, "utf-8")
    (tmp_path / "terrace.yaml").write_text(house, "utf-8")
    told = making_dead.making_dead(study(read_job(tmp_path / "terrace.yaml")))
    named = {source["name"]: source for source in told["sources"]}
    alternating, direct = ([p["place"] for p in r["points"]] for r in told["readings"])
    (wait,) = [step["order"] for step in told["steps"] if step["order"].startswith("Wait")]

    assert told["count"] == "Six things"
    assert named["PV inverter"]["at"] == "feeds backed-up board"
    assert "PV" not in named["inverter"]["when"]
    assert "PV inverter, a.c. terminals" in alternating
    assert "PV inverter, PV terminals, each string" in direct
    assert "PV inverter" in wait


def test_the_inverter_runs_on_what_is_there(studied):
    """A house without PV has no inverter that runs on it."""
    (inverter,) = [s for s in making_dead.sources(studied.job) if s["name"] == "inverter"]

    assert ("PV" in inverter["when"]) is studied.job.placement.has("pv")


@pytest.mark.parametrize(
    ("house", "conductors"),
    [("cottage", ["L1", "N", "PE"]), ("farmhouse", ["L1", "L2", "L3", "N", "PE"])],
)
def test_dead_is_proved_between_every_two_conductors(house, conductors):
    """A three-phase point has ten readings: one line to earth does not stand for the others."""
    job = read_job(f"examples/{house}/{house}.yaml")
    asked = {frozenset(pair.split("-")) for pair in proving.pairs(job)}

    assert asked == {frozenset(pair) for pair in itertools.combinations(conductors, 2)}


def test_the_order_of_opening_is_warned_of_first():
    """The danger that is proper to such a house leads the list."""
    told = making_dead.making_dead(study(read_job("examples/farmhouse/farmhouse.yaml")))

    assert told["cautions"][0]["danger"].startswith("Never open the main fuse")
    assert any("yard lights" in caution["danger"] for caution in told["cautions"])


def test_a_switch_that_is_no_isolator_is_called_so(studied):
    """The islanding switch of the farmhouse moves by itself and is not made to isolate."""
    dangers = [w["danger"] for w in making_dead.warnings(studied)]
    good = studied.job.switch.isolates == "suitable for isolation"

    assert ("The islanding switch is no isolator." in dangers) is not good


def test_the_wait_before_touching_is_the_makers(studied):
    """Sources and step bear the discharge time that the sheet of the inverter states."""
    told = making_dead.making_dead(studied)
    minutes = f"{studied.job.inverter.discharge_s / 60:.0f} min"

    assert told["sources"][-1]["when"] == f"for {minutes} after it is cut off"
    assert f"Wait {minutes}: " in " ".join(step["order"] for step in told["steps"])


@pytest.fixture
def uncharged(tmp_path):
    """The cottage, but nobody knows how long its inverter stays charged."""
    folder = Path("examples/cottage")
    for name in ("cottage.yaml", "equipment.yaml"):
        lines = (folder / name).read_text(encoding="utf-8").splitlines(keepends=True)
        kept = "".join(line for line in lines if "discharge time" not in line)
        (tmp_path / name).write_text(kept, encoding="utf-8")
    return study(read_job(tmp_path / "cottage.yaml"))


def test_a_discharge_time_that_is_not_known_is_told_as_that(uncharged):
    """The step says whom to ask, leaves room for the figure, and names no time of its own."""
    told = making_dead.making_dead(uncharged)
    (wait,) = [step["order"] for step in told["steps"] if step["order"].startswith("Wait")]

    assert told["sources"][-1]["when"] == "discharge time not known"
    assert "discharge time is not known" in wait
    assert "ask the maker" in wait
    assert not any(letter.isdigit() for letter in wait)


def test_what_only_a_sheet_needs_is_an_open_question_and_goes_to_the_maker(uncharged):
    """No finding waits for the discharge time, but whoever opens the inverter does."""
    (group,) = asking.open_questions(uncharged)
    (letter,) = letters_to_send.letters(uncharged)
    (row,) = group["rows"]

    assert uncharged.questions == ()
    assert group["head"] == "To ask the makers"
    assert (row["count"], row["where"]) == ("–", "Inverter")
    assert "still be charged" in row["ask"]
    assert letter["to"] == "the maker of the inverter"
    assert [r["ask"] for r in letter["rows"]] == [row["ask"]]


def test_a_house_of_which_all_is_known_has_no_page_of_open_questions():
    """It says "none" where the sources stand; asked for alone, the page is there."""
    of = study(read_job("examples/cottage/cottage.yaml"))
    texts = {
        sections: " ".join(_words_of(of, sections))
        for sections in (("questions", "sources"), ("questions",))
    }

    assert "Open questions None." in texts["questions", "sources"]
    assert "The number says how many findings" not in texts["questions", "sources"]
    assert "The number says how many findings" in texts["questions",]


def _words_of(of, sections):
    content = pack.pages(of, sections=sections)
    date = datetime.date.fromisoformat(of.job.head.date)
    reader = pypdf.PdfReader(io.BytesIO(typeset.set_pdf(content, date)))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def test_a_question_on_the_whole_house_says_which_place_it_means():
    """Two circuits leave the lowest voltage undecided; each question names its own."""
    of = study(read_job("examples/farmhouse/farmhouse.yaml"))
    (report,) = [r for r in reports.gather(of.findings) if r.rule == "voltage.at-load"]
    asked = [question["ask"] for question in reports.told(of.job, report)["questions"]]

    assert asked == [
        "15 barn lights: How long is the cable?",
        "18 well house heater: What power does it draw?",
    ]


def test_a_question_to_a_maker_says_whose_it_is():
    """The terrace asks how fast the inverter's voltage falls."""
    of = study(read_job("examples/terrace/terrace.yaml"))
    asked = [q for f in of.findings for q in f.questions if q.whom == "the maker"]

    assert {asking.lead(of.job, q) for q in asked} == {"Ask the maker of the inverter"}


def test_settings_come_from_the_job_and_say_what_they_rest_on():
    """Entered as stated; the energy held is share times capacity: 30 % of 13.8 kWh."""
    job = study(read_job("examples/farmhouse/farmhouse.yaml"))
    rows = {row["key"]: row["value"] for group in settings.settings(job) for row in group["rows"]}

    assert rows["Reserve share"] == "30 %"
    assert rows["Return delay"] in {"60 s", "1 min"}
    assert rows["Energy held for outages"] == "4.14 kWh"
    assert rows["Points to"] == "main board"
    assert rows["Inverter, output"] == "1.5 N m"


def test_a_letter_goes_to_each_who_is_asked(studied):
    """Every question to makers, operator and customer stands in one letter, in words."""
    letters = letters_to_send.letters(studied)
    asked = [
        r.question
        for r in studied.questions
        if r.question.whom in {"the maker", "the operator", "the customer"}
    ]
    printed = " ".join(row["ask"] for letter in letters for row in letter["rows"])

    said = [
        letters_to_send.in_the_second_person(studied, q.ask) if q.whom == "the operator" else q.ask
        for q in asked
    ]

    assert [ask for ask in said if ask[1:] not in printed] == []
    assert bool(letters) is bool(asked)


def test_the_operator_is_spoken_to_and_not_of():
    """A letter does not ask its reader whether he has been asked."""
    of = study(read_job("examples/farmhouse/farmhouse.yaml"))
    (letter,) = [x for x in letters_to_send.letters(of) if x["to"] == "the network operator"]
    (row,) = letter["rows"]
    limits = letters_to_send.in_the_second_person(of, "Which limits does the operator set?")

    assert row["ask"] == (
        "Which system earthing has this supply? We take it to be TN-C-S. Please confirm."
    )
    assert row["how"] == ""
    assert limits == "Which limits do you set?"


def test_every_finding_has_its_sums_in_the_appendix(studied):
    """Each place stands under its demand, in its mode, with the lines of its arithmetic."""
    groups = {group["title"]: group for group in by_hand.by_hand(studied)}
    for finding in studied.findings:
        group = groups[finding.title[:1].upper() + finding.title[1:]]
        name = place.short_place(studied.job, finding.place)
        rows = [r for r in group["rows"] if r["mode"] == finding.mode]
        row = next(r for r in rows if name in r["places"] or finding.place == "house")

        assert row["sums"] or not finding.because


def test_every_figure_of_a_job_has_a_unit_that_can_be_printed():
    """A field that holds a figure is found with its unit, however it may be left out."""
    from islewright.job.equipment import KINDS
    from islewright.job.model import Circuit, Job, Settings, Supply
    from islewright.job.schema import parts_below
    from islewright.tables.figure import Figure

    assert facts.unit_of(Supply, "nominal_voltage_v") == "V"
    assert facts.unit_of(Settings, "export_limit_w") == "W"
    assert facts.unit_of(Circuit, "use") is None
    for root in (Job, *KINDS.values()):
        for part in parts_below(root).values():
            for name, info in part.model_fields.items():
                if info.annotation is Figure:
                    assert facts.unit_of(part, name), (part.__name__, name)


def test_the_equipment_schedule_tells_new_from_existing():
    """Every piece that is there, with where it hangs; the electrode is found, the rest new."""
    of = study(read_job("examples/farmhouse/farmhouse.yaml"))
    rows = {row["what"]: row for row in equipment.equipment(of.job)}

    assert rows["Inverter"]["state"] == "new"
    assert rows["Main fuse"]["state"] == "existing"
    assert rows["Earth electrode"]["figures"] == "18 Ω"
    assert rows["Battery"]["figures"] == "13.8 kWh usable, 410 V"
    assert set(rows) >= {"Main board", "Backed-up board", "Islanding switch", "PV array"}
