"""What the pages say: verdict, arithmetic, scales, gaps, race."""

import dataclasses
import math

import pytest

from islewright import read_job
from islewright import study as studied
from islewright.findings import Finding, Question, Status, Verdict, at_least, at_most
from islewright.job.questions import RankedQuestion
from islewright.papers import (
    asking,
    letters,
    opens_first,
    reports,
    schedule,
    sources,
    states,
    symbols,
)
from islewright.papers.say import figure, sentence, stated
from islewright.papers.verdict import verdict
from tests.papers import house

FIGURES = {Status.NOT_MET: 0, Status.UNDECIDED: 0, Status.NEAR: 0, Status.MET: 40}


def finding(verdict_of, **rest):
    facts = {"rule": "r", "title": "It must hold", "clauses": (), "place": "gate", "state": "grid",
             "mode": "grid mode"}  # fmt: skip
    return Finding(**(facts | rest), verdict=verdict_of)


@pytest.mark.parametrize(
    ("one", "headline"),
    [
        (Status.NOT_MET, "Not ready to build"),
        (Status.UNDECIDED, "Not ready to build: questions are open"),
        (Status.NEAR, "Measure before you build"),
        (Status.MET, "Ready to build, as far as this pack goes"),
    ],
)
def test_the_heaviest_finding_decides_the_verdict(one, headline):
    """Forty met findings do not outweigh one that is not."""
    assert verdict(FIGURES | {one: FIGURES[one] + 1})[0] == headline


def test_the_verdict_counts_all_that_stands_against_building():
    """One sentence with each kind and its number."""
    counts = FIGURES | {Status.NOT_MET: 1, Status.UNDECIDED: 3, Status.NEAR: 2}

    assert verdict(counts)[1][0] == (
        "One finding is not met, three are undecided and two are near the limit."
    )


def test_arithmetic_is_cut_at_its_first_equals_sign():
    """Left of it stands the quantity, on which lines are aligned; no letter is lost."""
    line = "c_min · U_0 / I_a = 0.95 · 230 V / 160 A = 1.37 Ω"
    cut = symbols.arithmetic(line)

    assert cut["left"][:2] == [("quantity", "c"), ("index", "min")]
    assert "".join(text for _, text in cut["right"]) == "0.95 · 230 V / 160 A = 1.37 Ω"
    assert all(kind == "text" for kind, _ in cut["right"])


def test_a_unit_is_no_quantity():
    """Behind a figure V is volts; before an equals sign Z is an impedance."""
    assert symbols.arithmetic("10.95 V / 230 V = 4.76 %")["left"] == [("text", "10.95 V / 230 V")]
    assert symbols.arithmetic("Z = 2 Ω")["left"] == [("quantity", "Z")]


@pytest.mark.parametrize("line", ["no sign here", "U_0 of grid_side_a", "", " = ", "a=b", "R5 = 3"])
def test_no_letter_of_the_arithmetic_is_lost(line):
    """Only underscores before an index and the aligned sign go."""
    cut = symbols.arithmetic(line)
    said = "".join(text for _, text in cut["left"]) + "".join(text for _, text in cut["right"])

    assert said.replace("_", "") == line.replace(" = ", "", 1).replace("_", "")


def test_a_scale_puts_the_limit_at_one_and_beyond_on_the_right():
    """A least value is turned over, so that too little also runs beyond."""
    over = reports.scale(finding(at_most(12.0, 10.0, "A", spread=1.0)))
    under = reports.scale(finding(at_least(8.0, 10.0, "A", spread=0.0)))

    assert (over["value"], over["low"], over["high"]) == pytest.approx((1.2, 1.1, 1.3))
    assert over["limit_text"] == "limit 10 A"
    assert under["value"] == pytest.approx(1.25)
    assert under["limit_text"] == "at least 10 A"


