"""Which viz3d this is: written into every file that it makes."""

from __future__ import annotations

__version__ = "0.1.0"
