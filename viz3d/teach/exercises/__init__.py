"""Exercises from the solver: a person and a case by a seed, choices from typical mistakes, a worked answer."""
