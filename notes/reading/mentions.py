"""What is mentioned where: tokens, terms, rooms, numbers and phrases as spans. The only importer of spaCy.

A memo becomes a row of `Node`s: a service, item, material, room or quantity is one node whatever its number of
words; every other word and mark is a node of its own. Character offsets always point into the memo's text.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from notes.lexicon import Lexicon, Term, data_rows
from notes.model import Room
from notes.reading.numbers import Quantity, quantities
from notes.reading.room_names import called, called_by_number, first_words, heads, last_words, squash
from notes.reading.wordlists import pattern
from notes.reading.wordlists import words as word_list

if TYPE_CHECKING:
    from spacy.matcher import PhraseMatcher
    from spacy.tokenizer import Tokenizer  # type: ignore[import-not-found]
    from spacy.tokens import Doc

DAYS = frozenset(("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"))
_NORMS = {
    "'ve": "have", "n't": "not", "n’t": "not", "'re": "are", "'ll": "will", "'m": "am", "ca": "can", "wo": "will",
    "’ve": "have", "’s": "'s", "’re": "are", "’ll": "will", "’m": "am", "’d": "'d", "sha": "shall", "ai": "is",
    "they'm": "they are", "we'm": "we are", "you'm": "you are", "gon": "going", "na": "to", "got": "got", "ta": "to",
}  # fmt: skip
_SHORT = {"nt": "not", "s": "'s", "re": "are", "ve": "have", "ll": "will", "m": "am", "d": "'d", "na": "to"}
"""What the tokenizer parts from a word written without its apostrophe: 'isnt', 'thats', 'theyre'; and from 'gonna'."""
JUST_DONE = "after_doing"
"""What 'after' is in 'I'm after running it'."""
_MARKS = frozenset('.?!;:,-–—()"“”…')


@dataclass(frozen=True, slots=True)
class Token:
    """A word as written and as read: `norm` is lower case, dialect spellings evened out."""

    norm: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Node:
    """A mention or a plain word at characters `start:end`.

    `kind` is word, mark, service, pair, half, item, material, room, head (a room's bare noun) or qty.
    `keys` are the services, item, material or rooms meant; `norm` the words, joined by underscores in mentions.
    """

    kind: str
    norm: str
    start: int
    end: int
    keys: tuple[str, ...] = ()
    qty: Quantity | None = None
    sure: float = 1.0

    @property
    def tag(self) -> str:
        """What patterns call it."""
        if self.qty is not None:
            return f"Q-{self.qty.unit or 'num'}"
        return _TAGS.get(self.kind, "W")


PIPE_KINDS = frozenset(("service", "pair", "half"))
"""Kinds of node that name a pipe."""
NAME_KINDS = PIPE_KINDS | {"item"}
"""Kinds of node that name a pipe or a thing."""
_TAGS = {
    "pair": "SVC", "half": "SVC", "service": "SVC", "item": "ITEM", "material": "MAT", "room": "ROOM", "head": "ROOM",
}  # fmt: skip


def begins(row: Sequence[Node], i: int, phrase: Sequence[str]) -> bool:
    """Whether the words of a phrase stand from node i on."""
    return [n.norm for n in row[i : i + len(phrase)]] == list(phrase)


@lru_cache(maxsize=1)
def _tokenizer() -> Tokenizer:
    """spaCy's for English, with a few joints more. A whole pipeline would read its table of exceptions eight times."""
    from spacy.lang.en import English
    from spacy.tokenizer import Tokenizer
    from spacy.util import compile_infix_regex, compile_prefix_regex, compile_suffix_regex
    from spacy.vocab import Vocab

    usual = English.Defaults
    infixes = [*(usual.infixes or []), r"(?<=\w)-(?=\w)", r"(?<=[a-z])/(?=[a-z])"]
    # 'the cold'll want lagging'
    suffixes = [*(usual.suffixes or []), r"(?<=[a-z])['’]ll"]
    return Tokenizer(
        Vocab(), usual.tokenizer_exceptions, compile_prefix_regex(usual.prefixes or []).search,
        compile_suffix_regex(suffixes).search, compile_infix_regex(infixes).finditer, url_match=usual.url_match,
    )  # fmt: skip


@lru_cache(maxsize=1)
def dialect() -> dict[str, str]:
    """Dialect spellings -> the usual one."""
    return {r["heard"]: r["norm"] for r in data_rows("dialect.csv")}


