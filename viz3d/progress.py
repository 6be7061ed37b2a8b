"""How long work tells how far it is.

Question answered: what does a caller who wants to show progress pass?
"""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str, int, int], None]
"""Called with (what, done, of)."""
