"""The pack as a file: pages, words, letters, bytes."""

import io

import pypdf
import pytest

from islewright import write_pack
from islewright.findings import Status
from islewright.papers import typeset
from tests.papers import house

ORDER = ["Job pack", "Neutral and earth", "What stays alive", "Circuits and cables", "Findings",
         "What opens first", "Open questions", "Questions to the maker",
         "Assumptions and sources"]  # fmt: skip


def pdf_text(path):
    reader = pypdf.PdfReader(io.BytesIO(path.read_bytes()))
    return " ".join(" ".join(page.extract_text().split()) for page in reader.pages)


def test_the_pack_is_written_where_it_was_asked_for(written):
    """Missing folders are made; the path comes back."""
    assert written.name == "pack.pdf"
    assert written.read_bytes().startswith(b"%PDF-")


def test_every_page_bears_job_revision_date_input_profile_and_number(texts):
    """A page that falls out of the folder can be told and put back."""
    for number, text in enumerate(texts, 1):
        assert "Mill Lane farmhouse" in text
        assert "revision 3, 2 March 2026" in text
        assert "input 7f3a91c2" in text
        assert "IEC base 2026-1" in text
        assert f"page {number} of {len(texts)}" in text


def test_the_sheets_come_in_the_order_of_reading(texts):
    """Cover first; what is to be done before what it rests on."""
    heads = [next(i for i, text in enumerate(texts) if name in text[:200]) for name in ORDER]

    assert heads == sorted(heads)
    assert heads[0] == 0
    assert "Single line" in texts[1][:120]


def test_the_cover_says_whether_to_build_and_what_first(texts):
    """Verdict, counts, first orders with their page, and what the pack leaves out."""
    cover = texts[0]

    assert "Not ready to build" in cover
    assert "A frequency converter: 4.3 A at the start, 13.7 A in all." in cover
    assert "Lightning protection." in cover
    for word in ("Surveyed by", "Designed by", "Checked by", "Date"):
        assert word in cover


def test_the_page_that_an_order_names_holds_its_finding(texts):
    """The reader who turns to the page finds the demand there."""
    number = int(texts[0].split("13.7 A in all.")[1].split("page ")[1].split()[0])

    assert "The inverter must start the largest motor on top of the rest" in texts[number - 1]


def test_every_finding_that_is_not_met_or_open_is_told(study, texts):
    """Title and place of each stand on the pages of findings."""
    told = " ".join(text for text in texts if "Findings" in text[:120])
    for finding in study.findings:
        if finding.status is not Status.MET:
            assert finding.title.replace("'", "’") in told
            assert finding.place in told


def test_every_state_is_named(study, texts):
    """States that agree on neutral and earth share a drawing, none is dropped."""
    pages = " ".join(text for text in texts if "Neutral and earth" in text[:120])
    for sheet in study.states:
        assert sheet.name.lower() in pages.lower()
        assert sheet.neutral_earthed_at in pages


def test_every_circuit_stands_in_the_schedule(study, texts):
    """Number and name of each, as on the drawing."""
    schedule = " ".join(text for text in texts if "Circuits and cables" in text[:120])
    for number, name in enumerate(study.job.circuits, 1):
        assert f"{number} {name}" in schedule


def test_every_open_question_is_printed_with_whom_to_ask(study, texts):
    """Those to the maker also stand on a page that can be sent to him."""
    asked = " ".join(text for text in texts if "Open questions" in text[:120])
    letter = next(text for text in texts if "Questions to the maker" in text[:120])
    for ranked in study.questions:
        assert ranked.question.ask.replace("'", "’") in asked
    assert house.FALL.ask.replace("'", "’") in letter
    assert house.LENGTH.ask not in letter


def test_only_the_two_families_are_in_the_file(reader):
    """A letter of any other face means that something fell back."""
    fonts = {
        str(font["/BaseFont"]).partition("+")[2]
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()
    }

    assert fonts
    assert all(font.startswith(("FiraSans-", "FiraSansCondensed-")) for font in fonts)


def test_the_file_is_tagged_titled_and_dated_from_the_job(reader):
    """A screen reader can read it, and the date is the survey's, not today's."""
    assert reader.metadata["/Title"] == "Mill Lane farmhouse, job pack"
    assert reader.metadata["/CreationDate"].startswith("D:20260302")
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in reader.trailer["/Root"]
    assert "pdfaid" in reader.xmp_metadata.stream.get_data().decode()


def test_the_same_study_gives_the_same_bytes(written, tmp_path):
    """Written anew from scratch, byte for byte."""
    again = write_pack(house.study(), tmp_path / "again.pdf")

    assert again.read_bytes() == written.read_bytes()