def test_a_value_far_beyond_is_cut_and_says_so():
    """The bar does not leave the page; the figure above it is the true one."""
    far = reports.scale(finding(at_most(500.0, 10.0, "A", spread=1.0)))

    assert far["cut"]
    assert far["value"] == reports.SCALE_END
    assert far["value_text"] == "500 ± 1 A"


@pytest.mark.parametrize(
    "verdict_of",
    [
        Verdict(status=Status.UNDECIDED, value=1.0, limit=2.0, unit="A"),
        Verdict(status=Status.NOT_MET),
        Verdict(status=Status.NOT_MET, value=math.inf, limit=2.0, unit="s"),
        Verdict(status=Status.NEAR, value=-1.0, limit=2.0, unit="A"),
        Verdict(status=Status.NEAR, value=1.0, limit=0.0, unit="A"),
    ],
)
def test_what_cannot_be_drawn_to_scale_has_no_scale(verdict_of):
    """Undecided ones never; nor what has no finite number."""
    assert reports.scale(finding(verdict_of)) is None


def test_undecided_findings_that_ask_the_same_share_a_report():
    """Seven circuits that wait for one figure of the maker are one report with seven places."""
    study = house.study()
    told = [r for r in reports.gather(study.findings) if r.rule == "shock.island"]

    assert len(told) == 1
    assert len(told[0].places) == 7


def test_findings_not_met_stand_one_by_one():
    """Each place needs its own remedy, so none is merged."""
    beyond = at_most(2.0, 1.0, "A", spread=0.0)
    told = reports.gather(finding(beyond, place=name) for name in ("gate", "barn"))

    assert [report.places for report in told] == [["gate"], ["barn"]]


def test_arithmetic_of_one_place_is_not_printed_for_others():
    """Where the lines differ from place to place a shared report leaves them out."""
    ask = Question(field="x", ask="How long?")
    asked = [
        finding(
            Verdict(status=Status.UNDECIDED, questions=[ask], because=[f"I_b = {n} A"]),
            place=f"place {n}",
        )
        for n in (1, 2)
    ]

    assert reports.gather(asked)[0].because == []
    assert reports.gather(asked[:1])[0].because == ["I_b = 1 A"]


def test_met_findings_are_summed_up_with_the_tightest():
    """The one nearest to its limit is named, by share of the limit."""
    made = [finding(at_most(v, 10.0, "A", spread=0.0), place=f"at {v}") for v in (3.0, 9.0, 5.0)]
    row = reports.summed_up(house.job(), made)[0]

    assert (row["count"], row["value"], row["limit"]) == ("3", "9 A", "≤ 10 A")
    assert row["where"] == "at 9.0"


def test_the_tightest_of_least_values_is_the_smallest():
    """For "at least" the margin lies above the limit."""
    made = [finding(at_least(v, 10.0, "A", spread=0.0), place=f"at {v}") for v in (30.0, 11.0)]

    assert reports.summed_up(house.job(), made)[0]["where"] == "at 11.0"


def test_a_met_finding_that_leaves_a_fault_standing_is_told():
    """Met is not the end of what one has to know."""
    study = house.study()
    told = reports.met_but(study.job, study.findings)

    assert len(told) == 1
    assert told[0]["text"].startswith("The fault stays on")
    assert "40 inverter fan and enclosure light" in told[0]["places"]


def test_a_gap_is_printed_and_never_guessed():
    """Left out and unknown both read "not known"; what is not there reads "none"."""
    rows = {row["name"]: row for board in schedule.circuits(house.study()) for row in board["rows"]}

    assert rows["gate drive"]["length"] == "not known"
    assert rows["doorbell and alarm panel"]["method"] == "not known"
    assert rows["sauna"]["rcd"] == "own 30 mA A"
    assert rows["kitchen ring"]["length"] == "31 + 27"
    assert rows["kitchen ring"]["earth"] == "2.5"


