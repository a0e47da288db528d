"""A document as Markdown, CSV and JSON, where no text of a job can act as markup or as a formula. Pure."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from io import StringIO
from typing import Any

from notes.plain import clean, harmless
from notes.record.gather import moment
from notes.record.page import ABOUT, Block, Cell, Document, Pictures, Table, Words

_MARKUP = re.compile(r"([\\`*_\[\]<>|~&#!$])")
_AT_START = re.compile(r"^(\s*)([-+=>]|\d+(?=[.)]))")
_LINK = re.compile(r"(?i)(?<=\bhttp)(?=s?://)|(?<=\bwww)(?=\.)|(?<=\bftp)(?=://)")


def markdown(document: Document) -> str:
    """The document as Markdown, tables in the way of GitHub."""
    lines = [f"# {_md(document.job)}", "", f"**{_md(document.kind)}**: {_md(document.about)}  "]
    lines += [f"Issued {_md(moment(document.issued))}"]
    for section in document.sections:
        lines += ["", f"{'#' * (section.level + 1)} {_md(section.title)}"]
        for block in section.blocks:
            lines += ["", *_md_block(block)]
    return "\n".join(lines) + "\n"


def _md(text: str) -> str:
    # a zero-width break keeps an address from becoming a link
    escaped = _MARKUP.sub(r"\\\1", clean(text))
    return _LINK.sub("\u200b", _AT_START.sub(lambda m: f"{m[1]}\\{m[2]}" if not m[2][0].isdigit() else m[0], escaped))


def _md_block(block: Block) -> Iterator[str]:
    if isinstance(block, Table):
        yield f"| {' | '.join(map(_md, block.columns))} |"
        yield f"|{' --- |' * len(block.columns)}"
        for row in block.rows:
            yield f"| {' | '.join(map(_md_cell, row))} |"
    elif isinstance(block, Words):
        yield f"> {_md(block.text)}" if block.caution else _md(block.text)
    elif isinstance(block, Pictures):
        for shown in block.shown:
            yield f"* {_md(shown.caption)} ({_md(shown.rests_on)})"
    else:
        yield "(The schematic is in the HTML and PDF records; or: voidbook sketch)"


def _md_cell(cell: Cell) -> str:
    text = f"**{_md(cell.text)}**" if cell.strong and cell.text else _md(cell.text)
    return " ".join([text, *(f"({_md(source)})" for source in cell.rests_on)]).strip()


def table_csv(document: Document) -> str:
    """Every table of the document as one, with a column for each name that any of them has."""
    tables = list(document.tables())
    names = list(dict.fromkeys(name for _, table in tables for name in table.columns))
    out = StringIO(newline="")
    rows = csv.writer(out)
    rows.writerow(["Section", *names, "Rests on"])
    for title, table in tables:
        for row in table.rows:
            told = {name: cell.text for name, cell in zip(table.columns, row, strict=True)}
            rests = dict.fromkeys(source for cell in row for source in cell.rests_on)
            rows.writerow(map(harmless, [title, *(told.get(name, "") for name in names), "; ".join(rests)]))
    return out.getvalue()


def as_json(document: Document) -> str:
    """The document for programs."""
    head: dict[str, Any] = {"job": document.job, "kind": document.kind, "about": document.about}
    head |= {"issued": document.issued.isoformat(), "what_this_is": list(ABOUT)}
    sections = [{"title": s.title, "level": s.level, "blocks": [_json(b) for b in s.blocks]} for s in document.sections]
    return json.dumps(head | {"sections": sections}, ensure_ascii=True, indent=1) + "\n"


def _json(block: Block) -> dict[str, Any]:
    if isinstance(block, Table):
        return {"rows": [{n: _json_cell(c) for n, c in zip(block.columns, row, strict=True)} for row in block.rows]}
    if isinstance(block, Words):
        return {"words": block.text}
    if isinstance(block, Pictures):
        return {
            "photos": [
                {"id": p.id, "sha256": p.media, "caption": p.caption, "rests_on": p.rests_on} for p in block.shown
            ]
        }
    return {"schematic": [piece.title for piece in block.pieces]}


def _json_cell(cell: Cell) -> dict[str, Any]:
    return {"text": cell.text, "rests_on": list(cell.rests_on)}
