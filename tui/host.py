"""The app as the screens know it, without importing it: it imports them."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.dom import DOMNode

if TYPE_CHECKING:
    from tui.app import Review


def host(node: DOMNode) -> Review:
    """The app that `node` is in."""
    return cast("Review", node.app)
