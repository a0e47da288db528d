"""voidbook photos: what shows a pipe before it is covered."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from notes import boards, wording
from notes.boards import Before, Board, Shot
from notes.book import opened
from notes.cli import common, out


@click.command("photos")
@common.in_room
@common.as_json
@common.in_job
def command(room: str | None, as_json: bool, folder: Path | None) -> None:
    """Before the boards go up: which pipes no clear photo shows, then every photo with what is wrong with it.

    A photo goes with a pipe when it is of its room and goes with a memo that spoke of it. Put a wrong one right with:
    voidbook photo move ID ROOM. Memos that tell of more photos ("two pictures of it") than are filed with them are
    named.
    """
    root, job = common.here(folder)
    name = common.room_named(room, job)
    with opened(root) as db:
        before = boards.before(db, job, name)
    if as_json:
        out.records([*map(_board_json, before.boards), *map(asdict, before.missing), *map(_shot_json, before.shots)])
        return
    _show_boards(before)
    _show_shots(before.shots)


def _show_boards(before: Before) -> None:
    out.line(f"{before.bare} of {len(before.boards)} pipe runs have no clear photo that is surely theirs", bold=True)
    for heading, part in before.parts():
        out.line()
        out.line(f"{heading} ({len(part)})", bold=True)
        for board in part:
            run = board.run
            what = " ".join(w for w in (wording.service(run.subject), wording.pipe(run)) if w)
            sign = "+" if board.shown else "!"
            out.paragraph(f"{what} · {run.room or 'no room'}: {board.named}", first=f"  {sign} ", rest="      ")
    if before.missing:
        out.line()
        out.line("Photos told of that are not here", bold=True)
    for one in before.missing:
        out.paragraph(str(one), first="  ! ", rest="      ")


def _show_shots(found: list[Shot]) -> None:
    out.line()
    out.line(wording.count(len(found), "photo") if found else "No photo is on record.", bold=True)
    for shot in found:
        photo = shot.photo
        parts = [photo.room or "room not known", wording.moment(photo.at), photo.memo or "no memo", photo.caption]
        parts += [f"written in it: {shot.seen}"] if shot.seen else []
        parts += [f"nearly the same as {', '.join(shot.twins)}"] if shot.twins else []
        out.paragraph(" · ".join([shot.named, *(p for p in parts if p)]), first="  ", rest="      ")


def _board_json(board: Board) -> dict[str, Any]:
    run = board.run
    return {"run": run.key, "service": run.subject, "room": run.room, "covered": board.covered, "shown": board.shown,
            "photos": [shot.photo.id for shot in board.shots]}  # fmt: skip


def _shot_json(shot: Shot) -> dict[str, Any]:
    photo = shot.photo
    return {"photo": photo.id, "room": photo.room, "memo": photo.memo, "sure": photo.sure, "wrong": shot.wrongs,
            "at": photo.at.isoformat(), "caption": photo.caption, "seen": shot.seen, "twins": shot.twins}  # fmt: skip
