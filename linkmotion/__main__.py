"""``python -m linkmotion``."""

from linkmotion.cli import main

if __name__ == "__main__":
    main()
