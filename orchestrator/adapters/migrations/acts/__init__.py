"""Acts on their way from display processes to the writer."""
