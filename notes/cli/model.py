"""voidbook model: which speech model listens."""

from __future__ import annotations

from pathlib import Path

import click

from notes import weights
from notes.cli import common, out


@click.group("model")
def command() -> None:
    """Choose the speech model that listens to recordings.

    The one that comes along ('base') is quick and hears most. A larger one hears more and takes longer. Only
    `voidbook model get` uses the network.
    """


@command.command("list")
@common.as_json
def listed(as_json: bool) -> None:
    """List the models, those that are on this machine, and the one in use."""
    used, folder = weights.chosen()
    rows = [{"model": n, "here": n in weights.here(), "used": not folder and n == used} for n in weights.KNOWN]
    if folder:
        rows.append({"model": str(folder), "here": folder.is_dir(), "used": True})
    if as_json:
        out.records(rows)
        return
    for row in rows:
        state = "in use" if row["used"] else "here" if row["here"] else "can be fetched"
        out.line(f"{row['model']:18}  {state}")


@command.command("get")
@click.argument("name")
def get(name: str) -> None:
    """Fetch the model called NAME over the network, once."""
    from notes import transcribe

    out.say(f"fetching {name}; this can take some minutes")
    weights.get(name, transcribe.download)
    out.say(f"{name} is here; next: voidbook model use {name}")


@command.command("use")
@click.argument("name")
def use(name: str) -> None:
    """Listen with the model called NAME from now on."""
    out.say(f"listening with {weights.use(name).name} from now on")


@command.command("path")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
def path(folder: Path) -> None:
    """Listen with the model in the folder DIR from now on (converted for CTranslate2, with its model.bin)."""
    out.say(f"listening with the model in {weights.use_folder(folder).folder} from now on")
