"""Questions that take many solutions: what changes, how much is needed, how sure are we."""
