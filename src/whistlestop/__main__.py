"""`python -m whistlestop`: the same as the console script."""

from whistlestop.cli.main import main

if __name__ == "__main__":
    raise SystemExit(main())
