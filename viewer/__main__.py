"""``python -m viewer SCENARIO``."""

from viewer.app import main

if __name__ == "__main__":
    main()