_LETTER = re.compile(r"[a-z]\.")
_ENDLESS = re.compile(r"\S{200,}")
"""No word is so long. The tokenizer peels marks off one by one, each time looking through all of the rest."""


def tokens(text: str) -> list[Token]:
    """The words and marks of `text`; hyphens inside words are dropped, so 'push-fit' is two words."""
    out: list[Token] = []
    table = dialect()
    for tok in _tokenizer()(_ENDLESS.sub(lambda run: "x" * len(run[0]), text)):
        raw = tok.text.lower().replace("’", "'")
        if not raw.strip() or (raw == "-" and not tok.whitespace_ and out and out[-1].end == tok.idx):
            continue
        start, end = tok.idx, tok.idx + len(tok.text)
        if len(raw) > 3 and raw.startswith(("t'", "th'")) and raw[raw.index("'") + 1 :].isalpha() and raw not in table:
            # 't'back wall': the article is a word of its own
            cut = raw.index("'") + 1
            out.append(Token("the", start, start + cut))
            raw, start = raw[cut:], start + cut
        if _LETTER.fullmatch(raw):
            # 'Where was I.', 'the kitchen in flat B.': no initial
            out += [Token(_NORMS.get(raw[0], raw[0]), start, end - 1), Token(".", end - 1, end)]
            continue
        # 'na' alone is a northern 'not', and '3m' three metres
        glued = raw in _SHORT and bool(out) and out[-1].end == start and text[start - 1].isalpha()
        norm = (_SHORT[raw] if glued else table.get(raw) or _NORMS.get(raw) or raw).split()
        pieces = re.findall(r"\d+(?:[.,/]\d+)*|[^\d\s]+", norm[0]) if len(norm) == 1 and raw[0].isdigit() else norm
        out += [Token(piece, start, end) for piece in pieces]
    return _even_out(_rejoin(out, text))


def _rejoin(toks: list[Token], text: str) -> list[Token]:
    """A dropped h that the tokenizer took for a quotation mark: ' + ead is 'ead, head."""
    out: list[Token] = []
    for t in toks:
        if t.norm in ("'", "’") and out and out[-1].end == t.start:
            last = out[-1]
            ing = last.norm + "g" if last.norm.endswith("in") and len(last.norm) > 4 else last.norm
            out[-1] = Token(dialect().get(last.norm + "'", ing), last.start, last.end)
            continue
        raw = "'" + text[t.start : t.end].lower()
        if out and out[-1].norm in ("'", "’", "‘") and out[-1].end == t.start and (norm := dialect().get(raw)):
            out[-1] = Token(norm, out[-1].start, t.end)
        else:
            out.append(t)
    return out


_SCOTS_VERBS = {"gang": "go", "ken": "know"}
_HAVES = frozenset(("not", "have", "has", "had", "'s", "'ve"))
_BEFORE_VERB = frozenset(("to", "i", "you", "we", "they", "us", "will", "can", "must", "not"))
_COUNTS = frozenset(("two", "three", "four", "pipes", "ones"))
_NOT_OWNED = word_list("not-owned")
_OPENED = frozenset(("", ".", ",", "and", "but", "so", "then"))
_PIT_HAS = frozenset(("the", "a", "an", "this", "that", "my", "our"))
_PITS = frozenset("i we he she they you have has had 's 'd to and then will not just been got".split())
_PIT_ON = frozenset("a an the it them that those this these my some one two three four five six in on back".split())
_HOUR_AFTER = frozenset(("an", "one", "half", "a", "quarter"))


def _even_out(toks: list[Token]) -> list[Token]:
    """Words that are other words beside others: a Black Country 'ay', an Irish 'after running', 'its not in'."""
    out: list[Token] = []
    for n, t in enumerate(toks):
        before, after = (toks[n - 1].norm if n else ""), (toks[n + 1].norm if n + 1 < len(toks) else "")
        norm = t.norm
        if norm in ("ay", "ayn't", "ent") and after not in ("up", ",", ""):
            norm = "not"
        elif norm == "bin" and before in _HAVES:
            norm = "been"
        elif norm == "after" and after.endswith("ing") and before in ("am", "is", "are", "'s", "was", "were"):
            norm = JUST_DONE
        elif norm in _SCOTS_VERBS and before in _BEFORE_VERB:
            # 'it's to gang in the soil', but the screed gang; 'let us ken', but Ken
            norm = _SCOTS_VERBS[norm]
        elif norm == "they" and after in _COUNTS:
            # 'over they two' in the West Country
            norm = "those"
        elif norm == "its" and after in _NOT_OWNED:
            # 'its not in yet', 'its been capped', typed in a hurry
            out.append(Token("it", t.start, t.end))
            norm = "'s"
        elif norm in ("ill", "were") and before in _OPENED and (norm == "ill" or after.endswith("ing")):
            # 'ill cap it tomorrow', 'were running the hot', typed in a hurry; but he is ill, and they were in
            out.append(Token("i" if norm == "ill" else "we", t.start, t.end))
            norm = "will" if norm == "ill" else "are"
        elif norm == "pit" and before not in _PIT_HAS and (after in _PIT_ON or before in _PITS) and after != "room":
            # a northern 'put': 'I pit a cap on it'; but 'down the pit', 'boiler pit'
            norm = "put"
        elif norm == "our" and before in _HOUR_AFTER:
            # 'an oor' in Scots
            norm = "hour"
        out.append(t if norm == t.norm else Token(norm, t.start, t.end))
    return out


