"""Files of spectrophotometers and colorimeters, a file a format."""
