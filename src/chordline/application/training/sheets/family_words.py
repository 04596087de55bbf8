"""What the family's sheet says of each capacity: the shape and the next step, never the person."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from chordline.application.tongue import mark

#: What goes well, where a capacity is enough.
GOING_WELL: Final[Mapping[str, str]] = MappingProxyType(
    {
        "hip_extension_deg": mark("Your hips open all the way."),
        "shoulder_flexion_deg": mark("Your shoulders open wide."),
        "shoulder_active_lag_deg": mark("You lift your arms yourself as far as they can go."),
        "pelvic_tuck_deg": mark("You can flatten your lower back whenever you want."),
        "upper_back_rounding_deg": mark("You can make your upper back round."),
        "front_chain_s": mark("You hold the long line well with your tummy to the floor."),
        "back_chain_s": mark("You hold the long line well with your tummy to the ceiling."),
        "shoulder_push_pct": mark("You push yourself tall out of your shoulders."),
        "neck_flexion_deg": mark("Your head moves freely and your shoulders stay where they are."),
        "hand_balance_deg": mark("You stay over your hands."),
    }
)

#: The next step, where something is missing: its name and what to look for.
NEXT_STEP: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "hip_extension_deg": (
            mark("Open hips"),
            mark(
                "The front of your hips grows longer, so that your hips lie flat on the floor and "
                "your legs go straight on from your body."
            ),
        ),
        "shoulder_flexion_deg": (
            mark("Open shoulders"),
            mark(
                "Your arms reach past your ears while your ribs and your lower back stay quiet. "
                "That takes weeks, a little at a time."
            ),
        ),
        "shoulder_active_lag_deg": (
            mark("Lifting the arms yourself"),
            mark("Your arms can go further than you lift them now. You learn to take them there."),
        ),
        "pelvic_tuck_deg": (
            mark("A flat lower back"),
            mark("You learn to roll your hips under, so that your lower back lies flat."),
        ),
        "upper_back_rounding_deg": (
            mark("A round upper back"),
            mark("You learn to make your upper back round, like a cat, and to stay long in it."),
        ),
        "front_chain_s": (
            mark("A longer hold, tummy down"),
            mark("You keep the long line with your tummy to the floor: short, neat, often."),
        ),
        "back_chain_s": (
            mark("A longer hold, tummy up"),
            mark("You keep the long line with your tummy to the ceiling: short, neat, often."),
        ),
        "shoulder_push_pct": (
            mark("Pushing tall"),
            mark("You push the floor away until your shoulders come up to your ears."),
        ),
        "neck_flexion_deg": (
            mark("Head forward"),
            mark("Your chin comes towards your chest while your shoulders stay where they are."),
        ),
        "hand_balance_deg": (
            mark("Balance on the hands"),
            mark("You learn to stay over your hands, with a coach beside you."),
        ),
    }
)
