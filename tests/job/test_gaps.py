"""The three words for a gap, held against every field of every part."""

import pytest
from pydantic import ValidationError

from islewright.job import Gap, Job, Unknown
from islewright.job.ends import DcCable
from islewright.job.equipment import KINDS
from islewright.job.model import Cable, Circuit, Earthing, Load, Site, Supply
from islewright.job.part import Part, fields_of
from islewright.job.schema import parts_below

PARTS = {name: part for top in (Job, *KINDS.values()) for name, part in parts_below(top).items()}
#: a right value for each key that must be there
STATED = {
    "name": "Mill", "date": "2026-03-02", "profile": "IEC base", "model": "switch",
    "form": "one phase", "nominal voltage": "230 V", "frequency": "50 Hz",
    "from": "supply", "to": "main board", "cores": "L1 N", "board": "main board",
}  # fmt: skip
MUST = {
    "job": {k: STATED[k] for k in ("name", "date", "profile")},
    "supply": {k: STATED[k] for k in ("form", "nominal voltage", "frequency")},
    "earthing": {"soil": "clay"},
    "equipment": {"islanding switch": {"model": "a"}, "inverter": {"model": "b"}},
    "islanding switch": {"model": "a"},
    "inverter": {"model": "b"},
    "boards": "none", "cables": "none", "circuits": "none",
}  # fmt: skip
FIELDS = [(part, key) for part in PARTS.values() for key in fields_of(part)]


def least(part: type[Part]) -> dict[str, object]:
    """As little as a part can be read from."""
    kinds = {sheet: kind for kind, sheet in KINDS.items()}
    needed = [key for key, known in fields_of(part).items() if known.required]
    stated = STATED | {"kind": kinds.get(part)} | ({"from": "battery"} if part is DcCable else {})
    return {key: MUST.get(key, stated.get(key)) for key in needed}


def said(error: ValidationError) -> list[tuple[tuple[object, ...], str]]:
    return [(e["loc"], getattr(e["input"], "allowed", "")) for e in error.errors()]


def test_the_registry_of_parts_is_whole():
    """Every class of parts is reached from the job or from a sheet, or the tests miss it."""

    def below(part):
        return {part.__name__} | {n for child in part.__subclasses__() for n in below(child)}

    bases = {"Part", "Sheet", "Cores", "Entering", "Housed"}
    assert below(Part) - bases == set(PARTS)


@pytest.mark.parametrize(("part", "key"), FIELDS, ids=[f"{p.__name__}-{k}" for p, k in FIELDS])
def test_every_field_knows_the_word_unknown(part, key):
    """It gives a gap that raises its question; or a refusal where nothing works without it."""
    known = fields_of(part)[key]
    given = {**least(part), key: "unknown"}

    if known.required:
        with pytest.raises(ValidationError, match="1 validation error") as caught:
            part.model_validate(given)
        assert ((key,), "nothing can be worked out without it, so it must be stated") in said(
            caught.value
        )
        return
    read = part.model_validate(given)
    assert read.gap(known.name) is Gap.UNKNOWN
    assert not read.has(known.name)
    with pytest.raises(Unknown, match=key) as caught_gap:
        getattr(read, known.name)
    assert caught_gap.value.questions[0].field == key


@pytest.mark.parametrize(("part", "key"), FIELDS, ids=[f"{p.__name__}-{k}" for p, k in FIELDS])
def test_every_field_takes_the_word_none_or_refuses_it(part, key):
    """`none` states that a thing is not there; it never becomes a text or a figure."""
    known = fields_of(part)[key]
    given = {**least(part), key: "none"}

    if not (known.nullable or known.named or known.says_none):
        with pytest.raises(ValidationError, match="1 validation error") as caught:
            part.model_validate(given)
        assert [loc for loc, _ in said(caught.value)] == [(key,)]
        return
    absent = "none" if known.says_none else None if known.nullable else {}
    assert part.model_validate(given).__dict__[known.name] == absent


@pytest.mark.parametrize(("part", "key"), FIELDS, ids=[f"{p.__name__}-{k}" for p, k in FIELDS])
def test_every_field_that_can_be_a_gap_has_a_question(part, key):
    """A gap without words cannot be asked for."""
    known = fields_of(part)[key]
    extra = part.model_fields[known.name].json_schema_extra

    assert known.required or extra["ask"].endswith("?") or key.startswith("same for all")


def test_left_out_and_unknown_are_gaps_and_none_is_a_statement():
    """Only `none` lets a rule speak of absence."""
    out = Earthing.model_validate({"soil": "clay"})
    unknown = Earthing.model_validate({"electrode": "unknown"})
    none = Earthing.model_validate({"electrode": "none"})

    assert out.gap("electrode") is Gap.LEFT_OUT
    assert unknown.gap("electrode") is Gap.UNKNOWN
    assert none.gap("electrode") is None
    assert none.electrode is None
    assert not none.has("electrode")
    for part in (out, unknown):
        with pytest.raises(Unknown, match="Is there an earth electrode"):
            _ = part.electrode


def test_no_number_comes_out_of_a_gap():
    """Arithmetic with a gap ends before it begins."""
    cable = Cable.model_validate({"from": "supply", "to": "main board", "cores": "L1 N"})

    with pytest.raises(Unknown, match="length"):
        _ = cable.length_m * 2
    with pytest.raises(Unknown, match="earth"):
        _ = cable.pe_mm2


def test_one_unknown_earth_among_several_makes_their_sum_unknown():
    """What lies parallel is known only when all of it is."""
    earthing = Earthing.model_validate({"parallel earths": {"water": "12 ohm", "gas": "unknown"}})

    assert earthing.gap("parallel_earths") is Gap.UNKNOWN


def test_a_named_part_may_be_unknown_as_a_whole():
    """`R1: unknown` says that there is one, and nothing more."""
    circuit = Circuit.model_validate(
        {"board": "b", "device": "unknown", "loads": {"pump": "unknown"}}
    )

    assert circuit.gap("device") is Gap.UNKNOWN
    assert circuit.loads["pump"].gap("power_w") is Gap.UNKNOWN


def test_printing_a_part_with_gaps_raises_nothing():
    """A test or a log that fails over a gap would hide what it was to show."""
    site = Site.model_validate({"wall": "unknown"})

    assert "Gap.UNKNOWN" in repr(site)
    assert "Gap.LEFT_OUT" in str(Load.model_validate({"power factor": "0.9"}))


def test_the_protective_conductor_may_be_as_the_line():
    """Three ways to say it, none of them a guess."""
    given = {"from": "a", "to": "b", "cores": "L1 N PE", "size": "4 mm2"}

    assert Cable.model_validate({**given, "earth": "as line"}).pe_mm2 == 4
    assert Cable.model_validate({**given, "earth": "2.5 mm2"}).pe_mm2 == 2.5
    assert Cable.model_validate({**given, "earth": "none"}).pe_mm2 is None


def test_the_short_form_of_a_device_says_what_its_long_form_says():
    """One line or many keys."""
    short = Supply.model_validate(
        {**MUST["supply"], "main fuse": "C10 6 kA class 3 RCBO 30 mA type F S"}
    )
    long = {
        "curve": "C", "rated current": "10 A", "breaking capacity": "6 kA", "energy class": "3",
        "residual": {"trips at": "30 mA", "type": "F", "delay": "S"},
    }  # fmt: skip

    assert short.main_fuse == Supply.model_validate({**MUST["supply"], "main fuse": long}).main_fuse
    assert short.main_fuse.name == "C10"
    assert short.main_fuse.energy_class == 3
