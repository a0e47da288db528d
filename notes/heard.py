"""Puts misheard trade words right: a table with the neighbours each row needs, lost apostrophes, room names by sound.

Pure. What was heard stays in `Memo.raw` and in `Word.raw`; only the text that is read changes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from notes.lexicon import Lexicon, data_rows
from notes.model import Memo, Word
from notes.reading.actions import verb_forms
from notes.reading.mentions import Node, nodes
from notes.reading.patterns import options, tags_of
from notes.reading.wordlists import words


@dataclass(frozen=True, slots=True)
class Fix:
    """Characters `start:end` of the text as heard, and what is put there."""

    start: int
    end: int
    meant: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of mishearings.csv: words and tags one after the other; those `marked` are replaced by `meant`.

    `near` words or tags must stand within six nodes where there are any.
    """

    steps: tuple[tuple[frozenset[str], frozenset[str]], ...]
    marked: tuple[bool, ...]
    meant: str
    near: tuple[frozenset[str], frozenset[str]]


def _step(word: str) -> tuple[frozenset[str], frozenset[str]]:
    choice = [o for o in options(word.strip("[]")) if o]
    tags = frozenset(t for o in choice for t in tags_of(o))
    return frozenset(o for o in choice if not tags_of(o)), tags


@lru_cache(maxsize=1)
def rules() -> dict[str, tuple[Rule, ...]]:
    """The rows, by each word that their first marked step may be."""
    out: dict[str, tuple[Rule, ...]] = {}
    for row in data_rows("mishearings.csv"):
        words = row["heard"].split()
        rule = Rule(
            tuple(map(_step, words)), tuple(w.startswith("[") for w in words), row["meant"],
            _step(row["near"]) if row["near"] else (frozenset(), frozenset()),
        )  # fmt: skip
        first = rule.marked.index(True)
        for word in rule.steps[first][0]:
            out[word] = (*out.get(word, ()), rule)
    return out


def _fits(node: Node, step: tuple[frozenset[str], frozenset[str]]) -> bool:
    return node.norm in step[0] or node.tag in step[1]


def _by_table(row: Sequence[Node], i: int) -> tuple[int, int, str] | None:
    """The nodes that a rule replaces whose first marked word stands at node i."""
    for rule in rules().get(row[i].norm, ()):
        start = i - rule.marked.index(True)
        span = row[start : start + len(rule.steps)] if start >= 0 else ()
        if len(span) != len(rule.steps) or not all(map(_fits, span, rule.steps)):
            continue
        around = row[max(0, start - 6) : start + len(span) + 6]
        if any(rule.near) and not any(_fits(n, rule.near) for n in around):
            continue
        last = start + max(n for n, m in enumerate(rule.marked) if m)
        if " ".join(n.norm for n in row[i : last + 1]) != rule.meant:
            return i, last + 1, rule.meant
    return None


_COUNTERS = frozenset("two three four five six both all some any these those the_two few more".split())


def _apostrophe(row: Sequence[Node], i: int, single: frozenset[str]) -> str | None:
    """'toilets out', 'colds capped': a listener hears a plural where a thing 'is'."""
    node = row[i]
    if (
        node.kind not in ("item", "service", "pair", "half", "word")
        or not node.norm.endswith("s")
        or node.norm.endswith("ss")
    ):
        return None
    one = node.norm.replace("_", " ")[:-1]
    after = row[i + 1] if i + 1 < len(row) else None
    before = row[i - 1] if i else None
    if (
        one not in single
        or after is None
        or (before is not None and (before.norm in _COUNTERS or before.qty is not None))
    ):
        return None
    done = after.norm in words("after-a-lost-apostrophe") or "done" in verb_forms().get(after.norm, ())
    if done or after.tag in ("Q-num", "Q-mm", "Q-inch"):
        return "'s"
    return None


def _key(words: str) -> str:
    import jellyfish

    return "".join(jellyfish.metaphone(w) for w in re.findall(r"[a-z0-9']+", words.lower()))


@lru_cache(maxsize=8)
def _names(lexicon_rooms: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, str, int], ...]:
    """(name, sound, number of words) of room names and nicknames long enough to be told by their sound."""
    return tuple((n, _key(n), len(n.split())) for names in lexicon_rooms for n in names if len(n) > 4)


def _by_sound(row: Sequence[Node], i: int, names: Sequence[tuple[str, str, int]]) -> tuple[int, int, str] | None:
    """A room's name that sounds like the words from node i: 'turn star' for churn store."""
    from rapidfuzz import fuzz

    for size in (3, 2, 1):
        span = row[i : i + size]
        if len(span) < size or any(n.kind != "word" for n in span) or _PLAIN & {n.norm for n in span}:
            continue
        words = " ".join(n.norm.replace("_", " ") for n in span)
        sound = _key(words)
        for name, key, count in names:
            if count > size or len(sound) < 2 or abs(len(key) - len(sound)) > 1:
                continue
            close = fuzz.ratio(name.lower(), words)
            if key == sound and close >= 60 and (size > 1 or _headed(row, i)):
                return i, i + size, name
            if size > 1 and len(key) >= 4 and fuzz.ratio(key, sound) >= 80 and close >= 60:
                return i, i + size, name
            if size == 1 and _headed(row, i) and fuzz.ratio(key, sound) >= 80 and close >= 70:
                return i, i + 1, name
    return None


