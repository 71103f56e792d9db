"""The estimate of the drop as one answer: by cylinder count, and by degrees of late timing."""

from diagnose.calc.answer import Answer, Table, Value
from diagnose.calc.propeller_load import MODEL, estimate_drops, late_drop

SCHEMA = "calc-drop/1"
COUNTS = (4, 6, 8, 9, 14, 18)


def drop_answer(rpm: float) -> Answer:
    """Return the drops from `rpm` on both, with every constant stated. Raises BadInput."""
    estimates = [estimate_drops(count, rpm) for count in COUNTS]
    rows = tuple((str(e.cylinders), round(e.normal), round(e.one_silent), round(e.two_silent)) for e in estimates)
    late = tuple((str(d), round(late_drop(rpm, d))) for d in (0, 2, 5, 10, 15))
    return Answer(
        schema=SCHEMA,
        title="Drop to expect on one magneto (an estimate, not a limit)",
        inputs=(
            Value("rpm on both", rpm, "rpm"),
            Value("friction", MODEL.friction, "of indicated torque", note="estimate"),
            Value("indicated torque goes with rpm to", MODEL.torque_exponent, "power", note="estimate, of power"),
            Value("single ignition costs", MODEL.single_ignition_loss, "of indicated torque", note="estimate"),
            Value("late timing costs", MODEL.loss_per_degree_squared, "per degree squared", note="from memory"),
        ),
        tables=(
            Table(
                "Drop in rpm, fixed pitch, fixed throttle",
                ("cylinders", "healthy", "one silent", "two silent"),
                rows,
            ),
            Table(
                "Drop in rpm when that magneto fires late, any cylinder count",
                ("crank deg late", "drop"),
                late,
            ),
        ),
        says=(
            "Holds for fixed pitch, or a constant-speed propeller resting on its low-pitch stop.",
            "On 8 and 9 cylinders one silent plug sits near the usual limits; on 14 and 18 it hides inside them.",
        ),
    )
