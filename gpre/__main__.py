"""`python -m gpre` is the command `gpre`."""

from gpre.cli.main import main

if __name__ == "__main__":
    main()
