"""The numbers: posterior, next looks, choices, learning, and what a complaint points to."""