def test_an_rcd_that_may_be_there_is_not_called_none():
    """A gap in the device hides whether it has a residual part."""
    made = house.circuits()["oven"]
    del made["device"]
    rest = house.job().circuits["oven"].__class__.model_validate(made)

    assert schedule.protected_by(rest) == "not known"


def test_words_for_figures_say_none_and_not_known():
    """The two words are never mixed up."""
    part = house.job().circuits["gate drive"]

    assert stated(lambda: part.length_m, "m") == "not known"
    assert figure(lambda: part.length_m) == "not known"
    assert figure(lambda: None) == "none"
    assert figure(lambda: 2.5) == "2.5"


def test_every_method_in_the_schedule_is_explained():
    """The key below the tables has a line for each method used and no more."""
    job = house.job()
    named = {row["method"] for row in schedule.methods(job)}

    assert named == schedule.methods_used(job) - {"not known"}


def test_a_race_bar_that_never_opens_or_is_not_known_is_drawn_as_such():
    """Neither may look like a bar that ends."""
    study = house.study()
    row = study.race[0]
    never = dataclasses.replace(row.bars[0], earliest_s=math.inf, latest_s=math.inf)
    blank = dataclasses.replace(row.bars[1], questions=(house.FALL,))
    study.race = (dataclasses.replace(row, bars=(never, blank), allowed_s=math.nan),)
    told = opens_first.opens_first(study)["rows"][0]

    assert told["bars"][0]["never"]
    assert not told["bars"][1]["known"]
    assert told["allowed"] is None


def test_a_fault_that_nothing_ends_in_time_is_named():
    """The reader need not find it among the bars."""
    study = house.study()
    said = " ".join(opens_first.sentences(study.race))

    assert "nothing is sure to end it within the time allowed" in said
    assert "inverter cable" in said


def test_an_unknown_bar_never_counts_as_in_time():
    """A figure that is missing ends no fault."""
    row = house.study().race[0]
    blank = tuple(dataclasses.replace(bar, questions=(house.FALL,)) for bar in row.bars)
    said = " ".join(opens_first.sentences([dataclasses.replace(row, bars=blank)]))

    assert said.startswith("At 1 of 1 fault nothing is sure")


def test_a_time_allowed_that_is_open_is_not_kept():
    """Without a time allowed nothing is in time."""
    row = dataclasses.replace(house.study().race[0], allowed_s=math.nan)

    assert "nothing is sure" in " ".join(opens_first.sentences([row]))


def test_a_source_is_as_good_as_its_weakest_limit():
    """One limit from memory among many read ones shows."""
    study = house.study()
    sure = study.findings[-1].verdict.but(confirmed="two pages")
    study.findings += (house.judged_as(study.findings[-1], sure),)
    row = next(r for r in sources.sources(study) if r["title"] == study.findings[-1].title)

    assert row["confirmed"] == "from memory: check"


def test_the_usual_letters_are_letters_that_the_fonts_have():
    """The short list that spares reading the fonts promises nothing that they lack."""
    assert letters.printable() >= letters.USUAL


def test_controls_vanish_and_apostrophes_become_printers_ones():
    """What a keyboard cannot say, the page can."""
    cleaner = letters.Letters()

    assert cleaner.clean({"a": ["the maker's\tsheet\u202e"]}) == {"a": ["the maker’s sheet"]}
    assert not cleaner.lost


def test_one_gap_at_one_place_is_one_report_however_many_demands_wait():
    """A length that blocks four demands is asked for once, and all four are named."""
    ask = Question(field="circuits.gate.length", ask="How long is the cable?")
    waits = Verdict(status=Status.UNDECIDED, questions=[ask])
    made = [finding(waits, rule=f"r{n}", title=f"Demand {n} must hold") for n in range(4)]
    made.append(finding(waits, rule="r0", title="Demand 0 must hold", place="barn"))
    told = reports.gather(made)

    assert [report.places for report in told] == [["gate", "barn"], ["gate"]]
    assert told[1].titles == [f"Demand {n} must hold" for n in (1, 2, 3)]


