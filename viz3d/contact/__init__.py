"""How spread: pressure on the socket's loaded surface."""
