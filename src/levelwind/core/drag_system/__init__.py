"""A whole drag: its stack, what squeezes it, the gears, the spool and the line, and what stands behind it.

Above ``drag`` and ``line``, which do not know one another. What goes in is in ``model``, what comes out in ``compute``,
how it is said in ``report``.
"""
