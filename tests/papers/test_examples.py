"""The packs of the houses under examples/, from their files to the page."""

import math
from pathlib import Path

import pypdf
import pytest

from islewright import read_job, study, write_pack
from islewright.findings import Status
from islewright.papers import pack, typeset
from islewright.papers.states import told_states

ROOT = Path(__file__).resolve().parents[2]

HOUSES = ("cottage", "farmhouse", "terrace", "flat", "workshop", "cabin", "bungalow")


@pytest.fixture(scope="module", params=HOUSES)
def studied(request):
    return study(read_job(ROOT / "examples" / request.param / f"{request.param}.yaml"))


@pytest.fixture(scope="module")
def printed(studied, tmp_path_factory):
    reader = pypdf.PdfReader(write_pack(studied, tmp_path_factory.mktemp("pack") / "pack.pdf"))
    return reader, [" ".join(page.extract_text().split()) for page in reader.pages]


def test_a_cover_takes_one_page(printed):
    """The single line of grid mode comes next."""
    _, texts = printed

    assert "Surveyed by" in texts[0]
    assert "Single line, grid" in texts[1][:120]


def test_what_is_not_met_or_open_is_told(studied, printed):
    """Demand and place of each such finding stand on the pages of findings."""
    _, texts = printed
    told = " ".join(text for text in texts if "Findings" in text[:120])
    for finding in studied.findings:
        if finding.status is not Status.MET:
            assert finding.title.replace("'", "’") in told
            assert finding.place.removeprefix("board ") in told


def test_every_state_and_circuit_is_named(studied, printed):
    """Nothing that the study tells is dropped on the way to paper."""
    _, texts = printed
    everything = " ".join(texts)
    for sheet in told_states(studied):
        assert sheet.name.lower() in everything.lower()
    for number, name in enumerate(studied.job.circuits, 1):
        assert f"{number} {name}" in everything


def test_drawings_bring_no_other_letters(printed):
    """The SVG sheets are set in the same two families."""
    reader, _ = printed
    fonts = set()
    for page in reader.pages:
        resources = page["/Resources"]
        fonts |= {str(f["/BaseFont"]).partition("+")[2] for f in resources["/Font"].values()}

    assert fonts
    assert all(font.startswith(("FiraSans-", "FiraSansCondensed-")) for font in fonts)


def test_a_pack_is_the_same_every_time(studied, printed, tmp_path):
    """Setting the same study twice gives the same bytes."""
    reader, _ = printed
    reader.stream.seek(0)

    assert write_pack(studied, tmp_path / "pack.pdf").read_bytes() == reader.stream.read()


def test_pages_of_an_example_can_be_set_as_pictures(studied):
    """As many pictures as pages."""
    import datetime

    date = datetime.date.fromisoformat(studied.job.head.date)
    pictures = typeset.set_pictures(pack.pages(studied), date, ppi=15)

    assert len(pictures) > 8


def test_every_isolator_mishap_and_zone_is_printed(studied, printed):
    """What the study knows of dangers stands on paper."""
    _, texts = printed
    everything = " ".join(texts)
    assert studied.isolations
    assert studied.rises
    assert studied.zones
    for row in studied.isolations:
        assert row.isolator in everything
    for rise in studied.rises:
        assert f"{rise.met_v:.1f}" in everything
    for zone in studied.zones:
        assert zone.place.removeprefix("circuit ") in everything


@pytest.mark.parametrize("name", ["single-line.png", "opens-first.png"])
def test_a_picture_of_the_pack_lies_beside_the_docs(name):
    """About 1000 px wide and light enough for a first page; docs/make_pictures.py makes it."""
    picture = (ROOT / "docs" / "pictures" / name).read_bytes()

    assert picture.startswith(b"\x89PNG")
    assert 950 < int.from_bytes(picture[16:20]) < 1050
    assert len(picture) < 250_000


def test_every_finding_is_counted_on_every_page_that_counts(studied):
    """Cover, met tables and sources add up to what the check finds; no page has its own count."""
    told = pack.pages(studied)
    plain = [int(count) for row in told["met_plain"] for count in row["count"].split(", ")]
    met = sum(int(row["count"]) for row in told["met"]) + sum(plain)
    counts = {row["status"]: row["count"] for row in told["cover"]["counts"]}

    assert counts == {status.value: studied.counts.get(status, 0) for status in Status}
    assert met == studied.counts[Status.MET]
    assert sum(int(row["count"]) for row in told["sources"]) == len(studied.findings)
    assert sum(len(row["places"].split(", ")) for group in told["arithmetic"]
               for row in group["rows"]) >= len(studied.findings)  # fmt: skip


def test_the_schedule_bears_the_loops_of_the_findings(studied):
    """Loop and limit of each circuit are those that were judged, to the digits printed."""
    judged = {
        f.place.removeprefix("circuit "): f
        for f in studied.findings
        if f.rule.startswith("shock.grid-disconnection-t") and math.isfinite(f.value)
    }
    rows = [row for board in pack.pages(studied)["circuits"] for row in board["rows"]]
    apart = [
        row["name"]
        for row in rows
        if row["name"] in judged
        and row["loop"] != "not known"
        and abs(float(row["loop"]) - judged[row["name"]].value) > 0.0051
    ]

    assert apart == []
    assert len(judged) >= len(rows) - 1
