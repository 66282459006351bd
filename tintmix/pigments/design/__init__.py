"""Which cups to pour next."""
