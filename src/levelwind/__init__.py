"""Levelwind goes with a fishing reel from the box it came in to the box it goes home in."""

__version__ = "0.1.0"
