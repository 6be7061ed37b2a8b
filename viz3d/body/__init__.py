"""Who stands there: sizes, segment masses, hip geometry and the landmark table."""
