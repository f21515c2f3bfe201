"""``python -m wheelend``."""

from wheelend.cli import main

if __name__ == "__main__":
    main()
