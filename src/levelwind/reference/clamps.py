"""What squeezes a drag, or clicks, read from a TOML table: a thread, disc springs, a lever's cam, a click's pawl.

Families and the files of `levelwind drag` write them alike.
"""

from dataclasses import replace

from levelwind.core.drag.clamp import ISO_HALF_ANGLE_DEG, Thread, pitch_radius_m
from levelwind.core.drag.click import PAWL_FRICTION, Click
from levelwind.core.drag.lever import Cam, Lever, lift_m
from levelwind.core.drag.model import Body
from levelwind.core.drag.springs import DiscSpring, SpringPack
from levelwind.core.drag_system.usual import rubbing_on
from levelwind.core.errors import InputError
from levelwind.reference.springs import disc_spring
from levelwind.reference.threads import thread
from levelwind.reference.toml_rows import TomlTable


def read_thread(clamp: TomlTable, outermost: Body) -> Thread:
    """The key ``thread``: a designation alone, or a table that gives one, or one that gives the sizes.

    Where no collar is said, the star rubs as it usually does on the outermost piece of the stack.
    """
    if isinstance(clamp.values.get("thread"), str):
        return rubbing_on(thread(clamp.text("thread")).turning(), outermost)
    row = clamp.row("thread")
    made = thread(row.text("designation")).turning() if "designation" in row.values else _measured_thread(row)
    said = "collar_mm" in row.values
    made = replace(made, collar_radius_m=row.number("collar_mm") / 2000) if said else rubbing_on(made, outermost)
    row.done()
    return made


def read_springs(row: TomlTable) -> SpringPack:
    """Disc springs by a standard size or by their own, how many nested and how many one after the other."""
    if "din_2093" in row.values:
        series, _, size = row.text("din_2093").partition(" ")
        spring = disc_spring(series, _size(row, size)).spring
    else:
        spring = DiscSpring(*(row.number(f"{key}_mm") / 1000 for key in ("outer", "inner", "thickness", "cone")))
    pack = SpringPack(spring, row.count("parallel"), row.count("series"))
    row.done()
    return pack


def read_cam(row: TomlTable) -> Cam:
    """Lifts against lever angles, and the free way before the springs touch."""
    lifts = tuple(mm / 1000 for mm in row.numbers("lifts_mm"))
    gap = row.number("gap_mm") / 1000 if "gap_mm" in row.values else 0.0
    cam = Cam(row.numbers("angles_deg"), lifts, gap)
    row.done()
    return cam


def read_lever(clamp: TomlTable) -> Lever:
    """A lever at its strike, by the keys ``cam``, ``springs`` and ``strike_deg``; the strike lies on the cam."""
    lever = Lever(read_cam(clamp.row("cam")), read_springs(clamp.row("springs")), clamp.number("strike_deg"))
    lift_m(lever.cam, lever.angle_deg)
    return lever


def read_click(row: TomlTable) -> Click:
    """A toothed wheel and its sprung pawl."""
    click = Click(
        teeth=row.count("teeth"),
        radius_m=row.number("wheel_mm") / 2000,
        height_m=row.number("tooth_height_mm") / 1000,
        lifting_share=row.number("lifting_share"),
        force_N=row.number("pawl_force_N"),
        rate_N_m=row.number("pawl_rate_N_mm") * 1000,
        mu=row.number("friction") if "friction" in row.values else PAWL_FRICTION,
        pawls=row.count("pawls"),
    )
    row.done()
    return click


def _measured_thread(row: TomlTable) -> Thread:
    pitch = row.number("pitch_mm") / 1000
    given = "pitch_diameter_mm" in row.values
    radius = row.number("pitch_diameter_mm") / 2000 if given else pitch_radius_m(row.number("major_mm") / 1000, pitch)
    angle = row.number("half_angle_deg") if "half_angle_deg" in row.values else ISO_HALF_ANGLE_DEG
    return Thread(radius, pitch, angle)


def _size(row: TomlTable, text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(f"{row.where}: din_2093", repr(text), "a series and a diameter, such as A 12.5") from None
