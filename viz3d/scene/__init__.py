"""The script: scene files, their schema and their timeline."""