def test_the_same_remedy_is_printed_once():
    """A rule that offers it twice does not make two ways out of it."""
    cut = Verdict(status=Status.NOT_MET, remedies=[lambda: "Fit an RCD", lambda: "fit an RCD."])
    told = reports.told(house.job(), reports.gather([finding(cut)])[0])

    assert told["remedies"] == [[("text", "Fit an RCD.")]]


def test_what_a_local_rule_says_is_asked_once_for_all_places():
    """One answer settles all rings; lengths are asked for one by one."""
    study = house.study()
    rule = {"ask": "Which rule accepts this ring?", "whom": "the local rules"}
    names = ("kitchen ring", "office sockets")
    asked = [Question(field=f"circuits.{name}.ring", **rule) for name in names]
    asked += [Question(field=f"circuits.{name}.length", ask="How long?") for name in names]
    study.questions = tuple(RankedQuestion(question=q, findings_count=1) for q in asked)
    groups = {group["head"]: group for group in asking.open_questions(study)}
    site, rules = groups["To find out at the site"], groups["To look up in the local rules"]
    lengths = [row["where"] for row in site["rows"] if row["ask"] == "How long?"]

    assert lengths == ["1 kitchen ring", "22 office sockets"]
    assert [row["where"] for row in rules["rows"]] == ["1 kitchen ring, 22 office sockets"]


def test_the_schedule_says_what_to_expect_from_a_test():
    """Loop and limit of the finding, fault current of the race, off where the board is dead."""
    study = house.study()
    rows = {row["name"]: row for board in schedule.circuits(study) for row in board["rows"]}

    assert rows["well pump"]["island"] == "≤ 27.8"
    assert rows["oven"]["island"] == "off"
    assert rows["gate drive"]["loop"] == "not known"


def test_a_loop_beyond_its_limit_is_told_apart():
    """The row bears the finding's status, for the page to mark."""
    study = house.study()
    name = next(iter(study.job.circuits))
    verdict_of = at_most(2.05, 1.44, "ohm", spread=0.09)
    study.findings += (finding(verdict_of, rule="shock.grid-disconnection-tn", place=name),)
    row = schedule.circuits(study)[0]["rows"][0]

    assert (row["loop"], row["limit"], row["loop_status"]) == ("2.05", "1.44", "not met")


def test_a_circuit_without_an_island_row_on_a_live_board_is_not_called_off():
    """A gap that keeps it out of the race leaves the current unknown."""
    study = house.study()
    study.race = ()
    rows = {row["name"]: row for board in schedule.circuits(study) for row in board["rows"]}

    assert rows["well pump"]["island"] == "not known"


def test_states_that_say_the_same_share_a_statement():
    """Two modes that run are drawn; what is always alive is said once where all agree."""
    study = house.study()
    alike = states.neutral_and_earth(study)
    study.states = tuple(dataclasses.replace(s, always_alive=("battery",)) for s in study.states)
    once = states.neutral_and_earth(study)

    assert [len(told["names"]) for told in alike["drawn"]] == [2, 2]
    assert alike["always"] == ""
    assert once["always"] == "battery"


def test_states_in_which_nothing_runs_are_rows():
    """A dead house is told in a table, one row for all that agree."""
    study = house.study()
    dead = [
        dataclasses.replace(study.states[0], name=n, mode="dead") for n in ("outage", "all open")
    ]
    study.states += tuple(dead)
    told = states.neutral_and_earth(study)

    assert [row["names"] for row in told["unfed"]] == [["Outage", "All open"]]


def test_an_apostrophe_does_not_keep_a_sentence_small():
    """Words begin large; quantities stay as they are."""
    assert sentence("neighbours' load") == "Neighbours' load."
    assert sentence("c_min is 0.95") == "c_min is 0.95."


