"""voidbook shopping: what is to be ordered or collected."""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator
from pathlib import Path

import click

from notes import rows, search, shopping, wording
from notes.cli import common, out
from notes.plain import harmless
from notes.shopping import Item, Wish


@click.command("shopping")
@common.in_room
@click.option("--csv", "as_csv", is_flag=True, help="A table for a spreadsheet, one line a wish.")
@common.as_json
@common.in_job
def command(room: str | None, as_csv: bool, as_json: bool, folder: Path | None) -> None:
    """List what is to be ordered or fetched: first all of it, joined by kind and size, then room by room.

    A wish leaves the list when a memo says that it has come or is not wanted, or when you close it.
    """
    root, job = common.here(folder)
    with search.opened(root) as db:
        found = shopping.wishes(db, common.room_named(room, job))
    if as_csv:
        table = csv.writer(sys.stdout, lineterminator="\n")
        table.writerow(("what", "how many", "room", "for", "due", "in these words", "rests on", "said on", "by"))
        table.writerows(tuple(map(harmless, _row(wish))) for wish in found)
    elif as_json:
        out.records({"room": w.room, "due": w.due, "for": w.assignee, **rows.fact_json(w.fact)} for w in found)
    elif not found:
        out.line("Nothing on record waits to be ordered or fetched.")
    else:
        _show("Together", shopping.joined(found), words=False)
        for name, items in shopping.by_room(found, job).items():
            _show(name or "No room named", items, words=True)


def _row(wish: Wish) -> Iterator[str]:
    fact = wish.fact
    yield from (Item((wish,)).named(), str(fact.count or ""), wish.room or "", wish.assignee or "", wish.due or "")
    yield from (fact.quote, wording.source(fact.memo, fact.second), f"{wish.at:%Y-%m-%d %H:%M}", wish.speaker or "")


def _show(heading: str, items: list[Item], *, words: bool) -> None:
    out.line()
    out.line(heading, bold=True)
    for item in items:
        out.paragraph(f"{item.named()}: {item.amount()}", first="  ", rest="      ")
        for wish in item.wishes if words else ():
            said = f"{wording.moment(wish.at)}, {wording.source(wish.fact.memo, wish.fact.second)}"
            given = "".join(f" · {w}" for w in (_for(wish), f"due {wish.due}" if wish.due else "") if w)
            out.paragraph(f'{said}: "{wish.fact.quote}"{given}', first="      ", rest="        ")


def _for(wish: Wish) -> str:
    return f"for {wish.assignee}" if wish.assignee else ""
