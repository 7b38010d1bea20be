"""Papers: a study becomes a typeset job pack.

Belongs here: what stands on which page, in which words, and the page templates. Does not
belong here: any engineering. A figure on a page comes from a finding, a sheet or the job.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from islewright.papers.pack import write_pack, write_survey

__all__ = ["write_pack", "write_survey"]


def __getattr__(name: str) -> Any:
    """Load the typesetter only where a pack is written: single papers are read without it."""
    if name in __all__:
        from islewright.papers import pack

        return getattr(pack, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
