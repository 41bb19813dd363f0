"""What the bench is told about a click and pawl."""

from levelwind.core.drag.click import Click, Ripple
from levelwind.core.drag.report import Worked
from levelwind.core.notes import Note, plain
from levelwind.core.writing import written


def click_sentence(click: Click, turned: Ripple) -> Note:
    """The click in words.

    >>> from levelwind.core.drag.click import ripple
    >>> click = Click(30, 0.010, 0.8e-3, lifting_share=0.5, force_N=4.0, rate_N_m=2000.0)
    >>> click_sentence(click, ripple(click)).words()
    'Each of 30 clicks a turn rises to 54 mN m, 23 on average: the pull swings from nothing to 2.3 times its mean.'
    """
    peak, mean = 1000 * turned.peak_Nm, 1000 * turned.mean_Nm
    return Note.of(
        "click",
        "Each of {teeth} clicks a turn rises to {peak}, {mean} on average: the pull swings from nothing to {times} "
        "times its mean.",
        teeth=click.teeth,
        peak=plain(peak, "mN m", decimals=0),
        mean=plain(mean, decimals=0),
        times=plain(peak / mean, decimals=1),
    )


def click_row(click: Click, turned: Ripple) -> Worked:
    """How the mean torque was worked out, with the reel's own values."""
    middle = click.force_N + click.rate_N_m * click.height_m / 2
    return Worked(
        "mean torque of the click",
        "T = share lifting × n F r tan(atan(dh/ds) + atan μ), F halfway up the tooth",
        f"{written(click.lifting_share)} × {click.pawls} × {written(middle, '.3g')} N × "
        f"{written(1000 * click.radius_m, '.3g')} mm, "
        f"dh/ds {written(click.slope, '.3g')}, μ {written(click.mu)}: {written(turned.mean_Nm, '.3g')} N m",
        "derived: equilibrium of the pawl on the flank",
    )
