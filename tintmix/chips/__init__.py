"""What was poured and measured: chips, their readings, and the folder that holds them."""
