"""More station views with something in the way: a machine that stands, and what would follow too late."""

from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.views.figures import FollowOnView
from orchestrator.core.views.models import StationView
from tests.fakes.canned import BAKE, COOK, alarm, busy_station, heating, later

STOPPED_CHURN = alarm(
    "machine_stopped:churn",
    "unacknowledged",
    -37,
    {
        "kind": "machine_stopped",
        "priority": "warning",
        "title": "Churn",
        "equipment": "churn",
        "lots": ("B1", "B2", "S1", "H2"),
        "orders": ("SAT-STALL", "SUN-CAFE"),
        "since": later(-37),
        "expected_at": later(83),
        "assumed": True,
        "limit_at": later(1560),
        "save_by": later(1480),
        "reason": "belt slips",
        "stations": ("stove",),
        "helps": ("repair_by", "use_other_machine"),
    },
)


def judged_station(**more: object) -> StationView:
    """A custard on the hob whose limit is judged as it cooks."""
    verdict = {
        "limit": "frozen-dessert-mix",
        "title": "Pasteurise a mix",
        "applied": "Town of Example, Ordinance 12",
        "status": "not yet",
        "tolerance_degrees": 0.5,
        **more,
    }
    said = LimitVerdict.model_validate(verdict)
    cook = COOK.model_copy(update={"temperature": heating(verdict=said), "limit_said": said})
    return busy_station(in_hand=(cook, BAKE))


def followed_station(window: str = "safety", *, in_the_way: bool = False) -> StationView:
    """One task is due whose follower would find its machine taken."""
    follow_on = FollowOnView.model_validate(
        {
            "title": "Chill the custard base",
            "machine": "Ice bath",
            "free_at": later(48),
            "needed_by": later(44),
            "start_from": later(4),
            "window": window,
            "in_the_way": in_the_way,
        }
    )
    cook = COOK.model_copy(
        update={"status": "waiting", "started_at": None, "planned_start": later(-1), "follow_on": follow_on}
    )
    return busy_station(in_hand=(cook, BAKE))
