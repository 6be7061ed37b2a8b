"""When: motions read, made periodic, put on a body's own feet; how fast and how hard every segment then moves."""
