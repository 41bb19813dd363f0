"""Files from phones and scales, one reader a format. Hostile until read. This package imports nothing heavy itself."""
