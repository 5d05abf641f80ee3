"""How long one coat takes to dry. Times in minutes."""

from dataclasses import dataclass


@dataclass(frozen=True)
class DryTimes:
    """One coat of one kind of paint in the room. recoat_min: before the next coat or a cut beside it."""

    kind: str
    wet_um: float
    dry_um: float
    touch_dry_min: float
    recoat_min: float
    handling_min: float
    cured_min: float
    dryer_hand_min: float | None = None
    """Minutes of holding the hair dryer that bring it to touch dry, None if no dryer is used on it."""
    dryer_rest_min: float = 0.0
    """Rest after the dryer before it may be recoated or cut beside."""
    over_min: float = 0.0
    """Before another kind of paint is brushed over it, as the label has it; 0: as soon as it may be recoated."""

    @property
    def brushed_over_min(self) -> float:
        """Before another kind of paint is brushed over it."""
        return max(self.recoat_min, self.over_min)
