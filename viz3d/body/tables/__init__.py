"""Sourced tables of the body: segments, lengths, hip geometry, landmarks."""
