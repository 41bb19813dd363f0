"""What the bench is told about a long run: how hot, where, and what it does to the drag."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.heat import FADE_PER_K, HOT_TO_TOUCH_C, Lump, Warming, warm
from levelwind.core.drag.model import Solid, Stack
from levelwind.core.drag.rings import Floats
from levelwind.core.errors import InputError
from levelwind.core.notes import Amount, Note, plain
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written


@dataclass(frozen=True, slots=True)
class RunReport:
    """A run at the middle drag, with the interval drag and fade leave; ``left_share`` is drag after over before."""

    warming: Warming
    hottest_C: Quantity
    left_share: Quantity
    sentences: tuple[Note, ...]
    cautions: tuple[Note, ...]


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
            "drag of the run", f"{written(torque_Nm.low)} N m at its low end", "over 0: without drag nothing warms"
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


def _sentences(middle: Warming, hottest: Quantity, share: Quantity) -> tuple[Note, ...]:
    seconds, name = float(middle.seconds.sum()), middle.hottest[0]
    return (
        Note.of(
            "heat",
            "The run takes {time} and rubs {energy} into the drag; hottest is the {part}, {temperature}.",
            time=plain(seconds, "s", decimals=0),
            energy=plain(middle.energy_J, "J", decimals=0),
            part=name,
            temperature=Amount(hottest, "°C"),
        ),
        Note.of(
            "drag_left",
            "At its end the drag is {share} of what it was cold; how much it fades is a wide guess.",
            share=Amount(share.scaled(100.0), "%"),
        ),
    )


def _cautions(
    stack: Stack, middle: Warming, hottest: Quantity, stands_C: Mapping[str, float] | None
) -> tuple[Note, ...]:
    said = []
    if hottest.high >= HOT_TO_TOUCH_C:
        words = "Hot drag: over {most} burns when held. Let it cool before touching it."
        said.append(Note.of("hot", words, most=plain(HOT_TO_TOUCH_C, "°C", decimals=0)))
    peaks = middle.temperature_C.max(axis=0)
    for place, body in enumerate(stack.bodies):
        most = (stands_C or {}).get(body.material)
        if most is not None and peaks[place] > most:
            said.append(
                Note.of(
                    "lining",
                    "{part} reaches {peak}; {material} stands {most}: set it lighter, let it cool between runs, or lay "
                    "in another lining.",
                    part=body.name,
                    peak=plain(float(peaks[place]), "°C", decimals=0),
                    material=body.material,
                    most=plain(most, "°C", decimals=0),
                )
            )
    return tuple(said)
