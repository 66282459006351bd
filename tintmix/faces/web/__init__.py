"""The page: the whole job in a browser, on the loopback address only. It calls the same `desk` functions as the shell."""
