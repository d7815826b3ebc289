"""README and docs say what is so: links, commands, files, output and words."""

from __future__ import annotations

import io
import re
import shlex
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import click
import pytest
import scenario_reference
import yaml
from click.testing import CliRunner
from rich.console import Console

from flightsim.cli import cli
from flightsim.errors import BadInputError
from flightsim.report.words.terminal import print_result
from flightsim.study.run.consequences import with_consequences
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.require import parse_requirements
from flightsim.study.run.run_files import write_data
from flightsim.study.run.walk import DEFAULT_SEED, DEFAULT_SHOTS, run

ROOT = Path(__file__).parents[2]
FILES = {
    str(path.relative_to(ROOT)): path.read_text(encoding="utf-8")
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md")))
}
TUTORIAL, HOW_TO = FILES["docs/tutorial.md"], FILES["docs/how-to.md"]
FLOWN = 120  # shots of a recipe: enough for every shot type from two spots


def blocks(text: str, *languages: str) -> list[str]:
    """The code blocks of these languages."""
    found = re.findall(r"^```(\w+)\n(.*?)^```", text, flags=re.DOTALL | re.MULTILINE)
    return [code for language, code in found if language in languages]


def commands(text: str) -> list[str]:
    """Every `flightsim ...` in the code blocks for a terminal, without what a shell adds."""
    lines = "\n".join(blocks(text, "console", "sh")).replace("\\\n", " ").splitlines()
    found = [re.search(r"(?:^|[ /])(flightsim (?:[a-z]+).*)", line) for line in lines]
    said = r"(?:'[^']*'|\"[^\"]*\"|(?!\s[>#|]|;\s).)*"  # up to what a shell adds outside quotes
    return [re.match(said, match[1])[0].strip() for match in found if match]  # type: ignore[index]


COMMANDS = [(name, command) for name, text in FILES.items() for command in commands(text)]


# Decisions


def test_a_decision_has_a_number_of_its_own_and_its_heading_says_it() -> None:
    numbers = [int(path.name.split("-")[0]) for path in sorted((ROOT / "docs" / "decisions").glob("0*.md"))]
    assert len(set(numbers)) == len(numbers) > 30
    for path in (ROOT / "docs" / "decisions").glob("0*.md"):
        heading = path.read_text(encoding="utf-8").splitlines()[0]
        assert re.match(rf"# (?:Decision )?0*{int(path.name.split('-')[0])}[.:]? ", heading), f"{path.name}: {heading}"


# Links


def headings(text: str) -> set[str]:
    """Anchors of a page's headings, as a browser of Markdown makes them."""
    titles = re.findall(r"^#+ (.+)$", text, flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}


@pytest.mark.parametrize("name", FILES)
def test_every_relative_link_leads_somewhere(name: str) -> None:
    for link in re.findall(r"\]\(([^)\s]+)\)", FILES[name]):
        if re.match(r"[a-z]+:", link):
            continue
        path, _, anchor = link.partition("#")
        target = (ROOT / name).parent / path if path else ROOT / name
        assert target.exists(), f"{name} links to {link}"
        if anchor:
            assert anchor in headings(target.read_text(encoding="utf-8")), f"{name} links to {link}"


# Commands


def test_the_docs_show_every_command() -> None:
    shown = {command.split()[1] for _, command in COMMANDS}
    assert shown == set(cli.list_commands(click.Context(cli)))


@pytest.mark.parametrize(("name", "command"), COMMANDS)
def test_every_command_line_is_one_that_the_program_reads(name: str, command: str) -> None:
    _, verb, *words = shlex.split(command)
    found = cli.get_command(click.Context(cli), verb)
    assert found is not None, f"{name} shows a command that is not there"
    with found.make_context(verb, words) as context:
        parse_requirements(context.params.get("require", ()))


# Scenario files


def merged(base: dict[str, Any], change: dict[str, Any]) -> dict[str, Any]:
    """The base with sections in place of its own; a tee or room keeps what the change does not say."""
    if change.get("swing_room") is None:  # other tees, rooms and baffles are told for what they show, not for Tom
        base = {key: value for key, value in base.items() if key != "swing_room"}
    if "shots" in change or "measured" in change:
        base = {key: value for key, value in base.items() if key != "launches"}
    return base | {
        key: base[key] | value if key in ("tee", "room", "screen") and isinstance(base[key], dict) else value
        for key, value in change.items()
    }


