"""Pages in a browser: one file to open offline, or served on this machine with the solver behind it."""