def _doc(words: Sequence[str], tags: Sequence[str] | None = None) -> Doc:
    from spacy.tokens import Doc

    return Doc(_tokenizer().vocab, words=list(words) or [" "], tags=list(tags) if tags else None)


@lru_cache(maxsize=4096)
def _term_words(words: str) -> tuple[str, ...]:
    """The words of a term; kept, since most terms are every job's."""
    return tuple(t.norm for t in tokens(words))


Named = tuple[str, str, str]
"""Kind, key, words."""
Finder = tuple["PhraseMatcher", dict[str, tuple[str, str]]]
"""What finds names, and their kinds and keys by label."""


@lru_cache(maxsize=64)
def _finders(lexicon: Lexicon) -> tuple[Finder, Finder]:
    """The trade's terms, which are every job's, and the job's rooms."""
    return _trade(lexicon.terms), _finder(_room_names(lexicon.rooms))


@lru_cache(maxsize=2)
def _trade(terms: Sequence[Term]) -> Finder:
    return _finder([(t.kind, t.key, t.words) for t in terms])


def _finder(named: Iterable[Named]) -> Finder:
    from spacy.matcher import PhraseMatcher

    matcher = PhraseMatcher(_tokenizer().vocab, attr="ORTH")
    labels: dict[str, tuple[str, str]] = {}
    for kind, key, words in named:
        label = f"{kind}|{key}"
        labels[label] = (kind, key)
        matcher.add(label, [_doc(_term_words(words))])
    return matcher, labels


def _room_names(rooms: Sequence[Room]) -> list[Named]:
    """All ways to name rooms, and bare nouns of rooms; a bare noun that names a room is the room."""
    names = called(rooms)
    taken = {squash(name) for _, name in names}
    return [("head", head, head) for head in heads(rooms) if head not in taken] + [("room", *name) for name in names]


def nodes(text: str, lexicon: Lexicon) -> list[Node]:
    """The nodes of `text`, in order, none overlapping."""
    toks = tokens(text)
    words = [t.norm for t in toks]
    found: list[tuple[int, int, int, str, str, Quantity | None]] = []
    doc = _doc(words)
    for matcher, labels in _finders(lexicon):
        for match, start, end in matcher(doc):
            kind, key = labels[_tokenizer().vocab.strings[match]]
            if kind != "room" or end - start > 1 or called_by_number(words, start):
                found.append((start, end, _RANK[kind], kind, key, None))
    found += [(q.start, q.end, 3, "qty", "", q) for q in quantities(words)]
    # 'the hall kitchen' is the hall kitchen, not the hall
    found.sort(key=lambda f: (f[0] - f[1] + (words[f[0]] in _ARTICLES) / 2, f[2], f[0]))
    owner = [-1] * len(toks)
    kept: list[tuple[int, int, int, str, str, Quantity | None]] = []
    for f in found:
        if f[1] <= len(toks) and all(o < 0 for o in owner[f[0] : f[1]]):
            owner[f[0] : f[1]] = [len(kept)] * (f[1] - f[0])
            kept.append(f)
    return _short_named(_stacks(list(_merge(toks, owner, kept))), lexicon.rooms)


_ARTICLES = frozenset(("the", "a", "an"))


def _short_named(row: list[Node], rooms: Sequence[Room]) -> list[Node]:
    """A room called by one word of its name, where nothing else is meant: 'Bays. Hot's in.', 'In the archway, ...'"""
    if not rooms:
        return row
    last, first = last_words(rooms), first_words(rooms)
    out = list(row)
    for i, node in enumerate(row):
        room = last.get(node.norm) or (first.get(node.norm) if node.kind == "word" else None)
        if room and node.kind in ("word", "item") and (_alone(row, i) or _in_them(row, i)):
            out[i] = Node("room", node.norm, node.start, node.end, (room,))
    return out