_PLAIN = frozenset(
    "the a an or in on at to of for from is it 's that this them they i we he she you my me next door same so "
    "then now but not been be are was have has had just there here up down out off over under back again no one".split()
)
"""Words too common to be a misheard name, alone or in one."""


def _headed(row: Sequence[Node], i: int) -> bool:
    """Where a room's name stands when one enters it: before a mark, after a mark, a name or 'the'."""
    after = row[i + 1] if i + 1 < len(row) else None
    if row[i].kind != "word" or len(row[i].norm) < 5 or after is None:
        return False
    return after.kind == "mark" or after.norm in ("now", "first", "next")


def fixes(text: str, lexicon: Lexicon) -> list[Fix]:
    """What to put right in a text as heard, in order, none overlapping."""
    row = nodes(text, lexicon)
    single = frozenset(t.words for t in lexicon.terms if t.kind in ("item", "service", "pair", "half"))
    names = _names(tuple((r.name, *r.aliases) for r in lexicon.rooms))
    out: list[Fix] = []
    i = 0
    while i < len(row):
        found = _by_table(row, i) or _by_sound(row, i, names)
        if found is not None:
            out.append(Fix(row[found[0]].start, row[found[1] - 1].end, found[2]))
            i = found[1]
            continue
        if _apostrophe(row, i, single):
            end = row[i].end
            out.append(Fix(end - 1, end, "'s"))
        i += 1
    return out


STOP = 0.4
"""Seconds of silence after a comma that end a sentence; our recordings pause 0.1 to 0.35 s inside one."""
LONG_STOP = 0.7
"""The same where no mark was heard at all."""
_GO_ON = frozenset(
    "and or but to of for with in on at from by behind under over up down through along across so then because that "
    "which not capped tested lagged connected run left".split())  # fmt: skip


_JOINTS = frozenset(("and", "but", "so", "because", "cos", "then", "which"))
"""Words that go on with a sentence where no silence stands before them."""


def pauses(words: Sequence[Word]) -> list[Fix]:
    """Full stops where the speaker stopped: speech engines run whole memos together with commas."""
    out = []
    for a, b in pairwise(words):
        if a.until is None or b.at is None or not a.text:
            continue
        gap, next_word = b.at - a.until, b.text.lower().strip(",.?!")
        if a.text[-1] == "." and next_word in _JOINTS and gap < STOP:
            out.append(Fix(a.end - 1, a.end, ","))
        if next_word in _GO_ON or next_word[:1].isdigit():
            continue
        if a.text[-1] == "," and gap >= STOP:
            out.append(Fix(a.end - 1, a.end, "."))
        elif a.text[-1].isalnum() and gap >= LONG_STOP:
            out.append(Fix(a.end, a.end, "."))
    return out


def own_words(text: str, words: Mapping[str, str]) -> list[Fix]:
    """The job's own words: what is heard -> what is meant, in any case, as whole words."""
    out: list[Fix] = []
    for heard, meant in sorted(words.items(), key=lambda kv: -len(kv[0])):
        for m in re.finditer(rf"(?<!\w){re.escape(heard)}(?!\w)", text, re.IGNORECASE):
            if all(m.end() <= f.start or m.start() >= f.end for f in out):
                out.append(Fix(m.start(), m.end(), meant))
    return sorted(out, key=lambda f: f.start)


def apply(memo: Memo, found: Sequence[Fix], raw: bool = True) -> Memo:
    """The memo with `found` put right in its text and words; `memo.raw` is left as it was.

    Without `raw` the words keep no note of what they were, as where only a mark changed.
    """
    if not found:
        return memo
    pieces, at, words, left = [], 0, [], list(memo.words)
    shift = 0
    for fix in found:
        while left and (left[0].end < fix.start or (left[0].end == fix.start and fix.start < fix.end)):
            words.append(_moved(left.pop(0), shift))
        covered = []
        while left and (left[0].start < fix.end or left[0].start < fix.start <= left[0].end):
            covered.append(left.pop(0))
        pieces += [memo.text[at : fix.start], fix.meant]
        if covered:
            start, end = covered[0].start, covered[-1].end
            text = memo.text[start : fix.start] + fix.meant + memo.text[fix.end : end]
            whole = _joined(covered, text, start + shift, memo.text[start:end])
            words.append(whole if raw else replace(whole, raw=covered[0].raw))
        shift += len(fix.meant) - (fix.end - fix.start)
        at = fix.end
    pieces.append(memo.text[at:])
    words += [_moved(w, shift) for w in left]
    return replace(memo, text="".join(pieces), words=tuple(words))


def _moved(word: Word, shift: int) -> Word:
    return replace(word, start=word.start + shift, end=word.end + shift)


def _joined(covered: Sequence[Word], text: str, start: int, raw: str) -> Word:
    sure = [w.sure for w in covered if w.sure is not None]
    heard = " ".join(w.raw or memo_raw for w, memo_raw in zip(covered, raw.split(), strict=False)) or raw
    return Word(text, start, start + len(text), covered[0].at, covered[-1].until, min(sure) if sure else None, heard)


def put_right(memo: Memo, lexicon: Lexicon) -> Memo:
    """The job's own words in every memo; misheard trade words only in what was heard, not in what was typed."""
    memo = apply(memo, own_words(memo.text, lexicon.words))
    if not any(w.at is not None for w in memo.words):
        return memo
    memo = apply(memo, pauses(memo.words), raw=False)
    return apply(memo, fixes(memo.text, lexicon))
