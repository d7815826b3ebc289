"""Sound inputs made hostile, the same ones for the same seed: scenarios, tables of shots, command lines."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml
from shipped import AS_FOUND

ROOT = Path(__file__).parents[2]
SOUND = sorted([*AS_FOUND, *(ROOT / "flightsim/scenario/new").glob("*.yaml")])
VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 2.5, 1e308, -1e-308, 10**30, "", " ", "x", "yes", "nan", ".inf", "1 m", "-1 m", "0 m",
    "1e9 m", "1e-9 m", "1 mm", "30 m", "3.2 km", "12 ft 3 in", "1/0 in", "1,5 m", "90 deg", "-90 deg", "1e300 deg",
    "0 rpm", "1e6 rpm", "5 m/s", "1e5 m/s", "20 degC", "-300 degC", "0 g", "5 kg", "glass", "cloth", "net", "steel",
    "screen", "canopy", "room", "flat", "gable", "left", "right", "driver", "\u202e", "a\nb", "\ud800", "x" * 5000,
    "9" * 400, "=1+1", "*a", "&a", "!!python/object:os.system", [], [[]], {}, {"": 1}, {"name": [1]}, [None],
    [1, "1 m"],
    ["driver"] * 3, {"kind": "flat"}, {"name": "x", "name ": "x"}, [{}], ["left", "left"], "null", "~", "#", "a: b",
)  # fmt: skip


def spots(data: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The ways to all that data hold, but for the whole."""
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in inner:
        yield (*path, key)
        yield from spots(value, (*path, key))


def value_at(data: Any, path: tuple[Any, ...]) -> Any:
    """What stands there."""
    for key in path:
        data = data[key]
    return data


def hostile_scenario(rng: random.Random) -> str:
    """The text of a scenario with one to four things wrong, or odd, in it."""
    data = yaml.safe_load(rng.choice(SOUND).read_text(encoding="utf-8"))
    for _ in range(rng.randint(1, 4)):
        _spoil(data, rng)
    text = yaml.safe_dump(data, sort_keys=False, allow_unicode=rng.random() < 0.5)
    return _spoilt_text(text, rng) if rng.random() < 0.3 else text


def _spoil(data: Any, rng: random.Random) -> None:
    ways = list(spots(data))
    if not ways:
        return
    path = rng.choice(ways)
    holder, key = value_at(data, path[:-1]), path[-1]
    what = rng.randrange(6)
    if what == 0:
        del holder[key]
    elif what == 1:
        other = rng.choice(ways)
        holder[key] = copy.deepcopy(value_at(data, other))
    elif what == 2 and isinstance(holder, dict):
        holder[rng.choice(("name", "kind", "height", "depth", "colour", "", "shares"))] = holder.pop(key)
    elif what == 3 and isinstance(holder, list):
        holder.append(copy.deepcopy(holder[key]))
    elif what == 4 and isinstance(holder[key], str) and holder[key].partition(" ")[0].replace(".", "").isdigit():
        number, *unit = holder[key].split()
        holder[key] = " ".join([f"{float(number) * rng.choice((-1, 0, 0.01, 0.5, 2, 100)):g}", *unit])
    else:
        holder[key] = copy.deepcopy(rng.choice(VALUES))


def _spoilt_text(text: str, rng: random.Random) -> str:
    lines = text.split("\n")
    k = rng.randrange(len(lines))
    what = rng.randrange(5)
    if what == 0:
        del lines[k]
    elif what == 1:
        lines.insert(k, lines[rng.randrange(len(lines))])
    elif what == 2:
        lines[k] = " " * rng.randint(0, 5) + lines[k]
    elif what == 3:
        lines[k] = lines[k][: rng.randint(0, len(lines[k]))] + rng.choice("\t:{}[]\"'#&*!|>%@`\x00\x07\u2028,-") + "x"
    else:
        lines[k] = lines[k].replace(": ", rng.choice((":", " ", ": |", ": [", ": {", ": *", ": '")))
    return "\n".join(lines)


