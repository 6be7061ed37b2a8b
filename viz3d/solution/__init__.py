"""The one room that joins scene and physics: a scene in, one ``Solved`` batch out."""
