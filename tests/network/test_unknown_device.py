"""One device that nobody knows: it stands in the race with its question, the rest stands too."""

import math

import pytest

from islewright.job.gap import Unknown
from islewright.network.follow import race
from islewright.network.isolate import isolations
from islewright.network.race import guards_at
from islewright.network.solve import Network
from islewright.network.state import ISLAND, Mode
from islewright.rules.opening import opening_current_a
from islewright.tables.profile import profile
from tests.network.probe import earth_faults
from tests.network.small import DEVICE, ONE_PHASE, job_of, parts_of

CABLE = "length: 5 m, device: C32 6 kA class 3"
LONG = "length: 5 m, device: {curve: C, rated current: 32 A, breaking capacity: 6 kA}"
DEVICE_OF, RCD_OF = "device of inverter cable (not known)", "RCD of inverter cable (not known)"
HEATER = f"cores: L1 N PE, device: {DEVICE}, size: 2.5 mm2, length: 20 m"


def rows(job, *, case: str = "hot"):
    net = Network(parts_of(job))
    return {
        r.place: r
        for r in race(job, earth_faults(job, net, ISLAND, case=case), profile("IEC base"))
    }


def test_a_circuits_device_that_nobody_knows_keeps_its_row_and_all_others(tmp_path):
    """It and a residual part that it may have might be first from 0 s on, or never open."""
    whole = rows(job_of(tmp_path, ONE_PHASE))
    found = rows(job_of(tmp_path, ONE_PHASE, (HEATER, HEATER.replace(DEVICE, "unknown"))))

    assert found.keys() == whole.keys()
    assert found["circuit lamps"] == whole["circuit lamps"]
    own = [bar for bar in found["circuit heater"].bars if not bar.known]
    assert [(b.role, b.name) for b in own] == [
        ("device", "its device (not known)"),
        ("RCD", "its own RCBO (not known)"),
    ]
    for bar in own:
        assert (bar.earliest_s, bar.latest_s, bar.rank) == (0.0, math.inf, "may be first")
        assert [q.field for q in bar.questions] == ["circuits.heater.device"]
    assert own[0].current_a == whole["circuit heater"].bars[0].current_a
    assert "R1" in [bar.name for bar in found["circuit heater"].bars if bar.known]


@pytest.mark.parametrize(
    ("written", "field", "names"),
    [
        ("unknown", "", [DEVICE_OF, RCD_OF]),
        (LONG.replace("32 A", "unknown"), ".rated current", [DEVICE_OF]),
        (LONG.replace("curve: C", "curve: unknown"), ".curve", [DEVICE_OF]),
        (LONG.replace("6 kA}", "6 kA, residual: unknown}"), ".residual", [RCD_OF]),
    ],
)
def test_the_inverter_cables_device_with_a_gap_is_one_bar_of_each_row(
    tmp_path, written, field, names
):
    """No row falls out; the bar asks for what is missing, in the table of isolators too."""
    instead = written if written.startswith("length") else f"length: 5 m, device: {written}"
    whole = rows(job_of(tmp_path, ONE_PHASE))
    job = job_of(tmp_path, ONE_PHASE, (CABLE, instead))
    found = rows(job)

    assert found.keys() == whole.keys()
    for row in found.values():
        unsure = [bar for bar in row.bars if not bar.known]
        assert [bar.name for bar in unsure] == names
        assert {q.field for bar in unsure for q in bar.questions} == {
            f"cables.inverter cable.device{field}"
        }
    told = [i.isolator for i in isolations(job, Network(parts_of(job)))]
    device = "C32" if names[0].startswith("RCD") else "device (not known)"
    assert f"{device} of the inverter cable" in told


def test_the_device_of_a_cable_that_nobody_knows_sees_what_a_known_one_sees(tmp_path):
    """It stands as a closed contact: its current is a line's, that of its RCD is the sum."""
    row = rows(job_of(tmp_path, ONE_PHASE, (CABLE, "length: 5 m, device: unknown")))[
        "circuit heater"
    ]
    device, rcd = (bar for bar in row.bars if not bar.known)

    assert device.current_a == pytest.approx(row.current_a, rel=1e-3)
    assert rcd.current_a < 1e-3 * row.current_a  # the bond lies beyond: it comes back through N


@pytest.mark.parametrize(
    ("written", "last"),
    [
        ("unknown", ["main fuse (not known)", "RCD of main fuse (not known)"]),
        ("{curve: gG}", ["main fuse (not known)"]),
    ],
)
def test_a_main_fuse_that_nobody_knows_is_a_guard_among_others(tmp_path, written, last):
    """Those before it are known as ever; to ask it for its time is a question.

    It may have a residual part as well, unless it is stated and none with it.
    """
    job = job_of(tmp_path, ONE_PHASE, ("main fuse: gG 50 A 50 kA", f"main fuse: {written}"))
    guards, _ = guards_at(job, "circuit", "heater", Mode.GRID)

    assert [g.name for g in guards] == ["B16", "R1", "B40", *last]
    with pytest.raises(Unknown, match="main fuse"):
        opening_current_a(guards[-1], 0.4)
