"""`flightsim schema`: the JSON Schema of a scenario file."""

from __future__ import annotations

import click

from flightsim.cli.options import json_answer


@click.command()
@click.option("--plugin", "plugins", multiple=True, metavar="NAME", help="With this plugin's section. Repeatable.")
@json_answer
def schema(plugins: tuple[str, ...], as_json: bool) -> None:
    """Print the JSON Schema of a scenario file, so that an editor completes keys and marks mistakes.

    Save it, and begin a scenario with the line `# yaml-language-server: $schema=FILE`, or name it in the editor's
    settings.
    """
    from flightsim.jobs.print_json import print_json
    from flightsim.plugin.manager import load_plugins
    from flightsim.scenario.reading.json_schema import schema as json_schema
    from flightsim.study.run.open_bay import all_sections, core_choices

    loaded = load_plugins(plugins)
    found = json_schema(all_sections(loaded), core_choices(loaded))
    print_json(found)  # with or without --json
