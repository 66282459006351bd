"""Which cups to pour: the plan, its weights and its page."""
