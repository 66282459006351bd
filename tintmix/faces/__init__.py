"""The ways in: each face translates a question in, calls one function of the desk, and translates the answer out."""
