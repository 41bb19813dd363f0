"""What the bench is told about a stack: torque in words, what is idle, the right order, and how it was worked out."""

from collections.abc import Sequence
from dataclasses import dataclass

from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.families import Drive
from levelwind.core.drag.model import Stack
from levelwind.core.drag.order import Order
from levelwind.core.drag.rings import Assumption, friction_radius_m
from levelwind.core.drag.section import Section, section
from levelwind.core.drag.torque import StackTorque
from levelwind.core.quantities import Quantity, in_words, value_in_words
from levelwind.core.writing import written

LEAST_LOST = 0.005
"""Share of the drag that a wrong order must cost to be spoken of: our choice."""

NOT_EVERY_ORDER = "the best of those tried, as there are too many to try them all"


@dataclass(frozen=True, slots=True)
class Worked:
    """One line of "how was this worked out?": the formula, then the same with the reel's own values in it."""

    what: str
    formula: str
    numbers: str
    source: str


@dataclass(frozen=True, slots=True)
class DragReport:
    """All a page shows about one stack under one clamp force. Torques in N m at the drag, not yet at the spool."""

    torque: StackTorque
    section: Section
    order: Order | None
    sentences: tuple[str, ...]
    worked: tuple[Worked, ...]

    def shown(self) -> dict[str, object]:
        """As a file has it."""
        return {
            "new_torque_Nm": self.torque.new_Nm,
            "run_in_torque_Nm": self.torque.run_in_Nm,
            "slip_surfaces": len(self.torque.slipping),
            "idle": [self.section.pieces[place].name for place in self.torque.idle],
            "share_lost": None if self.order is None else self.order.share_lost,
            "right_order": None if self.order is None else [self.section.pieces[p].name for p in self.order.places],
            "sentences": self.sentences,
            "cautions": self.torque.cautions,
            "section": self.section,
        }


def drag_report(
    stack: Stack, contacts: Sequence[Contact], clamp_N: Quantity, torque: StackTorque, order: Order | None
) -> DragReport:
    """What was computed of a stack under one clamp force, drawn, in words, and with how it was worked out."""
    return DragReport(
        torque,
        section(stack, torque.slipping, torque.idle),
        order,
        _sentences(stack, torque, order),
        tuple(_rows(stack, contacts, clamp_N, torque)),
    )


@dataclass(frozen=True, slots=True)
class FaceRow:
    """One slipping face with the numbers its torque is made of; losses along keys are left out."""

    below: str
    above: str
    mu: Quantity
    source: str
    inner_mm: float
    outer_mm: float
    new_radius_mm: float
    run_in_radius_mm: float
    clamp_N: float

    @property
    def run_in_Nm(self) -> float:
        return self.mu.value * self.clamp_N * self.run_in_radius_mm / 1000


def face_rows(stack: Stack, contacts: Sequence[Contact], clamp_N: Quantity, torque: StackTorque) -> tuple[FaceRow, ...]:
    """Every face that slips, from the far end on."""
    return tuple(
        FaceRow(
            below=stack.bodies[face.index].name,
            above=stack.bodies[face.index + 1].name,
            mu=face.coefficient.mu,
            source=face.coefficient.source,
            inner_mm=2000 * face.inner_radius_m,
            outer_mm=2000 * face.outer_radius_m,
            new_radius_mm=_radius_mm(face, Assumption.PRESSURE),
            run_in_radius_mm=_radius_mm(face, Assumption.WEAR),
            clamp_N=clamp_N.value,
        )
        for face in (contacts[place] for place in torque.slipping)
        if face.coefficient is not None
    )


def _radius_mm(face: Contact, assumption: Assumption) -> float:
    return 1000 * float(friction_radius_m(face.inner_radius_m, face.outer_radius_m, assumption))


def _sentences(stack: Stack, torque: StackTorque, order: Order | None) -> tuple[str, ...]:
    count = len(torque.slipping)
    new, run_in = in_words(torque.new_Nm, "N m"), in_words(torque.run_in_Nm, "N m")
    said = [f"{count} surface{'' if count == 1 else 's'} slip{'s' if count == 1 else ''}: {new} new, {run_in} run in."]
    if torque.idle:
        names = [stack.bodies[place].name for place in torque.idle]
        said.append(f"Idle, only taking up room: {', '.join(names)}.")
    if order is not None and order.share_lost >= LEAST_LOST:
        said.append(f"This order loses {100 * order.share_lost:.0f} % of the drag the same washers could give.")
        which = "Right order" if order.proven else f"Better order, {NOT_EVERY_ORDER}"
        said.append(f"{which}, from the far end: {', '.join(stack.bodies[p].name for p in order.places)}.")
    return tuple(said)


def _rows(stack: Stack, contacts: Sequence[Contact], clamp_N: Quantity, torque: StackTorque) -> list[Worked]:
    faces = face_rows(stack, contacts, clamp_N, torque)
    rows = [_face_row(face, assumption) for face in faces for assumption in Assumption]
    for assumption, total in ((Assumption.PRESSURE, torque.new_Nm), (Assumption.WEAR, torque.run_in_Nm)):
        rows.append(
            Worked(
                f"stack, {assumption.value}",
                "T = sum of the slipping surfaces" + (", less the loss along keys" if stack.key_friction else ""),
                f"slipping surfaces {len(torque.slipping)}: T = {value_in_words(total, 'N m')}",
                "equilibrium of the chain of washers; checked against a general max-flow",
            )
        )
    return rows


def _face_row(face: FaceRow, assumption: Assumption) -> Worked:
    new = assumption is Assumption.PRESSURE
    radius = face.new_radius_mm if new else face.run_in_radius_mm
    clamp = value_in_words(Quantity.exact(face.clamp_N), "N")
    holds = value_in_words(face.mu.scaled(face.clamp_N * radius / 1000), "N m")
    return Worked(
        f"{face.above} on {face.below}, {assumption.value}",
        "T = μ W R, R = " + ("2/3 (ro³ - ri³)/(ro² - ri²)" if new else "(ro + ri)/2"),
        f"ri = {written(face.inner_mm / 2, '.4g')} mm, ro = {written(face.outer_mm / 2, '.4g')} mm, "
        f"R = {written(radius, '.4g')} mm; "
        f"{value_in_words(face.mu)} × {clamp} × {written(radius, '.4g')} mm = {holds}",
        f"Khurmi and Gupta, Theory of Machines, sections 10.32 to 10.36; coefficient: {face.source}",
    )


def at_the_spool(torque_Nm: Quantity, drive: Drive) -> Worked:
    """How the drag's torque becomes the spool's."""
    if not drive.geared:
        return Worked("torque at the spool", "T spool = T drag", value_in_words(torque_Nm, "N m"), "no gears between")
    eta, ratio = drive.mesh_efficiency.value, drive.gear_ratio
    drag, spool = (value_in_words(each, "N m") for each in (torque_Nm, torque_Nm.scaled(1 / ratio / eta)))
    return Worked(
        "torque at the spool",
        "T spool = T drag / (i η)",
        f"{drag} / ({written(ratio)} × {written(eta)}) = {spool}",
        "the fish turns the gears; mesh loss from handbook figures, from memory",
    )