@pytest.fixture(scope="module")
def bay(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The tutorial's bay, made as the tutorial makes it."""
    (words,) = (block for block in blocks(TUTORIAL, "console") if block.startswith("$ flightsim new"))
    asked = [*words.splitlines()[1:], "Is this your bay [Y/n]: y"]
    answers = [
        line.rpartition(": ")[2] for line in asked if re.search(r"(\]|\w|\)): \S", line) and "Sizes carry" not in line
    ]
    path = tmp_path_factory.mktemp("bay") / "cart_shed.yaml"
    done = CliRunner().invoke(cli, ["new", str(path)], input="\n".join(answers) + "\n")
    assert done.exit_code == 0, done.output
    said = done.output.replace(str(path), path.name)
    assert_shown("\n".join(words.splitlines()[1:]), said)
    (plan,) = (block for block in blocks(TUTORIAL, "text") if block.startswith("Plan:"))
    assert plan.rstrip() in said
    (read_back,) = (block for block in blocks(TUTORIAL, "console") if block.startswith("Is this your bay?"))
    assert_shown(read_back, said)
    (added,) = (block for block in blocks(TUTORIAL, "yaml") if block.startswith("swing_room:"))
    path.write_text(f"{path.read_text()}\n{added}")
    return path


def assert_shown(shown: str, said: str) -> None:
    """Each line of a block was said, in this order; `...` stands for lines left out."""
    there = [line.rstrip() for line in said.splitlines()]
    line_number = 0
    for line in shown.splitlines():
        if line.strip() in ("", "...") or line.startswith("$ "):
            continue
        assert line.rstrip() in there[line_number:], f"not said here: {line}"
        line_number = there.index(line.rstrip(), line_number) + 1


def recipes(name: str) -> list[str]:
    """The pieces of scenario files on a page."""
    return [block for block in blocks(FILES[name], "yaml") if yaml.safe_load(block)]


PIECES = [(name, piece) for name in ("docs/how-to.md", "docs/scenario.md") for piece in recipes(name)]


@pytest.mark.parametrize(("name", "piece"), PIECES)
def test_every_piece_of_a_scenario_loads_and_flies(
    name: str, piece: str, bay: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    change = yaml.safe_load(piece)
    for plugin in change.get("plugins", ()):
        install(plugin, tmp_path, monkeypatch)
    if "measured" in change:
        (table,) = blocks(FILES[name], "csv")
        (tmp_path / change["measured"]["file"]).write_text(table)
    path = tmp_path / "bay.yaml"
    path.write_text(yaml.safe_dump(merged(yaml.safe_load(bay.read_text()), change), sort_keys=False))
    opened = open_bay(path)
    # of other tees a middle man's club is told, where the piece does not say who swings
    assert [str(problem) for problem in opened.warnings if problem.key != "swing_room"] == []
    shots = FLOWN if opened.plan.sampled else opened.plan.grid_size
    assert run(opened, shots, seed=1).rates.total["unresolved"].count == 0


def install(plugin: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Install the plugin that docs/hooks.md shows."""
    source = next(code for code in blocks(FILES["docs/hooks.md"], "python") if "flightsim_section" in code)
    (folder / f"{plugin}.py").write_text(source)
    info = folder / f"flightsim_{plugin}-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: flightsim-{plugin}\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text(f"[flightsim]\n{plugin} = {plugin}\n")
    monkeypatch.syspath_prepend(str(folder))


@pytest.mark.parametrize(
    "change", re.findall(r"--set (\"[^\"]+\"|'[^']+'|[^\s`]+)", HOW_TO + FILES["docs/scenario.md"])
)
def test_every_change_that_is_shown_can_be_made(change: str, bay: Path, tmp_path: Path) -> None:
    text = yaml.safe_load(bay.read_text())
    text["canopy"]["front_lip"] = "50 mm"
    if ".board." in change:
        text["canopy"]["name"] = "board"
    path = tmp_path / "bay.yaml"
    path.write_text(yaml.safe_dump(text))
    open_bay(path, [change.strip("\"'")])


def test_the_reference_is_what_the_models_say() -> None:
    _, mark, tables = FILES["docs/scenario.md"].partition(scenario_reference.MARK)
    assert mark, "the mark is gone from docs/scenario.md"
    assert tables.strip() == scenario_reference.text().strip(), "run: python tests/support/scenario_reference.py"


def test_every_key_of_a_scenario_says_what_it_means() -> None:
    bare = [f"{group.path} {key}" for group in scenario_reference.Reference().groups()
            for key, _, meaning in group.rows if not meaning]  # fmt: skip
    assert bare == []


# What the tutorial shows


def printed(bay: Path, quick: bool) -> str:
    """What the tutorial's run prints on a terminal of 100 columns."""
    opened = open_bay(bay)
    result = with_consequences(opened, run(opened, DEFAULT_SHOTS, DEFAULT_SEED), quick)
    said = io.StringIO()
    print_result(result, (), Console(file=said, width=100, highlight=False))
    return said.getvalue()


CONSEQUENCES = ("What goes wrong", "What if one fails")  # what --quick leaves out


def test_the_tutorial_shows_what_its_quick_run_prints(bay: Path) -> None:
    shown = [block for block in blocks(TUTORIAL, "text") if not block.startswith(("Plan:", *CONSEQUENCES))]
    assert len(shown) == 4
    said = printed(bay, quick=True)
    for block in shown:
        assert_shown(block, said)


@pytest.mark.usefixtures("no_pictures")
def test_the_tutorial_shows_the_short_answer_of_its_run(
    bay: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    block = next(block for block in blocks(TUTORIAL, "console") if block.startswith("$ flightsim run"))
    command, _, answer = block.partition("\n")
    (tmp_path / bay.name).write_text(bay.read_text())
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    done = CliRunner().invoke(cli, shlex.split(command)[2:])
    assert done.exit_code == 0, done.output
    assert_shown(answer, done.output)


@pytest.mark.slow
def test_the_tutorial_shows_what_its_run_prints_of_what_would_help_and_what_if_one_fails(bay: Path) -> None:
    shown = [block for block in blocks(TUTORIAL, "text") if block.startswith(CONSEQUENCES)]
    assert len(shown) == len(CONSEQUENCES)
    said = printed(bay, quick=False)
    for block in shown:
        assert_shown(block, said)


@pytest.mark.usefixtures("no_pictures")
@pytest.mark.parametrize(
    "verb", ["compare", pytest.param("size", marks=pytest.mark.slow), pytest.param("map", marks=pytest.mark.slow)]
)
def test_the_tutorial_shows_what_its_other_commands_print(
    verb: str, bay: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (block,) = (block for block in blocks(TUTORIAL, "console") if block.startswith(f"$ flightsim {verb}"))
    (command,) = commands(f"```console\n{block}```")
    (tmp_path / bay.name).write_text(bay.read_text())
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    done = CliRunner().invoke(cli, shlex.split(command)[1:])
    assert done.exit_code == 0, done.output
    assert_shown(block.replace("\\\n", " "), done.output)


def test_the_tutorial_shows_what_check_says(bay: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(bay.parent)
    wrong, right = (block for block in blocks(TUTORIAL, "console") if block.startswith("$ flightsim check"))
    assert_shown(right, CliRunner().invoke(cli, ["check", bay.name]).output)
    text = bay.read_text()
    bay.write_text(text.replace("depth: 1.2 m", "depht: 1.2"))
    with pytest.raises(BadInputError) as raised:
        open_bay(bay.name)
    bay.write_text(text)
    assert str(raised.value) == wrong.partition("\n")[2].rstrip()


@pytest.mark.parametrize("code", blocks(HOW_TO, "python"))
def test_the_python_of_the_recipes_runs(code: str, bay: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result = run(open_bay(bay), 500, seed=1)
    for name in set(re.findall(r"results/(\w+)/", code)) | {"naruo", "ferguson"}:
        (tmp_path / "results" / name).mkdir(parents=True)
        write_data(result, (), tmp_path / "results" / name)
    monkeypatch.chdir(tmp_path)
    said = io.StringIO()
    with redirect_stdout(said):
        exec(compile(code, "how-to", "exec"), {})
    assert len(said.getvalue().splitlines()) >= 2


# Words

SAFE = r"\b(safe|safely|safer|harmless)\b"
# These speak of the word itself, or deny it.
NO_CLAIM = (r'"safe"', r"not safe limits", r"(?:\bno text calls a bay|[Nn]ever call a ball) safe\b")
# `held` is the name of one outcome; these are other things that stay where they are.
CAUGHT = r"\b(caught|(?:is|are|was|were|be|been) held)\b"
NOT_CAUGHT = r"\bheld (?:at|above|below|against|out|fixed|fast)\b|\bnever called held\b|ended slow or was held\b"
COINED = r"smash.factor|spin.loft|face.to.path|friction.launch"
MACHINE = (
    r"(?<![\w.])/(?:tmp|work|home|root|usr|opt|var|Users)\b|[A-Z]:\\|pypi\.org|pythonhosted|localhost|127\.0\.0\.1"
)


@pytest.mark.parametrize("name", FILES)
def test_no_page_says_that_a_bay_protects(name: str) -> None:
    text = " ".join(FILES[name].split())
    for words in NO_CLAIM:
        text = re.sub(words, "", text)
    assert re.findall(SAFE, text, flags=re.IGNORECASE) == []
    assert re.findall(CAUGHT, re.sub(NOT_CAUGHT, "", text), flags=re.IGNORECASE) == []


@pytest.mark.parametrize("name", FILES)
def test_no_page_uses_coined_names_or_names_a_machine_or_registry(name: str) -> None:
    assert re.findall(COINED, FILES[name], flags=re.IGNORECASE) == []
    assert re.findall(MACHINE, FILES[name]) == []


@pytest.mark.parametrize("name", ["README.md", "docs/tutorial.md"])
def test_who_reads_how_to_begin_reads_the_caution(name: str) -> None:
    text = " ".join(FILES[name].replace("\n>", "\n").split())
    for words in (
        "Golf balls blind and kill.",
        "do not certify it",
        "building, electrical and fire codes",
        "a licensed professional",
        "Never stand in front of a ball",
        "keep people clear of the swing",
    ):
        assert words in text
