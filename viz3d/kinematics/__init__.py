"""Where everything is: posture, balance and reach, one batch at a time."""
