"""Checks over several fields of a job that was read.

Each check yields problems at their places. What a *profile* judges is no check: the file
says what is there, and a rule finds it right or wrong. A gap is no problem either.
"""

from __future__ import annotations

from collections.abc import Container, Iterable

from islewright.job import conductors, entered, fed, references
from islewright.job.checked import Checked
from islewright.job.device import Device
from islewright.job.model import Job
from islewright.job.part import Part, parts_in
from islewright.job.problem import Problem
from islewright.job.refusal import Loc, Places

_CHECKS = (
    references.names_are_unique,
    references.cables_end_somewhere,
    references.circuits_have_a_board,
    references.cables_are_behind_an_rcd_that_is_there,
    references.arresters_are_behind_an_rcd_that_is_there,
    references.other_places_are_there,
    references.pv_feeds_in_at_a_board,
    references.the_generator_feeds_a_board,
    references.equipment_stands_at_a_place_that_is_there,
    references.equipment_is_described,
    references.the_rule_set_is_there,
    entered.ends_name_what_the_sheet_has,
    entered.dc_cables_come_from_what_is_there,
    conductors.equipment_fits_the_supply,
    conductors.lines_are_those_of_the_supply,
    conductors.a_pen_ends_where_it_splits,
    conductors.live_conductors_close_no_ring,
    conductors.the_voltage_is_that_of_a_house,
    fed.every_board_is_fed,
    fed.circuits_are_on_lines_that_reach_their_board,
    fed.the_inverters_cable_has_its_lines,
)


def check(
    job: Job,
    places: Places,
    *,
    whole: bool = True,
    unread: Container[str] = (),
    refused: bool = False,
) -> list[Problem]:
    """Run every check.

    Parameters
    ----------
    job : the job, perhaps without the parts that could not be read
    places : positions of its file
    whole : whether all its parts could be read; some checks make no sense without
    unread : models of equipment that could not be read; nothing is said about these
    refused : whether problems were found already, so that a name may be a stand-in

    Returns
    -------
    problems, in no particular order
    """
    checked = Checked(job, places, whole=whole, unread=unread, refused=refused)
    found = [problem for each in _CHECKS for problem in each(checked)]
    for path, part in _parts_of(job):
        if conductors.is_listed(part):
            continue
        if conductors.has_sizes(part):
            found += conductors.listed_sizes(checked, path, part)
        if isinstance(part, Device):
            found += conductors.listed_ratings(checked, path, part)
    return found


def agrees(checked: Checked, parts: Iterable[Part]) -> bool:
    """Whether no check has anything to say of a job and of these, its parts.

    Parameters
    ----------
    parts : the job's own, however deep
    """
    told = any(True for each in _CHECKS for _ in each(checked))
    return not told and all(map(conductors.is_listed, parts))


def _parts_of(job: Job) -> list[tuple[Loc, Part]]:
    """Every part of a job, itself first, each with its path of keys."""
    listed: list[tuple[Loc, Part]] = [((), job)]
    for loc, part in listed:  # grows while it is gone through
        listed += [((*loc, *below), held) for below, held in parts_in(part)]
    return listed
