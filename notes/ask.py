"""A plain question -> the runs (and things, where one is asked for itself) that answer it, best first. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from notes.lexicon import Lexicon
from notes.model import PIPES, Job, Run, Status
from notes.question import Question, read
from notes.runs import fixtures
from notes.tracing.ends import DRAINS, RADIATORS, landmarks, named, telling

# Hot stands for hot and cold: where both or neither are named, people mean the first of the pair.
_FIRST = (
    "hot",
    "cold",
    "mains",
    "hot return",
    "heating flow",
    "heating return",
    "ufh flow",
    "ufh return",
    "gas",
    "oil",
)
_HEATING = frozenset(("heating flow", "heating return"))
_END_STATES = frozenset(("open", "capped", "connected"))
_ENDINGS = frozenset(("leave", "cap", "connect"))
_RANK = {subject: rank for rank, subject in enumerate(_FIRST)} | {"heating return": 4, "ufh return": 6}


def answer(question: str, runs: Sequence[Run], lexicon: Lexicon, job: Job) -> list[Run]:
    """The runs that `question` asks for, best first; none where no run is in a room or of a service that it names."""
    asked = read(question, lexicon, job)
    left = sorted(_narrowed(runs, asked), key=lambda run: _order(run, asked))
    return sorted(left, key=lambda run: asked.things.index(run.subject) if run.subject in asked.things else 0)


def as_json(run: Run) -> dict[str, Any]:
    """A run as `trace --json` prints it."""
    return {
        "room": run.room, "subject": run.subject, "place": _where(run), "state": list(run.state),
        "memo": run.memo, "from": run.from_, "to": run.to, "size_mm": run.size_mm, "to_size_mm": run.to_size_mm,
        "material": run.material, "length_m": run.length_m, "second": run.second, "failed": "failed" in run.state,
        "rooms": list(run.rooms),
    }  # fmt: skip


def _where(run: Run) -> str | None:
    """Where it ends and the way there: what it goes to first, unless the place of its end is told."""
    done = (step.fact for step in run.steps if step.fact.status is Status.DONE)
    told = any(fact.action in _ENDINGS and landmarks(fact.place) for fact in done)
    said = (run.place, run.to) if told else (run.to, run.place)
    return "; ".join(dict.fromkeys(filter(None, said))) or run.from_


def unsaid(run: Run, asked: Question) -> list[str]:
    """The fixtures (where no room is named), sizes and materials asked for, of each kind where `run` has none of them.

    In a room that was named the best answer is what was meant, whether or not its memo said 'radiator'.
    """
    told = asked.rooms or asked.near or asked.fixtures & _ends(run)
    fixture = [] if told or _stems(asked.fixtures) & _stems(_all_words(run)) else sorted(asked.fixtures)
    size = sorted(asked.sizes) if not asked.sizes & _sizes(run) else []
    material = sorted(asked.materials) if run.material not in asked.materials else []
    return [*(f"the {name}" for name in fixture), *(f"{mm:g} mm" for mm in size), *material]


def _narrowed(runs: Sequence[Run], asked: Question) -> list[Run]:
    """Runs that agree with what is asked. A room or service must be met; of the rest each only as long as one does."""
    things = [r for r in runs if r.subject in asked.things and r.room in (asked.rooms or asked.near or {r.room})]
    left = [r for r in runs if not asked.rooms or r.room in asked.rooms or asked.rooms & set(r.rooms)]
    left = [r for r in left if r.subject in (asked.subjects or PIPES)]
    told = any(r.state for r in things) and not asked.states and not any(_ends(r) & asked.fixtures for r in left)
    if things and (asked.itself or told):
        return things
    wishes: list[tuple[object, Callable[[Run], object]]] = [
        (asked.pipes and not asked.subjects, lambda r: _brings(r, asked)),
        (asked.onward, lambda r: r.room not in asked.rooms),
        (asked.rooms, lambda r: r.room in asked.rooms),
        (not asked.rooms and asked.near, lambda r: r.room in asked.near),
        (asked.fixtures, lambda r: _ends(r) & asked.fixtures),
        (asked.fixtures & RADIATORS and not asked.subjects, lambda r: r.subject in _HEATING),
        (asked.starts, lambda r: telling(r.from_) & asked.starts),
        (asked.materials, lambda r: r.material in asked.materials),
        (asked.sizes, lambda r: _sizes(r) & asked.sizes),
        (asked.only, lambda r: asked.states <= set(r.state)),
        (asked.only, lambda r: asked.states & set(r.state)),
    ]
    for wanted, meets in wishes:
        if wanted:
            left = [r for r in left if meets(r)] or left
    return left


def _order(run: Run, asked: Question) -> tuple[float, int, bool, bool, int, str, float]:
    """Sorts the best first: states told, words shared, the first of a pair, the one most was said of, the latest."""
    said = [step.fact for step in run.steps if step.fact.status is not Status.UNSURE]
    states = _states(run, asked)
    wanted = _stems(asked.words)
    words = len(wanted & _stems(_all_words(run))) + 2 * len(wanted & _stems(_end_words(run)))
    if asked.ends:
        words += 3 * (not _END_STATES.isdisjoint(run.state)) + bool(run.place or run.to)
    there = 2 * bool(run.state)
    latest = -run.steps[-1].memo_at.timestamp()
    between = _END_STATES.isdisjoint(run.state), run.parent is not None
    return (-(states + words + there), _RANK.get(run.subject, 9), *between, -len(said), run.subject, latest)


def _states(run: Run, asked: Question) -> float:
    """How far the states asked for are told of it, a state that it was once in for half.

    Of 'are both capped' the one that is not is the answer.
    """
    now = len(asked.states & set(run.state))
    if asked.asks_whether and asked.of_all:
        return -now
    once = asked.states & {word for step in run.steps for word in step.sets} - set(run.state)
    return now * (1 if asked.asks_whether else 4) + len(once) / 2


def _brings(run: Run, asked: Question) -> bool:
    """Whether it is a pipe that brings: no drain, but for rainwater that fills cisterns."""
    fills = run.subject == "rainwater" and bool(named(run.to) & asked.fixtures)
    return fills or (run.subject in PIPES and run.subject not in DRAINS)


def _ends(run: Run) -> frozenset[str]:
    """The fixtures that it goes to or comes from."""
    return fixtures(run) | named(run.from_)


def _sizes(run: Run) -> set[float | None]:
    return {run.size_mm, run.to_size_mm}


def _end_words(run: Run) -> frozenset[str]:
    """Where it is, comes from and goes to."""
    return telling(run.place) | telling(run.from_) | telling(run.to)


def _all_words(run: Run) -> frozenset[str]:
    facts = (step.fact for step in run.steps)
    return frozenset().union(*(telling(w) for f in facts for w in (f.place, f.to, f.from_, f.quote)))


def _stems(words: frozenset[str]) -> frozenset[str]:
    return frozenset(word[:5] for word in words if len(word) > 2 or word.isdigit())
