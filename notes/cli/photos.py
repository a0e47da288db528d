"""voidbook photos: what shows a pipe before it is covered."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from notes import boards, search, wording
from notes.boards import Board, Shot
from notes.book import opened
from notes.cli import common, out
from notes.lexicon import load as load_lexicon
from notes.runs import join


@click.command("photos")
@common.in_room
@common.as_json
@common.in_job
def command(room: str | None, as_json: bool, folder: Path | None) -> None:
    """Before the boards go up: which pipes no clear photo shows, then every photo with what is wrong with it.

    A photo goes with a pipe when it is of its room and goes with a memo that spoke of it. Put a wrong one right with:
    voidbook photo move ID ROOM
    """
    root, job = common.here(folder)
    name = common.room_named(room, job)
    with opened(root) as db:
        found = boards.shots(db, name)
        runs = join(search.for_runs(db, [name] if name else []), search.times(db), job.rooms)
        missing = boards.missing(db, load_lexicon(job), name)
    wanted = boards.boards([run for run in runs if name is None or run.room == name], found)
    if as_json:
        out.records([*map(_board_json, wanted), *map(asdict, missing), *map(_shot_json, found)])
        return
    _show_boards(wanted)
    for one in missing:
        filed = one.filed or "none"
        out.paragraph(f"memo {one.memo} tells of {one.told} photos, {filed} filed with it", first="  ! ", rest="      ")
    _show_shots(found)


def _show_boards(wanted: list[Board]) -> None:
    bare = [board for board in wanted if not board.shown]
    out.line(f"{len(bare)} of {len(wanted)} pipe runs have no clear photo that is surely theirs", bold=True)
    for board in wanted:
        run = board.run
        what = " ".join(w for w in (wording.service(run.subject), wording.pipe(run)) if w)
        when = "covered" if board.covered else "open to see"
        names = ", ".join(map(_name, board.shots)) or "no photo"
        sign = "+" if board.shown else "!"
        out.paragraph(f"{what} · {run.room or 'no room'} · {when}: {names}", first=f"  {sign} ", rest="      ")


def _name(shot: Shot) -> str:
    doubts = [*shot.wrongs, *([] if shot.photo.sure else ["link not sure"])]
    return f"{shot.photo.id} ({', '.join(doubts)})" if doubts else shot.photo.id


def _show_shots(found: list[Shot]) -> None:
    out.line()
    out.line(f"{len(found)} photos" if found else "No photo is on record.", bold=True)
    for shot in found:
        photo = shot.photo
        parts = [photo.room or "room not known", wording.moment(photo.at), photo.memo or "no memo", photo.caption]
        parts += [f"written in it: {shot.seen}"] if shot.seen else []
        parts += [f"nearly the same as {', '.join(shot.twins)}"] if shot.twins else []
        out.paragraph(" · ".join([_name(shot), *(p for p in parts if p)]), first="  ", rest="      ")


def _board_json(board: Board) -> dict[str, Any]:
    run = board.run
    return {"run": run.key, "service": run.subject, "room": run.room, "covered": board.covered, "shown": board.shown,
            "photos": [shot.photo.id for shot in board.shots]}  # fmt: skip


def _shot_json(shot: Shot) -> dict[str, Any]:
    photo = shot.photo
    return {"photo": photo.id, "room": photo.room, "memo": photo.memo, "sure": photo.sure, "wrong": shot.wrongs,
            "at": photo.at.isoformat(), "caption": photo.caption, "seen": shot.seen, "twins": shot.twins}  # fmt: skip
