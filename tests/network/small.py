"""Small houses whose figures can be worked out by hand, written as job files.

Cores are copper in PVC; hand sums take 20 °C ("cold") from IEC 60228 and the constant
reactance of 0.08 mΩ/m.
"""

from __future__ import annotations

from pathlib import Path
from string import Template

from islewright.job import Job, read_job
from islewright.network.build import build
from islewright.network.parts import Parts
from islewright.network.solve import Network
from islewright.tables.profile import profile

#: IEC 60228 class 2, copper at 20 °C [Ω/m]
OHM_PER_M = {1.5: 12.1e-3, 2.5: 7.41e-3, 6: 3.08e-3, 10: 1.83e-3, 16: 1.15e-3}
REACTANCE_PER_M = 0.08e-3
#: a contact that nobody describes [Ω]
CONTACT = 1e-4

DEVICE = "B16 6 kA class 3"
RCD = "rating: 40 A, trips at: 30 mA, type: A, needs voltage: none"


def core(size_mm2: float, length_m: float) -> complex:
    """Impedance of one copper core at 20 °C [Ω]."""
    return complex(OHM_PER_M[size_mm2], REACTANCE_PER_M) * length_m


JOB = """
job: {name: Small house, date: 2026-05-01, profile: IEC base, equipment file: equipment.yaml}
supply:
  form: $form
  nominal voltage: $volts V
  frequency: 50 Hz
  system earthing: $system
  $split
  measured: {line-neutral loop: 0.4 ohm$earth_loop}
  declared: none
  main fuse: gG 50 A 50 kA
  street: {transformer electrode: 1 ohm, neighbours' load: 4 kW, PEN electrodes: 5 ohm}
earthing:
  in grid mode: local electrode
  in island mode: local electrode
  main earthing terminal: main board
  electrode: {resistance: 20 ohm}
  parallel earths: none
equipment:
  islanding switch: {model: enclosure, at: hall}
  inverter: {model: inverter, at: hall$inverter_at}
  battery: none
  PV array: none
boards:
  main board: {demand factor: 1.0, main switch: none, RCDs: {M1: {$rcd}}}
  island board: {demand factor: 1.0, main switch: none, RCDs: {R1: {$rcd}, R2: {$rcd}}}
same for all cables: {material: copper, insulation: PVC, earth: as line}
cables:
  tails: {from: supply, to: main board, cores: $tails, size: 16 mm2, earth: none, length: 2 m}
  grid side: {from: main board, to: islanding switch/grid, cores: $lines N PE, size: 10 mm2, \
length: 10 m, device: B40 6 kA class 3}
  house side: {from: islanding switch/house, to: island board, cores: $lines N PE, \
size: 10 mm2, length: $house_side m}
  inverter cable: {from: islanding switch/inverter, to: inverter/output, \
cores: $inverter_lines N PE, size: 6 mm2, length: 5 m, device: C32 6 kA class 3}
same for all circuits: {material: copper, insulation: PVC, earth: as line}
circuits:
  heater: {board: island board, behind: R1, lines: L1, cores: L1 N PE, device: $device, \
size: 2.5 mm2, length: 20 m, use: heating, loads: {heater: 2.3 kW}}
  lamps: {board: island board, behind: R2, lines: L1, cores: L1 N PE, device: $device, \
size: 1.5 mm2, length: 12 m, use: lights, loads: {lamps: 230 W}}
  cooker: {board: main board, behind: M1, lines: L1, cores: L1 N PE, device: $device, \
size: 2.5 mm2, length: 8 m, use: fixed appliance, loads: {cooker: 2.3 kW}}
$more"""

EQUIPMENT = """
enclosure:
  kind: islanding switch
  switched poles: $lines N
  neutral-earth bond: {at: house, closed: in island mode, contact resistance: 1 mohm}
  bypass poles: none
inverter:
  kind: inverter
  output: $output
  rated power: 4.6 kVA
  rated power per phase: 4.6 kVA
  fault current: {to earth: 40 A, between lines: 40 A, for: 0.2 s}
  falls to 50 V within: 0.2 s
  on a fault: stays off
  limits: each phase by itself
  filter to earth: none
  output impedance: 0.2 ohm
  neutral-earth bond: none
"""

#: the loop through the earth holds line 0.2, transformer 1 and electrode 20 ohm
ONE_PHASE = {
    "form": "one phase", "volts": "230", "system": "TT", "split": "",
    "earth_loop": ", line-earth loop: 21.2 ohm",
    "lines": "L1", "inverter_lines": "L1", "tails": "L1 N", "house_side": "5",
    "inverter_at": "", "output": "single-phase", "rcd": RCD, "device": DEVICE, "more": "",
}  # fmt: skip
THREE_PHASES = ONE_PHASE | {
    "form": "three phases", "lines": "L1 L2 L3", "inverter_lines": "L1 L2 L3",
    "tails": "L1 L2 L3 N", "output": "three-phase with neutral",
}  # fmt: skip
PEN = {
    "system": "TN-C-S", "split": "PEN splits at: main board",
    "earth_loop": ", line-earth loop: 0.4 ohm",
}  # fmt: skip
ONE_PHASE_PEN = ONE_PHASE | PEN | {"tails": "L1 PEN"}
THREE_PHASES_PEN = THREE_PHASES | PEN | {"tails": "L1 L2 L3 PEN"}


def written(folder: Path, words: dict[str, str], *exchanged: tuple[str, str]) -> Path:
    """Put a house into a folder: a form of it, and what stands otherwise in its two files.

    Raises
    ------
    LookupError : an old part stands in neither file
    """
    missing = {old for old, _ in exchanged}
    for name, form in (("house.yaml", JOB), ("equipment.yaml", EQUIPMENT)):
        text = Template(form).substitute(words)
        for old, new in exchanged:
            if old in text:
                missing.discard(old)
                text = text.replace(old, new)
        (folder / name).write_text(text, encoding="utf-8")
    if missing:
        raise LookupError(sorted(missing))
    return folder / "house.yaml"


def job_of(folder: Path, words: dict[str, str], *exchanged: tuple[str, str]) -> Job:
    """Write a house and read it."""
    return read_job(written(folder, words, *exchanged))


def parts_of(job: Job) -> Parts:
    """Its elements, to which a test may add; nothing is missing from them."""
    parts = build(job, profile("IEC base"))
    assert parts.missing == {}
    return parts


def network_of(folder: Path, words: dict[str, str], *exchanged: tuple[str, str]) -> Network:
    """Write a house, read it, build its network."""
    return Network(parts_of(job_of(folder, words, *exchanged)))
