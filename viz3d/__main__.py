"""``python -m viz3d``: the same as the ``viz3d`` command."""

from viz3d.cli import main

if __name__ == "__main__":
    main()
