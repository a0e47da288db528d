"""Things that nobody listed: what is ordered, fetched or has not come is a fitting by whatever name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from notes.reading.mentions import Node
from notes.reading.patterns import macro_words
from notes.reading.wordlists import words

_NO_GOODS = words("no-goods") | macro_words("PEOPLE", "COVERERS", "LAGGERS", "STOPPERS")
_OPENS = words("opens-goods")
_ENDS = words("not-in-noun") | words("pronouns") | words("them") | {"of"}
_NEVER = _NO_GOODS | _ENDS | _OPENS
_WANTED = re.compile(
    r"(?:still |now )?(?:wants?|needs?|requires?|will want|will need) "
    r"(?:ordering|collecting|getting|fetching|buying|picking_up|picking up|sending for)\b"
    r"|(?:has|have|is|are|'s) to be (?:got|ordered|bought|collected|fetched|sent for)\b"
    r"|(?:still |now )?(?:has|have|is|are|'s) (?:still |only |all |now )*(?:not )?(?:yet |been )?"
    r"(?:come|arrived|landed|turned_up|turned up|shown up|showed up|delivered)\b"
    r"(?! (?:up|down|in|on|off|out|through|across|from|over|along|into|under|back|to)\b)"
    r"|(?:arrived|turned_up|turned up|showed up|landed|collecting|fetching|ordering)\b"
)
_FETCH = re.compile(
    r"(?:order|orders|fetch|collect|buy|grab|pick_up|pick up|bring)(?: us| me| up)*$"
    r"|(?:short|out|shy) of$|(?:waiting|awaiting|waits)(?: on| for)?$|no (?:sign|word|news) of(?: the| my| our)?$"
)
_CLIPS = macro_words("CLIPS")
_REACH = 6
"""Nodes looked at on each side of a noun."""


def with_goods(row: Sequence[Node]) -> list[Node]:
    """The row with nouns that are ordered, short or awaited as items: 'a new shoe wants ordering', 'fetch a hopper'."""
    out = list(row)
    for i, node in enumerate(row):
        if not _noun(node):
            continue
        start = _opening(row, i)
        if start is None:
            continue
        fetched = _last(row, i) and _FETCH.search(_before(row, start)) and not _out_of_the(row, start)
        if fetched or _WANTED.match(_ahead(row, i + 1)):
            out[i] = replace(node, kind="item", keys=("clips" if node.norm in _CLIPS else "fitting",))
    return out


def _out_of_the(row: Sequence[Node], start: int) -> bool:
    """'gone out of the window', 'not been out of its box': short of nothing."""
    return row[start].norm in ("the", "its", "their") and start > 1 and row[start - 2].norm == "out"


def _noun(node: Node) -> bool:
    return node.kind == "word" and node.norm.isalpha() and len(node.norm) > 2 and node.norm not in _NEVER


def _opening(row: Sequence[Node], i: int) -> int | None:
    """Where the noun phrase that ends in node i begins, if a determiner, an amount or a plural opens it."""
    for j in range(i - 1, max(-1, i - 5), -1):
        if row[j].norm in _OPENS or row[j].qty is not None:
            return _amount(row, j)
        if row[j].norm == "of" and j and row[j - 1].norm in _OPENS:
            return _amount(row, j - 1)
        if row[j].kind not in ("word", "material") or row[j].norm in _NEVER:
            break
    else:
        j = -1
    bare = i - j <= 3 and (j < 0 or row[j].kind == "mark" or bool(_FETCH.search(_before(row, j + 1))))
    return j + 1 if bare and row[i].norm.endswith(("s", "feet")) else None


def _amount(row: Sequence[Node], j: int) -> int:
    """'a box of', 'two dozen', 'some more' belong to what follows."""
    while j > 0 and (row[j - 1].norm in _OPENS or row[j - 1].qty is not None):
        j -= 1
    return j


def _last(row: Sequence[Node], i: int) -> bool:
    """Whether the noun ends its phrase: 'a dirt separator', not 'dirt'."""
    after = row[i + 1] if i + 1 < len(row) else None
    return after is None or after.kind == "mark" or after.norm in _NEVER


def _ahead(row: Sequence[Node], i: int) -> str:
    return " ".join(n.norm for n in row[i : i + _REACH])


def _before(row: Sequence[Node], i: int) -> str:
    return " ".join(n.norm for n in row[max(0, i - 4) : i])
