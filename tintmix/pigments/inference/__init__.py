"""Observations, prior, posterior, draws, departures: from chips to what is believed of each pigment."""
