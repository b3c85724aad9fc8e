"""``python -m fretwright`` is the ``fretwright`` command."""

from fretwright.cli.main import main

if __name__ == "__main__":
    main()
