"""Let `python -m companion` do what the `companion` command does."""

from companion.cli import main

if __name__ == "__main__":
    main()
