"""The command line. `main` is the entry; each command is a module that is imported only when it is called."""

STOPPED = "stopped before it was done; nothing was written."
INTERRUPTED = 130
"""What an interruption answers, said here so that it can be answered before anything is imported."""
