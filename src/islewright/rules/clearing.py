"""Which device ends a fault on a distribution cable."""

from __future__ import annotations

from islewright.job.device import Device
from islewright.job.gap import Unknown
from islewright.job.model import Cable, Job
from islewright.network.state import Mode
from islewright.network.way import Guard, beyond, cables_to, device_end, source_end
from islewright.rules.capacity import loaded_conductors
from islewright.rules.registry import Here


def clearing_device(job: Job, name: str) -> Device:
    """The cable's own device where the grid comes in, else the nearest one before it.

    Raises
    ------
    Unknown : a device on the way, or the main fuse, is not stated
    """
    cable = job.cables[name]
    begins = source_end(job, cable, Mode.GRID)
    for other in (cable, *(way for _, way in reversed(cables_to(job, begins, Mode.GRID) or ()))):
        if other.gap("device") is not None:
            raise Unknown(other.question("device"))
        if other.device is not None and (other is not cable or device_end(cable) == begins):
            return other.device
    return job.supply.main_fuse


def loaded_of(job: Job, cable: Cable) -> int:
    """Loaded conductors of a cable, 2 or 3."""
    lines = tuple(core for core in cable.cores if core.startswith("L"))
    return loaded_conductors(job, lines, cable.cores)


def ahead_of(job: Job, here: Here, guards: tuple[Guard, ...]) -> tuple[Guard, ...]:
    """Devices between a place and the source; a cable's own only where it sits at that end.

    Raises
    ------
    Unknown : at which end of the cable its device sits is not stated
    """
    if here.kind != "cable":
        return guards
    away = beyond(job, here.name, here.mode)
    return tuple(guard for guard in guards if guard.branch not in away)
