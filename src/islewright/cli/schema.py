"""`islewright schema`: the form of the files, for editors that help while one types."""

from __future__ import annotations

import json

import click


@click.command()
@click.option("--equipment", is_flag=True, help="That of an equipment file instead.")
def schema(*, equipment: bool) -> None:
    """Print the JSON Schema of a job file."""
    from islewright.job.schema import equipment_schema, job_schema

    click.echo(json.dumps(equipment_schema() if equipment else job_schema(), indent=2))
