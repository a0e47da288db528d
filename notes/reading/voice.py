"""Who is speaking, where nobody wrote it down: people say their name as they start ('it's Tommo', 'Stu here'). Pure."""

from __future__ import annotations

import re

_SAID = re.compile(
    r"\b(?:it's|this is|only me,?|it is)\s+(?:me,?\s+)?(?P<a>[a-z]+)(?=[,.]| still| here| again| over)"
    r"|\b(?P<b>[a-z]+)\s+(?:'?h?ere|air|hear|speaking)\b"
    r"|^(?:aye|right|yeah|morning|mornin'|hiya|ay up|now then|okay)?(?:\s+so)?[,.]?\s*(?P<c>[A-Z][a-z]+)(?=[,.])",
    re.IGNORECASE,
)
_NOT_NAMES = frozenset(
    "monday tuesday wednesday thursday friday saturday sunday right aye yeah yes morning hiya ay up now then so well "
    "okay in on over the same back still me i for first last next here out down upstairs outside and it a all good up "
    "by boiler kitchen bathroom bedroom hall cellar loft riser yard progress entry mornin alright get got come been "
    "went top bottom middle main ground".split())  # fmt: skip


def voice(text: str) -> str | None:
    """The speaker's name by its sound, from the first words of a memo; None where none is given.

    A sound, since a name is spelt by an engine as it pleases: Stu and stew are one.
    """
    import jellyfish

    for m in _SAID.finditer(text[:70]):
        name = next(g for g in m.groups() if g)
        if name.lower() not in _NOT_NAMES and len(name) > 2:
            return jellyfish.metaphone(name.lower()) or None
    return None
