"""The command line. `main` is the entry; each command is a module that is imported only when it is called."""