def test_what_a_shared_drawing_shows_dead_and_a_state_has_alive_is_told():
    """A state that shares the statement of another may still have more alive."""
    study = house.study()
    island = study.states[2]
    back = dataclasses.replace(
        island, name="island, public supply back", alive=island.alive | {"supply": True}
    )
    unsure = dataclasses.replace(
        island, name="island, unsure", alive={**island.alive, house.MAIN: None}
    )
    study.states += (back, unsure)
    told = {d["mode"]: d for d in states.neutral_and_earth(study)["drawn"]}
    also = {row["key"]: row["lines"] for row in told["Island mode"]["wide"]}

    assert also["Alive as well"] == [
        "island, public supply back: behind the main fuse",
        "island, unsure: main board",
    ]
    assert "Alive as well" not in {row["key"] for row in told["Grid mode"]["wide"]}


def test_a_race_that_cannot_be_told_says_whom_to_ask():
    """No row computed without the inverter's limit, and the reader learns why."""
    study = house.study()
    study.race, study.zones, study.race_missing = (), (), (house.FALL,)

    told = opens_first.opens_first(study)

    assert told["rows"] == []
    assert told["read"][0].startswith("What opens first cannot be told")
    assert told["read"][1] == f"Ask the maker. {house.FALL.ask}"


def test_a_house_without_a_bond_has_one_dead_state():
    """The bungalow's neutral stays joined: nothing to close, nothing to open."""
    of = study_of("bungalow")
    names = [sheet.name for sheet in states.told_states(of)]

    assert "dead" in names
    assert not [name for name in names if "bond" in name]
    assert "dead, bond open" in [s.name for s in states.told_states(study_of("cottage"))]


def test_no_state_is_called_open_that_leaves_switches_closed():
    """Main fuse and islanding switch are open, the main switches are not."""
    names = {sheet.name: sheet for sheet in states.told_states(study_of("cottage"))}

    assert "everything open" not in names
    assert names["main fuse and switch open"].closed["main switch main board L1"] is True


def study_of(name):
    return studied(read_job(f"examples/{name}/{name}.yaml"))


def test_a_figure_stays_with_its_sign_and_its_unit():
    """No line ends between them; long figures are told in threes, a minus is none of a hyphen."""
    clean = letters.Letters().clean

    assert clean("must be ≤ 16 A") == "must be ≤\u00a016\u00a0A"
    assert clean("k² = 476100 A²s") == "k² =\u00a0476\u00a0100\u00a0A²s"
    assert clean("works down to -20 °C") == "works down to −20\u00a0°C"
    assert clean("IEC 60364-4-41, 411.3.2; L1-N") == "IEC 60364-4-41, 411.3.2; L1-N"
    assert clean("revision of 2026-03-02") == "revision of 2026-03-02"


def test_an_index_with_a_comma_and_a_square_are_set_as_such():
    """Both halves of `k,min` stand low; a letter that is squared is a quantity."""
    assert symbols.runs("I_k,min = 445 A")[:2] == [("quantity", "I"), ("index", "k,min")]
    assert symbols.runs("I_contact² · t")[:2] == [("quantity", "I"), ("index", "contact")]
    assert symbols.runs("√(I²t)")[1] == ("quantity", "I")
    assert symbols.runs("15000 A²s") == [("text", "15000 A²s")]


def test_met_demands_without_a_figure_are_told_once_for_both_modes():
    """Mode and count of each stand side by side."""
    rows = [
        {"title": "It holds", "mode": "grid mode", "count": "9", "figure": False},
        {"title": "It holds", "mode": "island mode", "count": "5", "figure": False},
        {"title": "It fits", "mode": "grid mode", "count": "1", "figure": True},
    ]

    assert reports.without_figure(rows) == [
        {"title": "It holds", "mode": "grid, island", "count": "9, 5"}
    ]
