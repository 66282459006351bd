"""The root of every error that tintmix raises on purpose."""


class TintmixError(Exception):
    """A bad input, told in one sentence: what, where, the limit, and what to do.

    Each layer derives its own classes from this one, a class per cause. The faces turn any of them into one line and
    exit status 2.
    """
