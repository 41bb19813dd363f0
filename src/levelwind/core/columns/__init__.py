"""Columns of a list that came from elsewhere: which of them holds what, and what its cells say."""
