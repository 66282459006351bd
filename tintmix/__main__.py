"""`python -m tintmix` is the same as `tintmix`."""

from tintmix.faces.cli.main import main

if __name__ == "__main__":
    main()
