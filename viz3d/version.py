"""Which viz3d this is: written into every file that it makes.

Read by the package itself and by the writers, so that none of them needs the package's own front door.
"""

from __future__ import annotations

__version__ = "0.1.0"
