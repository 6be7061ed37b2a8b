"""Files for people: the only room that imports drawing libraries."""
