"""Bones, cane and body shell: surfaces grown from tables by one general mesher."""
