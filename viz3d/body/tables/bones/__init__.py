"""Bone tables: one file per link, the control points that the mesher turns into surfaces."""
