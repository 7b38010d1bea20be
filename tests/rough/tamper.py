"""Files as slips of the hand, broken disks and other programs leave them.

Each way takes a source of chance and the name of an example, and gives what was done and
the files. `one_figure` touches a single figure; the others may do anything.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Callable
from typing import Any, NamedTuple

import yaml

from tests.rough import houses

#: what people and machines put where something else belongs
PIECES = (
    "unknown", "none", "", "no", "yes", "~", "null", "{}", "[]", "[a, b]", "{a: b}", "-3 m",
    "24,5 m", "1e999 A", "1e-9 ohm", "1e6 m", "0 m", "0 A", "0 ohm", "1e9 ohm", "nan ohm",
    "inf A", "63 A", "2.5 mm2", "230 V", "± 3 ohm", "0.35 ohm ± 5 %", "B16", "B1.2.3", "gG",
    "gG 63 A", "D63", "B16 RCBO 30 mA type A", "L1", "L1 L1", "L2", "L1 L2 L3 N PE", "L1 N PE",
    "N", "PEN", "L4", "supply", "inverter", "islanding switch", "main board", "kitchen", "\x00",
    "\u2028", "\ufeff", "é", "שלום", "😀", "%", "0x10", "1_000", "?", "..", "/etc/passwd",
    "2026-13-40", "one phase", "three phases", "split phase", "TN-C-S", "TN-S", "TT", "IT",
    "always", "as line", "single-phase", "9" * 400, "a" * 70,
)  # fmt: skip
#: ways in which one figure is lost
HOWS = ("delete", "blank", "unknown", "spoil")
RAW = (
    b"\x00", b"\xff\xfe", b"\n", b"\t", b": ", b"- ", b"#", b"'", b'"', b"|\n", b"&a ", b"*a",
    b"{", b"}", b"[", b"]", b"!!python/object:os.system ", b"<<: ", b"---\n", b"...",
    b"%YAML 1.1\n", b"\xe2\x80\xa8", b"\r",
)  # fmt: skip


class Tampered(NamedTuple):
    """Files of a job after something happened to them."""

    house: str
    how: str
    files: dict[str, bytes]
    gap: bool  # one figure is gone or unreadable, so nothing may pass that did not


def one_figure(chance: random.Random, house: str) -> Tampered:
    """One figure deleted, blank, unknown, or spoilt so that nobody can read it."""
    file, place = chance.choice(houses.figures(house))
    how = chance.choice(HOWS)
    text = houses.text_at(houses.trees(house)[file], place)
    spoilt = chance.choice([text.split()[0] + " furlong", "x" + text, "nan " + text[-1:], ","])
    return without(house, file, place, how, spoilt)


def without(house: str, file: str, place: houses.Place, how: str, spoilt: str = ",") -> Tampered:
    """The files with one figure gone in one of the `HOWS`."""
    value = {"delete": None, "blank": "", "unknown": "unknown", "spoil": spoilt}[how]
    gap = how != "delete" or houses.is_missed(house, file, place)
    return Tampered(house, f"{how} {'.'.join(place)}", _with(house, file, place, value), gap)


def some_texts(chance: random.Random, house: str) -> Tampered:
    """A few values replaced, by anything or by the value of another place."""
    trees = copy.deepcopy(houses.trees(house))
    told = []
    for _ in range(chance.randint(1, 3)):
        file, place = chance.choice(houses.places(house))
        other_file, other = chance.choice(houses.places(house))
        value = chance.choice(
            [chance.choice(PIECES), houses.text_at(houses.trees(house)[other_file], other)]
        )
        above = houses.text_at(trees[file], place[:-1])
        if isinstance(above, dict):
            above[place[-1]] = value
            told.append(f"{'.'.join(place)} = {value[:40]!r}")
    return Tampered(house, "; ".join(told), _written(trees), gap=False)


def scaled(chance: random.Random, house: str) -> Tampered:
    """One figure or several driven to extremes."""
    trees = copy.deepcopy(houses.trees(house))
    told = []
    for _ in range(chance.randint(1, 4)):
        file, place = chance.choice(houses.figures(house))
        number, blank, unit = houses.text_at(houses.trees(house)[file], place).partition(" ")
        by = chance.choice(["0", "1e-12", "1e-9", "1e-3", "1e3", "1e6", "1e9", "1e12"])
        try:
            value = f"{float(number) * float(by):.9g}{blank}{unit}"
        except ValueError:
            continue
        houses.text_at(trees[file], place[:-1])[place[-1]] = value
        told.append(f"{'.'.join(place)} = {value}")
    return Tampered(house, "; ".join(told), _written(trees), gap=False)


def groups(chance: random.Random, house: str) -> Tampered:
    """A whole group dropped, doubled under a new name, renamed or replaced by a word."""
    trees = copy.deepcopy(houses.trees(house))
    file, place = chance.choice(houses.places(house))
    place = place[: chance.randint(1, len(place))]
    above = houses.text_at(trees[file], place[:-1])
    key, how = place[-1], chance.choice(["drop", "double", "rename", "word", "swap"])
    if how == "drop":
        del above[key]
    elif how == "double":
        above[f"{key} again"] = copy.deepcopy(above[key])
    elif how == "rename":
        above[key[:-1] or "x"] = above.pop(key)
    elif how == "word":
        above[key] = chance.choice(PIECES)
    else:
        other = chance.choice(list(above))
        above[key], above[other] = above[other], above[key]
    return Tampered(house, f"{how} {'.'.join(place)}", _written(trees), gap=False)


def raw_bytes(chance: random.Random, house: str) -> Tampered:
    """Bytes cut out, put in, doubled or changed, wherever they stand."""
    files = dict(houses.texts(house))
    file = chance.choice(list(files))
    text = bytearray(files[file])
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(text) or 1)
        end = at + chance.choice([1, 1, 3, 20, 400])
        how = chance.choice(["cut", "in", "double", "flip", "end"])
        if how == "cut":
            del text[at:end]
        elif how == "in":
            text[at:at] = chance.choice(RAW)
        elif how == "double":
            text[at:at] = text[at:end]
        elif how == "flip" and text:
            text[at % len(text)] ^= 1 << chance.randrange(8)
        elif how == "end" and chance.random() < 0.1:
            del text[at:]
    files[file] = bytes(text)
    return Tampered(house, f"bytes of {file}", files, gap=False)


def _with(house: str, file: str, place: houses.Place, value: str | None) -> dict[str, bytes]:
    """The files with one value changed, or its key gone."""
    trees = copy.deepcopy(houses.trees(house))
    above = houses.text_at(trees[file], place[:-1])
    if value is None:
        del above[place[-1]]
    else:
        above[place[-1]] = value
    return _written(trees)


def _written(trees: dict[str, dict[str, Any]]) -> dict[str, bytes]:
    return {
        file: yaml.dump(
            tree, Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True, width=1000
        ).encode("utf-8", "surrogatepass")
        for file, tree in trees.items()
    }


WAYS: tuple[Callable[[random.Random, str], Tampered], ...] = (
    one_figure, some_texts, scaled, groups, raw_bytes,
)  # fmt: skip


def tampered(seed: int, house: str | None = None) -> Tampered:
    """The files that belong to a seed; the same seed gives the same files."""
    chance = random.Random(seed)  # noqa: S311 - no secret
    names = houses.names()
    return WAYS[seed % len(WAYS)](chance, house or chance.choice(names))
