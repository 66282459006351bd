"""One function for each thing a user asks for, a file per step of the job. Faces call this room, and nothing below."""
