"""Which builds go on the parts sheet, and which kept state they are set against. Knows no screen."""

from __future__ import annotations

from collections.abc import Sequence

from core.design import Alternative, Design
from core.parts.built import all_built, built
from core.parts.part import Built
from core.redesign.alternatives import alternative_of, same_state
from core.redesign.outline_edits import EditError
from core.stability.readings import NO_SCALE, scale_known


def builts_of(design: Design, build_ids: Sequence[str] | None) -> tuple[Built, ...]:
    """The parts of those builds, None: of all. EditError, one sentence, where there are none such."""
    if not scale_known(design):
        raise EditError(NO_SCALE)
    if not design.builds:
        raise EditError("no surface has a build yet: give the fin one under Tail parts")
    if build_ids is None:
        return all_built(design)
    by_id = {build.id: build for build in design.builds}
    for wanted in build_ids:
        if wanted not in by_id:
            raise EditError(
                f"no build “{' '.join(wanted[:80].split())}” is in this design: choose among "
                f"{', '.join(list(by_id)[:20])}"
            )
    return tuple(built(design, by_id[wanted]) for wanted in dict.fromkeys(build_ids))


def before_of(design: Design, kept: str | None) -> Alternative | None:
    """The alternative of that id; None: the newest that differs from the design, or nothing."""
    if kept is not None:
        return alternative_of(design, kept)
    return next((one for one in reversed(design.alternatives) if not same_state(design, one)), None)


def kept_builts(kept: Alternative | None) -> tuple[Built, ...]:
    """The parts of the kept state's own builds."""
    return all_built(kept) if kept is not None else ()
