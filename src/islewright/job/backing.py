"""What a maker states of a device together with the fuse before it."""

from islewright.job.kinds import Current, Name
from islewright.job.part import Part, fact

MAKER = "the maker"


class Backing(Part):
    """A device and an upstream gG fuse that break together more than the device alone."""

    fuse_a: Current = fact(
        "fuse at most",
        "Which gG fuse may stand before it at most?",
        "the maker's table",
        whom=MAKER,
    )
    breaks_a: Current = fact(
        "breaks",
        "Which short-circuit current do they break together?",
        "the maker's table",
        whom=MAKER,
    )
    stated_in: Name = fact("stated in", "Where does the maker state that?", whom=MAKER, default="")