def _alone(row: Sequence[Node], i: int) -> bool:
    """'Right, bays.', 'Showers first.', 'Up on the walkway, ...': the sentence is headed by it."""
    after = row[i + 1].norm if i + 1 < len(row) else "."
    start = i
    while start and row[start - 1].kind == "word" and row[start - 1].norm in _HEADING:
        start -= 1
    if start and row[start - 1].kind != "mark":
        return False
    led = {n.norm for n in row[start:i]}
    if row[i].kind == "item":
        return (after in _HEADED_BY and not led & _IN_IT) or (after == "," and not led and _lists_no_more(row, i + 2))
    if not led & _IN_IT:
        return after in _HEADED_BY
    return after in _WENT_IN or (i + 1 < len(row) and row[i + 1].kind in PIPE_KINDS)


def _lists_no_more(row: Sequence[Node], i: int) -> bool:
    """'Toilets, four cisterns are in', 'toilets, public ones', but 'toilets, basins and urinals are in'."""
    if not row[i - 2].norm.endswith("s") or i + 1 >= len(row):
        return False
    return row[i].qty is not None or row[i].kind in PIPE_KINDS or row[i + 1].norm == "ones"


def _in_them(row: Sequence[Node], i: int) -> bool:
    """'hot return in them toilets, ...': things that pipes are not in, but a room is."""
    led = [n.norm for n in row[max(0, i - 2) : i]]
    ends = i + 1 == len(row) or row[i + 1].kind == "mark"
    return row[i].kind == "item" and row[i].norm.endswith("s") and ends and led[:1] == ["in"] and led[1:] in _THEM


_THEM = (["the"], ["them"], ["those"])
_HEADING = frozenset(
    "right now then so and well ok okay up down out over back in on at the here into onto to went came gone".split()
)
_IN_IT = frozenset(("up", "down", "out", "in", "on", "at", "to", "into", "onto"))
_HEADED_BY = frozenset((".", "first", "now", "next", "again", ""))
_WENT_IN = _HEADED_BY | {",", ":", "about", "and", "the", "i", "we", "there", "it", "both", "all"}


def _empties(row: list[Node], i: int) -> bool:
    """'need to drain the heating', 'its mains I drain' is work, 'the drain' a pipe."""
    before, after = row[i - 1].norm if i else "", row[i + 1].norm.split("_")[0]
    if row[i].norm == "drains":
        # 'the plumber drains the cold'
        return bool(before) and before not in _ARTICLES and (row[i + 1].kind in _PIPED or after in _EMPTIED)
    works = not i or before in _WHO_DRAINS
    return row[i].norm == "drain" and works and (after in _EMPTIED or row[i + 1].kind == "mark" or before in _DRAINERS)


_PIPED = frozenset(("service", "pair"))
_DRAINERS = frozenset(("i", "we"))


def _stacks(row: list[Node]) -> list[Node]:
    """'Stack's carried on up': the soil, where a sentence opens with it; elsewhere it says where."""
    out = list(row)
    for i, node in enumerate(row[:-1]):
        opens = not i or row[i - 1].norm in (".", ";", "?", "!")
        before_noun = row[i + 1].norm in ("run", "pair") or row[i + 1].kind in ("room", "head")
        if node.norm == "main" and node.kind == "service" and before_noun:
            # 'branched off the main run', 'main bathroom, bath feeds ...' is no incoming main
            out[i] = Node("word", "main", node.start, node.end)
        if node.norm == "stack" and node.kind == "word" and opens and row[i + 1].norm in _GOES:
            out[i] = Node("service", "stack", node.start, node.end, ("soil",))
        elif _empties(row, i):
            out[i] = Node("word", node.norm, node.start, node.end)
        if node.norm == "loops" and row[i + 1].norm in _LOOPS_ON and _pipe_ahead(row, i):
            # 'the hot return loops round in here': no loops of a floor
            out[i] = Node("word", "goes", node.start, node.end)
        if node.norm == "fitting" and node.kind == "item" and row[i + 1].norm in _ARTICLES:
            # 'fitting the cylinder' is work
            out[i] = Node("word", "fitting", node.start, node.end)
        if node.norm == "fitting" and node.kind == "item" and i and row[i - 1].norm in _WANTS:
            # 'the bath still needs fitting', but 'needs fittings'
            out[i] = Node("word", "fitting", node.start, node.end)
        if node.norm == "oil" and i and row[i - 1].norm in _NO_FUELS:
            out[i] = Node("word", "oil", node.start, node.end)
        named_after = row[i + 1].norm in _TOOLS or f"{node.norm}_{row[i + 1].norm}" in _NAMED_AFTER
        if node.kind in ("service", "item") and (named_after or (node.norm == "boss" and _person(row, i))):
            out[i] = Node("word", node.norm, node.start, node.end)
        if node.norm in ("hot", "cold") and _weather(row, i):
            out[i] = Node("word", node.norm, node.start, node.end)
        if node.norm == "cold" and i and row[i - 1].norm in _WENT:
            # 'the steward's gone cold on it'
            out[i] = Node("word", "cold", node.start, node.end)
        if node.norm == "no" and i and row[i - 1].norm in _BE and row[i + 1].norm in _STATES:
            # 'the vessel's no up yet': a Scots not
            out[i] = Node("word", "not", node.start, node.end)
    return out


