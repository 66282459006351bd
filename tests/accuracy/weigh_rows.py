"""Mass balance over ten thousand random recipes, resins and scales: `python -m tests.accuracy.weigh_rows`.

The suite draws the first thousand of them (tests/weighing/test_weigh_balance.py), with the same checks.
"""

from __future__ import annotations

from tests.weighing.test_weigh_balance import balance

COUNT = 10_000


def main() -> None:
    """Draw, check each, and tell how many of each kind there were."""
    weighed, bottled, refused = balance(COUNT)
    print(f"{COUNT} batches: {weighed} weighed and balanced, {bottled} of them with a bottle, {refused} refused")


if __name__ == "__main__":
    main()
