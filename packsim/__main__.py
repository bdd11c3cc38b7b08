"""``python -m packsim`` is the same as ``packsim``."""

from packsim.cli.app import main

if __name__ == "__main__":
    main()
