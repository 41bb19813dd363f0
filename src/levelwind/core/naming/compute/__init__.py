"""The numbers: what each sight says of each kind, how likely each kind is, what to look at next, and the years."""