HOSTILE = [
    '#panic("x")', "$ 1 + $ *bold* _it_ = head", "\\", '"quoted" `raw`', "<script>&amp;</script>",
    "a" * 90, "// comment", "@ref <label>", "]#[", '#import "@preview/x:0.1.0"', "/* */ {x}",
    "100 % ~ ^", "--- ...",
]  # fmt: skip


def test_no_name_becomes_a_command_of_the_typesetter(tmp_path):
    """Names full of markup are printed as they are."""
    study = house.study(name='#read("pack.typ") $x$ [', names=HOSTILE, number=len(HOSTILE))
    text = pdf_text(write_pack(study, tmp_path / "pack.pdf"))

    assert '#read("pack.typ") $x$ [' in text
    schedule = text[text.index("Circuits and cables") :]
    for name in [*HOSTILE[:3], *HOSTILE[6:9], *HOSTILE[10:]]:
        assert name in schedule
    assert "a" * 90 in text.replace("\u200b", "").replace(" ", "")


def test_a_letter_that_the_fonts_lack_is_owned_up_to(tmp_path):
    """It is written by its sound, and the cover says so."""
    text = pdf_text(write_pack(house.study(name="Haus 漢 Ölmühle\x07\n"), tmp_path / "pack.pdf"))

    assert "Haus Han Ölmühle" in text
    assert "Some names are written by their sound." in text


def test_letters_that_the_fonts_have_are_left_alone(texts):
    """No caution about letters where there is nothing to own up to."""
    assert "by their sound" not in texts[0]


def test_a_house_without_island_has_a_pack_too(tmp_path):
    """Nothing to race, nothing drawn for island mode, and it says so."""
    text = pdf_text(write_pack(house.study(island=False), tmp_path / "pack.pdf"))

    assert "There is no island state to follow a fault in." in text


def test_a_study_without_findings_is_not_ready(tmp_path):
    """Nothing judged is not a pass."""
    bare = house.study()
    bare.findings, bare.questions, bare.assumptions = (), (), ()
    bare.counts = dict.fromkeys(Status, 0)
    text = pdf_text(write_pack(bare, tmp_path / "pack.pdf"))

    assert "Not ready to build: nothing was judged" in text


def test_a_study_with_all_met_says_so_and_what_is_still_to_know(tmp_path):
    """No finding stands alone; the sums and the fault that stays on do."""
    fine = house.study()
    fine.findings = tuple(f for f in fine.findings if f.status is Status.MET)
    fine.counts = dict.fromkeys(Status, 0) | {Status.MET: len(fine.findings)}
    text = pdf_text(write_pack(fine, tmp_path / "pack.pdf"))

    assert "Ready to build, as far as this pack goes" in text
    assert "What must be done first" not in text
    assert "Findings All are met." in text
    assert "The fault stays on" in text


def test_a_finding_longer_than_a_page_is_printed_to_its_end(tmp_path):
    """It goes on over the page instead of running off it."""
    long = house.study()
    heavy = long.findings[0]
    lines = [f"step {n} = {n} A" for n in range(120)]
    verdict = heavy.verdict.but(because=lines)
    long.findings = (house.judged_as(heavy, verdict), *long.findings[1:])
    text = pdf_text(write_pack(long, tmp_path / "pack.pdf"))

    assert all(f"= {n} A" in text for n in range(120))


def test_a_complaint_of_the_typesetter_is_an_error(monkeypatch, tmp_path, content):
    """A font that is not there must not pass as another one."""
    broken = tmp_path / "templates"
    broken.mkdir()
    (broken / "pack.typ").write_text(
        '#set document(title: "x")\n#set text(font: "No Such Face")\nx\n'
    )
    monkeypatch.setattr(typeset, "TEMPLATES", broken)

    with pytest.raises(typeset.PaperError, match=r"complaints: .*no such face"):
        write_pack(house.study(), tmp_path / "pack.pdf")
    assert not (tmp_path / "pack.pdf").exists()


def test_a_template_that_does_not_compile_is_an_error(monkeypatch, tmp_path):
    """It is told with what the typesetter said; no file is left."""
    broken = tmp_path / "templates"
    broken.mkdir()
    (broken / "pack.typ").write_text("#nothing-of-this-name\n")
    monkeypatch.setattr(typeset, "TEMPLATES", broken)

    with pytest.raises(typeset.PaperError, match=r"cannot be set: .*unknown variable"):
        write_pack(house.study(), tmp_path / "pack.pdf")
    assert not (tmp_path / "pack.pdf").exists()


def test_one_page_a_picture(content):
    """Pages can be looked at without a reader of PDF."""
    import datetime

    pictures = typeset.set_pictures(content, datetime.date(2026, 3, 2), ppi=20)

    assert len(pictures) > len(ORDER)
    assert all(picture.startswith(b"\x89PNG") for picture in pictures)
