"""Protection against a battery the wrong way round."""