HEAD = ["no", "club", "ball speed (mph)", "launch angle", "launch direction", "spin rate", "spin axis", "hand"]
CELLS = ["", " ", "0", "-1", "1e999", "nan", "2.840", "2,840", "150 mph", "67 m/s", "3 L", "R 4", "-3 L", "Average",
         "Max",
         "Std. Dev.", "driver", "=1+1", "\u202e", "x" * 500, '"', "'", "deg", "[rpm]", "12°", "1 2", "--", "R", "left",
         "ball speed", "spin", "9" * 50, "\x1b[2J"]  # fmt: skip


def hostile_table(rng: random.Random) -> bytes:
    """The bytes of a table with some things wrong, or odd, in it."""
    rows = [[str(k), rng.choice(("driver", "7 iron")), f"{rng.gauss(140, 15):.1f}", f"{rng.gauss(14, 4):.1f}",
             f"{rng.gauss(0, 4):.1f}", f"{rng.gauss(3500, 900):.0f}", f"{rng.gauss(0, 6):.1f}", rng.choice("RL")]
            for k in range(rng.randint(0, 12))]  # fmt: skip
    table = [list(HEAD), *rows]
    for _ in range(rng.randint(0, 6)):
        row = rng.choice(table)
        what = rng.randrange(5)
        if what == 0 and row:
            del row[rng.randrange(len(row))]
        elif what == 1:
            table.insert(rng.randrange(len(table) + 1), [rng.choice(CELLS) for _ in range(rng.randint(0, 9))])
        elif what == 2:
            row.append(rng.choice(CELLS))
        elif row:
            row[rng.randrange(len(row))] = rng.choice(CELLS)
    sign = rng.choice(",,,;\t|")
    text = rng.choice(("", "", "sep=;\n", "A title\n\n")) + "\n".join(sign.join(row) for row in table)
    raw = text.encode(rng.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252")), "replace")
    if rng.random() < 0.1 and raw:
        k = rng.randrange(len(raw))
        raw = raw[:k] + bytes([rng.randrange(256)]) + raw[k + rng.randint(0, 3) :]
    return raw


WORDS = ["", "0", "-1", "1e999", "nan", "inf", "x", "70m/s", "168mph", "-5 m", "1e300deg", "11deg", "2700rpm", "1e9rpm",
         "20degC", "0.5", "150%", "legal", "foam", "naruo2004", "driver", "lob wedge", "mid", "half", "metric",
         "--json",
         "-h", "--", "\u202e", "a\x00b", "3x4250mm", "0x1m", "6000mm", "1x1x1mm", "9" * 200, "canopy.depth=1.4m",
         "canopy=", "=1", "a.b.c.d=[1", "escape < 1 in 1000", "escape < 0", "../x", "/dev/null",
         "\udcff"]  # fmt: skip
COMMANDS = {
    "fly": ["--ball-speed", "--elevation", "--spin-rate", "--azimuth", "--spin-tilt", "--temperature", "--pressure",
            "--altitude", "--humidity", "--air-density", "--aero", "--ball", "--units"],
    "strike": ["--club-speed", "--club", "--loft", "--attack", "--path", "--face", "--toe", "--up", "--edge-height",
               "--head-mass", "--restitution", "--friction", "--hand", "--tails", "--head"],
    "cut": ["--stock", "--kerf", "--trim"],
    "check": ["--set"],
    "schema": ["--plugin"],
    "plugins": [],
    "measured": ["--set", "--out"],
}  # fmt: skip


def hostile_command(rng: random.Random) -> list[str]:
    """A command line of which some may be sound."""
    command = rng.choice(list(COMMANDS))
    args = [command]
    if command in ("check", "measured"):
        args.append(rng.choice((str(SOUND[0]), "no.yaml", "", "/dev/null", ".")))
    if command == "fly":
        args += ["--ball-speed", "70m/s", "--elevation", "11deg", "--spin-rate", "2500rpm"]
    if command == "strike" and rng.random() < 0.7:
        args += ["--club-speed", "40m/s", "--loft", "12deg"]
    for _ in range(rng.randint(0, 4)):
        option = rng.choice((*COMMANDS[command], *([""] if command == "cut" else ()))) if COMMANDS[command] else ""
        word = rng.choice(WORDS)
        args += (
            [f"{option}={word}"] if option.startswith("--") and rng.random() < 0.5 else [w for w in (option, word) if w]
        )
    return [arg for arg in args if "\x00" not in arg]
