"""`flightsim schema`: the JSON Schema of a scenario file."""

from __future__ import annotations

import json

import click


@click.command()
@click.option("--plugin", "plugins", multiple=True, metavar="NAME", help="With this plugin's section. Repeatable.")
def schema(plugins: tuple[str, ...]) -> None:
    """Print the JSON Schema of a scenario file, so that an editor completes keys and marks mistakes.

    Save it, and begin a scenario with the line `# yaml-language-server: $schema=FILE`, or name it in the editor's
    settings.
    """
    from flightsim.plugin.manager import load_plugins
    from flightsim.scenario.reading.json_schema import schema as json_schema
    from flightsim.study.run.open_bay import all_sections, core_choices

    found = json_schema(all_sections(load_plugins(plugins)), core_choices())
    click.echo(json.dumps(found, indent=2, ensure_ascii=False))
