"""Command line: each command reads a job, asks the study, prints words or JSON.

Belongs here: commands and options, text for a terminal, the JSON form of answers. Does
not belong here: any engineering; a figure on the screen comes from a finding, a sheet or
the job. Libraries that load slowly are imported inside the commands.
"""

import gc

_collecting = gc.isenabled()
gc.disable()  # what is loaded here stays; a search through it finds nothing
try:
    from islewright.cli.command import main
finally:
    if _collecting:
        gc.enable()

__all__ = ["main"]
