"""A document as one HTML file: pictures inside it, no script, no request to anywhere. Pure, but for `picture`."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Iterator
from html import escape

from notes.plain import clean
from notes.record.gather import moment
from notes.record.page import Block, Cell, Document, Picture, Pictures, Section, Sketch, Table, Words
from notes.sketching.svg import svg

_STYLE = """
:root { color: #111; background: #fff; font: 15px/1.45 "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif; }
body { max-width: 62rem; margin: 0 auto; padding: 1.5rem; }
header { border-bottom: 3px solid #111; margin-bottom: 1rem; padding-bottom: .6rem; }
header p { margin: .1rem 0; }
h1 { font-size: 1.7rem; margin: 0 0 .3rem; }
h2 { font-size: 1.25rem; margin: 2rem 0 .5rem; border-bottom: 1px solid #111; }
h3 { font-size: 1.05rem; margin: 1.2rem 0 .3rem; }
nav ol { columns: 2; font-size: .9rem; }
nav a { color: #111; }
table { border-collapse: collapse; width: 100%; margin: .5rem 0 1rem; font-size: .86rem; table-layout: fixed; }
th, td { border: 1px solid #777; padding: .25rem .4rem; text-align: left; vertical-align: top; }
td { overflow-wrap: anywhere; }
th { background: #e6e6e6; }
small { display: block; color: #444; font-size: .74rem; line-height: 1.25; }
.caution { border: 1px solid #111; border-left-width: 6px; padding: .4rem .7rem; margin: .4rem 0; }
.photos { display: flex; flex-wrap: wrap; gap: .8rem; }
figure { margin: 0; width: 13.5rem; break-inside: avoid; }
figure img { max-width: 100%; border: 1px solid #777; }
figcaption { font-size: .78rem; overflow-wrap: anywhere; }
svg { width: 100%; height: auto; break-inside: avoid; }
@page { size: A4; margin: 16mm 14mm 18mm; @bottom-right { content: "page " counter(page) " of " counter(pages); } }
@media print {
  :root { font-size: 11px; } body { padding: 0; max-width: none; } nav { display: none; }
  thead { display: table-header-group; } tr { break-inside: avoid; } h2, h3 { break-after: avoid; }
}
"""
_RULES = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""What a browser may load: nothing but what stands in the file."""


def html(document: Document, picture: Callable[[str], bytes | None]) -> str:
    """The page. `picture` gives the small JPEG of a photo by its SHA-256, or None."""
    title = f"{document.job} · {document.kind} · {document.about}"
    body = "\n".join(_section(n, s, picture) for n, s in enumerate(document.sections))
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_RULES}">\n'
        f'<meta name="viewport" content="width=device-width">\n<meta name="referrer" content="no-referrer">\n'
        f"<title>{_text(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f"<header><h1>{_text(document.job)}</h1>\n"
        f"<p><strong>{_text(document.kind)}</strong>: {_text(document.about)}</p>\n"
        f"<p>Issued {_text(moment(document.issued))}</p></header>\n{_contents(document)}\n{body}\n</body>\n</html>\n"
    )


def _text(words: str) -> str:
    return escape(clean(words), quote=True)


def _contents(document: Document) -> str:
    tops = [(n, s.title) for n, s in enumerate(document.sections) if s.level == 1]
    lines = "".join(f'<li><a href="#s{n}">{_text(title)}</a></li>' for n, title in tops)
    return f"<nav><ol>{lines}</ol></nav>" if len(tops) > 4 else ""


def _section(number: int, section: Section, picture: Callable[[str], bytes | None]) -> str:
    heading = f"h{section.level + 1}"
    blocks = "\n".join(_block(block, picture) for block in section.blocks)
    return f'<{heading} id="s{number}">{_text(section.title)}</{heading}>\n{blocks}'


def _block(block: Block, picture: Callable[[str], bytes | None]) -> str:
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Words):
        kind = ' class="caution"' if block.caution else ""
        return f"<p{kind}>{_text(block.text)}</p>"
    if isinstance(block, Sketch):
        return "\n".join(svg(piece) for piece in block.pieces)
    return _pictures(block, picture)


def _table(table: Table) -> str:
    columns = "".join(f'<col style="width: {width:g}%">' for width in table.widths)
    head = "".join(f"<th>{_text(name)}</th>" for name in table.columns)
    rows = "\n".join(f"<tr>{''.join(map(_cell, row))}</tr>" for row in table.rows)
    return f"<table><colgroup>{columns}</colgroup><thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody></table>"


def _cell(cell: Cell) -> str:
    text = f"<strong>{_text(cell.text)}</strong>" if cell.strong else _text(cell.text)
    return f"<td>{text}{''.join(f'<small>{_text(source)}</small>' for source in cell.rests_on)}</td>"


def _pictures(block: Pictures, picture: Callable[[str], bytes | None]) -> str:
    return f'<div class="photos">\n{"".join(_figures(block, picture))}</div>'


def _figures(block: Pictures, picture: Callable[[str], bytes | None]) -> Iterator[str]:
    for shown in block.shown:
        yield f"<figure>{_image(shown, picture)}<figcaption>{_text(shown.caption)}"
        yield f"<small>{_text(shown.rests_on)}</small></figcaption></figure>\n"


def _image(shown: Picture, picture: Callable[[str], bytes | None]) -> str:
    jpeg = picture(shown.media) if shown.media else None
    if jpeg is None:
        return "<p>(no picture)</p>"
    return f'<img alt="photo {_text(shown.id)}" src="data:image/jpeg;base64,{b64encode(jpeg).decode("ascii")}">'