def _pipe_ahead(row: list[Node], i: int) -> bool:
    return i > 0 and (row[i - 1].kind in PIPE_KINDS or row[i - 1].norm in ("that", "which", "it"))


def _person(row: list[Node], i: int) -> bool:
    """'ask the boss', 'the boss wants it' speak of no boss on a pipe."""
    return row[i + 1].norm in _SAYS or (i > 1 and row[i - 2].norm in _TOLD_TO)


_SAYS = frozenset("wants says said reckons thinks knows 'll will asked told rang decided".split())
_TOLD_TO = frozenset(
    "ask asked asking tell told telling ring rang phone phoned with see saw text texted remind".split()
)


def _weather(row: list[Node], i: int) -> bool:
    """'it's hot up here', 'the cold got into my bones'."""
    after = " ".join(n.norm for n in row[i + 1 : i + 5])
    if _BITES.match(after):
        return True
    return i > 0 and row[i - 1].norm in _HOW_WARM and bool(_HERE_NOW.match(after))


_NAMED_AFTER, _TOOLS = word_list("named-after-pipes"), word_list("tools")
_BITES = pattern("cold-bites", after=r"(?!\S)")
_HERE_NOW = pattern("weather-here", after=r"(?!\S)")
_HOW_WARM = frozenset("is 's was are were so too very bit that pretty really quite lovely nice bloody as how".split())
_WANTS = frozenset(("needs", "need", "wants", "want", "requires", "require", "needing", "wanting"))
_NO_FUELS = frozenset("linseed cooking olive engine cutting hydraulic baby chip tung danish teak".split())
_LOOPS_ON = frozenset("round around back over up down under along across through off out past behind".split())
_WENT = frozenset(
    "gone went goes go going turned turning getting freezing perishing bitter bitterly stone blowing".split()
)
_EMPTIED = frozenset(
    ("the", "that", "it", "them", "down", "off", "my", "his", "our", "this", "both", "all", "everything")
)
_WHO_DRAINS = frozenset(
    ".;,?! to will would can could must should shall i we you they he not and then so please just 'd better now".split(
        " "
    )
)
_ARTICLES = frozenset(("the", "a", "an", "that", "my", "his", "her", "their", "our", "two", "both", "those", "them"))
_BE = frozenset(("is", "'s", "are", "was", "were", "am", "be", "has", "have", "will", "can"))
_STATES = frozenset(
    ("in", "on", "up", "yet", "been", "got", "had", "done", "run", "connected", "tested", "capped", "here")
)
_GOES = frozenset(("'s", "is", "has", "goes", "comes", "runs", "carries", "went"))


_RANK = {"room": 0, "pair": 1, "service": 1, "item": 2, "material": 2, "half": 2, "head": 4}


def _merge(toks: list[Token], owner: list[int], kept: list[Any]) -> Iterable[Node]:
    i = 0
    while i < len(toks):
        if owner[i] < 0:
            t = toks[i]
            yield Node("mark" if t.norm in _MARKS or t.norm.strip(".") == "" else "word", t.norm, t.start, t.end)
            i += 1
            continue
        start, end, _, kind, key, qty = kept[owner[i]]
        norm = "_".join(t.norm for t in toks[start:end])
        yield Node(kind, norm, toks[start].start, toks[end - 1].end, (key,) if key else (), qty)
        i = end
