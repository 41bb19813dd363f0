"""What the bench is told about a long run: how hot, where, and what it does to the drag."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.heat import FADE_PER_K, HOT_TO_TOUCH_C, Lump, Warming, warm
from levelwind.core.drag.model import Solid, Stack
from levelwind.core.drag.rings import Floats
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity, in_words


@dataclass(frozen=True, slots=True)
class RunReport:
    """A run at the middle drag, with the interval drag and fade leave; ``left_share`` is drag after over before."""

    warming: Warming
    hottest_C: Quantity
    left_share: Quantity
    sentences: tuple[str, ...]
    cautions: tuple[str, ...]


def run_report(
    stack: Stack,
    contacts: Sequence[Contact],
    clamp_N: float,
    torque_Nm: Quantity,
    steps: tuple[Floats, Floats],
    solids: Mapping[str, Solid],
    lumps: Sequence[Lump] = (),
    ambient_C: float = 20.0,
    fade_per_K: Quantity = FADE_PER_K,
    stands_C: Mapping[str, float] | None = None,
) -> RunReport:
    """Warm a stack through a run, at the middle of its torque and at both ends with the fade against and with them.

    ``torque_Nm`` is the stack's torque cold; ``steps`` are seconds and slip in rad at the drag; ``stands_C`` says what
    temperature a lining stands, by material, where published.
    """
    if not torque_Nm.low > 0:
        raise InputError(
            "drag of the run", f"{torque_Nm.low:g} N m at its low end", "over 0: without drag nothing warms"
        )

    def at(torque: float, fade: float) -> Warming:
        force = clamp_N * torque / torque_Nm.value
        return warm(stack, contacts, force, *steps, solids, lumps, ambient_C, fade)

    middle = at(torque_Nm.value, fade_per_K.value)
    ends = [
        at(torque, fade) for torque in (torque_Nm.low, torque_Nm.high) for fade in (fade_per_K.low, fade_per_K.high)
    ]
    hottest, share = (_over(middle, ends, of) for of in (_hottest_C, _left_share))
    return RunReport(
        middle, hottest, share, _sentences(middle, hottest, share), _cautions(stack, middle, hottest, stands_C)
    )


def _over(middle: Warming, ends: Sequence[Warming], of: Callable[[Warming], float]) -> Quantity:
    """The middle's, and the least and greatest of all: where faces slip in turn the middle may lie outside its ends."""
    every = [of(run) for run in (middle, *ends)]
    return Quantity(every[0], min(every), max(every))


def _hottest_C(run: Warming) -> float:
    return run.hottest[1]


def _left_share(run: Warming) -> float:
    return float(run.torque_Nm[-1] / run.torque_Nm[0])


def _sentences(middle: Warming, hottest: Quantity, share: Quantity) -> tuple[str, ...]:
    seconds, name = float(middle.seconds.sum()), middle.hottest[0]
    percent = share.scaled(100.0)
    return (
        f"The run takes {seconds:.0f} s and rubs {middle.energy_J:.0f} J into the drag; "
        f"hottest is the {name}, {in_words(hottest, '°C')}.",
        f"At its end the drag is {in_words(percent, '%')} of what it was cold; how much it fades is a wide guess.",
    )


def _cautions(
    stack: Stack, middle: Warming, hottest: Quantity, stands_C: Mapping[str, float] | None
) -> tuple[str, ...]:
    said = []
    if hottest.high >= HOT_TO_TOUCH_C:
        said.append(f"Hot drag: over {HOT_TO_TOUCH_C:.0f} °C burns when held. Let it cool before touching it.")
    peaks = middle.temperature_C.max(axis=0)
    for place, body in enumerate(stack.bodies):
        most = (stands_C or {}).get(body.material)
        if most is not None and peaks[place] > most:
            said.append(f"{body.name} reaches {peaks[place]:.0f} °C; {body.material} stands {most:.0f} °C.")
    return tuple(said)
