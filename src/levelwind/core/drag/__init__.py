"""The drag, computed: a stack of washers under a clamp force, from the far end out to the star or the lever."""
