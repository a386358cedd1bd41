"""A search over boxes: thousands of vented boxes, and of boxes with passive radiators, at once."""

from __future__ import annotations

from dataclasses import dataclass

from boomwright.build.drawer import load_drawer
from boomwright.design.box.search import Found, best_radiator, best_vented
from boomwright.design.box.wish import BoxWish, subject_of

__all__ = ["BoxSearch", "box_search"]


@dataclass(frozen=True)
class BoxSearch:
    """Both searches for one driver, ready to be timed."""

    wish: BoxWish

    def vented(self) -> Found | None:
        """Best vented box: volumes by tunings by vents."""
        return best_vented(self.wish, subject_of(self.wish, versions=0))

    def radiator(self) -> Found | None:
        """Best box with passive radiators: volumes by tunings by sets of radiators."""
        return best_radiator(self.wish, subject_of(self.wish, versions=0))


def box_search() -> BoxSearch:
    """Searches for a five-inch driver of the drawer on a 12 V battery."""
    driver = load_drawer().part("driver", "driver-5in-8ohm")
    return BoxSearch(BoxWish(driver=driver, volts=(12.9, 10.5, 9.0), resistance=0.3))  # type: ignore[arg-type]
