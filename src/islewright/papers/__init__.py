"""Papers: a study becomes a typeset job pack.

Belongs here: what stands on which page, in which words, and the page templates. Does not
belong here: any engineering. A figure on a page comes from a finding, a sheet or the job.
"""

from islewright.papers.pack import write_pack

__all__ = ["write_pack"]
