"""Command line: each command reads a job, asks the study, prints words or JSON.

Belongs here: commands and options, text for a terminal, the JSON form of answers. Does
not belong here: any engineering; a figure on the screen comes from a finding, a sheet or
the job. Libraries that load slowly are imported inside the commands.
"""

from islewright.cli.command import main

__all__ = ["main"]
