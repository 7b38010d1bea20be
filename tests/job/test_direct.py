"""Parts made straight from their texts are those that the library would make, to the last gap."""

from collections import Counter

import pytest
import yaml
from pydantic import BaseModel, ValidationError

from islewright.job import Job, plain, plan
from islewright.job.direct import make
from islewright.job.model import Circuit, Load
from islewright.job.part import fields_of
from islewright.job.plan import Plan, plan_of
from islewright.job.problem import BadJob
from islewright.job.quick import read_quickly, settle
from islewright.job.read import _read_with_care
from islewright.tables.figure import Figure
from tests.job.files import FILES
from tests.job.test_gaps import PARTS, least
from tests.rough import houses
from tests.rough.tamper import PIECES, tampered

TRIALS, AT_ONCE = 1000, 100
#: what the quick way may raise, all of which lead to the careful one
REFUSALS = (plan.Odd, LookupError, TypeError, ValueError, AttributeError)


def whole(value):
    """All that lies in a part, be it seen or not; figures with their source, groups with order."""
    if isinstance(value, BaseModel):
        held = {name: whole(inner) for name, inner in vars(value).items()}
        private = value.__pydantic_private__
        stated, extra = value.__pydantic_fields_set__, value.__pydantic_extra__
        return type(value), held, stated, type(stated), extra, whole(private)
    if isinstance(value, dict):
        return type(value), [(name, whole(inner)) for name, inner in value.items()]
    if isinstance(value, Figure):
        return float(value), value.source, value.confirmed, value.spread
    return type(value), value


def texts_at(key, tree):
    """Every text that a tree has at a key."""
    for name, value in tree.items():
        if isinstance(value, dict):
            yield from texts_at(key, value)
        elif name == key and isinstance(value, str):
            yield value


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_house_is_read_quickly_and_alike(file, tmp_path):
    """Down to the paths, the gaps, and which fields were stated; each key on a line of its own."""
    for each in (file, file.parent / "equipment.yaml"):
        tree = yaml.load(each.read_bytes(), yaml.CBaseLoader)  # noqa: S506 - makes texts only
        text = yaml.safe_dump(tree, sort_keys=False, allow_unicode=True, width=1000)
        (tmp_path / each.name).write_text(text, encoding="utf-8")
    quick = read_quickly(str(tmp_path / file.name))

    assert quick is not None
    assert whole(quick) == whole(_read_with_care(str(tmp_path / file.name)))


@pytest.mark.parametrize("part", PARTS.values(), ids=list(PARTS))
def test_every_field_makes_of_every_text_what_the_library_makes(part):
    """Or both refuse it: words of every kind, and all that the examples have at that key."""
    trees = [tree for name in houses.names() for tree in houses.trees(name).values()]
    taken = 0
    for key in fields_of(part):
        for text in {*PIECES, *(t for tree in trees for t in texts_at(key, tree))}:
            raw = {**least(part), key: text}
            try:
                wanted = part.model_validate(raw)
                settle(wanted, "here")
            except ValidationError:
                wanted = None
            try:
                made = make(part, raw, "here", [])
            except REFUSALS:
                made = None
            if part is Job and made is not None:
                made.model_post_init(None)
            assert (made is None) == (wanted is None), (key, text)
            assert whole(made) == whole(wanted), (key, text)
            taken += made is not None
    assert taken >= len(fields_of(part))


@pytest.mark.parametrize("first", range(0, TRIALS, AT_ONCE))
def test_a_tampered_house_is_read_alike_or_left_to_the_careful_way(first, tmp_path):
    """What the careful way takes and nobody wrote oddly is read quickly."""
    ways = Counter()
    for seed in range(first, first + AT_ONCE):
        case = tampered(seed)
        for name, text in case.files.items():
            (tmp_path / name).write_bytes(text)
        path = str(tmp_path / f"{case.house}.yaml")
        quick = read_quickly(path)
        try:
            careful = _read_with_care(path)
        except BadJob:
            careful = None
        ways[quick is not None, careful is not None] += 1
        if quick is not None:
            assert whole(quick) == whole(careful), case.how

    assert ways[True, True] > 9 * ways[False, True]


def test_a_short_form_by_name_may_be_unknown():
    """Of such a load nothing is known but that it is there."""
    raw = {"board": "main board", "loads": {"oven": "unknown", "lamp": "60 W"}}
    made = make(Circuit, raw, "circuits.a", [])

    assert made.loads["oven"]._unknown == ("power_w",)
    assert made.loads["lamp"].path == "circuits.a.loads.lamp"
    assert made.loads["lamp"].power_w == 60


def test_what_is_remembered_of_one_job_is_not_changed_by_another():
    """Each part has its own fields; what was stated of one is not that of the next."""
    raw = {"power": "60 W", "leakage": "unknown"}
    first = make(Load, raw, "a", [])
    second = first.model_copy(update={"power_w": 61.0, "leakage_a": None})
    again = make(Load, raw, "a", [])

    assert second.model_fields_set == {"power_w", "leakage_a"}
    assert again.model_fields_set == first.model_fields_set == {"power_w"}
    assert (again.power_w, again._unknown) == (60, ("leakage_a",))


def test_only_so_many_texts_orders_and_lines_are_remembered(monkeypatch):
    """A file that never says the same twice takes no more room than another."""
    monkeypatch.setattr(plan, "MOST_TEXTS", 5)
    monkeypatch.setattr(plan, "MOST_ORDERS", 3)
    monkeypatch.setattr(plain, "MOST_LINES", 7)
    plan_here, lines = Plan(Load), plain._Lines()
    leaf = next(leaf for leaf in plan_here.order(("power",)).leaves)
    for number in range(40):
        assert leaf.texts.take(f"{number} W") == number
        assert len(leaf.texts.known) <= 5
        assert plan_here.short(f"{number} W") == {"power": f"{number} W"}
        assert len(plan_here.shorts) <= 5
        assert lines[f"a{number}: b"] == (0, f"a{number}", "b", "")
        assert len(lines) <= 7
    for key in list(fields_of(Load))[1:]:
        plan_here.order(("power", key))
        assert len(plan_here.orders) <= 3
    assert lines[f"a: {'b' * 200}"] == (0, "a", "b" * 200, "")
    assert f"a: {'b' * 200}" not in lines


def test_every_kind_of_field_has_a_plan():
    """Else every file would go the careful way, and nobody would notice but by the clock."""
    for part in PARTS.values():
        for key, known in fields_of(part).items():
            assert plan_of(part).field(key).name == known.name


def test_a_field_of_an_unknown_kind_has_none():
    """A new kind of field is not read by guess."""
    with pytest.raises(TypeError, match="no plan for"):
        plan._reader(float, ())
