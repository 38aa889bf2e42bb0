"""An edit that no file could hold is refused where it is made; what is accepted is saved and read again."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from app.work.document import Document
from core.design import EMPTY, LIMIT, MOST_PARTS, MOST_TEXT, Alternative, Design, Node, Outline, Weight
from core.design_check import MOST_NODES, broken_by, problems
from core.design_file import read
from core.redesign.outline_edits import EditError, scale_about

TRIANGLE = (Node(0.0, 0.0), Node(100.0, 0.0), Node(60.0, 40.0))
DESIGN = replace(EMPTY, title="Held", outlines=(Outline("body", "fuselage", TRIANGLE),))
BROKEN = {
    "notes": lambda d: replace(d, notes="n" * (MOST_TEXT + 1)),
    "title": lambda d: replace(d, title="t" * (MOST_TEXT + 1)),
    "far node": lambda d: replace(d, outlines=(scale_about(d.outlines[0], (0.0, 0.0), 1e5, 1.0),)),
    "no number": lambda d: replace(d, weights=(Weight("w", float("nan"), 0.0),)),
    "far handle": lambda d: replace(d, outlines=(
        replace(d.outlines[0], nodes=(*TRIANGLE[:2], Node(0.0, 9.0, handle_in=(0.0, 2 * LIMIT)))),)),
    "two nodes": lambda d: replace(d, outlines=(replace(d.outlines[0], nodes=TRIANGLE[:2]),)),
    "count": lambda d: replace(d, outlines=(replace(d.outlines[0], count=9),)),
    "twins": lambda d: replace(d, outlines=d.outlines * 2),
    "parts": lambda d: replace(d, weights=tuple(Weight(f"w-{i}", 1.0, 0.0) for i in range(MOST_PARTS + 1))),
    "aim": lambda d: replace(d, aim=replace(d.aim, cla_fraction=2.5)),
    "kept": lambda d: replace(d, alternatives=(
        Alternative(id="k", outlines=(replace(d.outlines[0], nodes=(*TRIANGLE, Node(2 * LIMIT, 0.0))),)),)),
}


@pytest.mark.parametrize("what", BROKEN)
def test_what_saving_would_refuse_is_refused_at_the_hand(what: str, tmp_path: Path) -> None:
    document = Document(DESIGN)
    said: list[str] = []
    document.refused = said.append
    wrong = BROKEN[what](DESIGN)
    assert problems(wrong)[0] == broken_by(DESIGN, wrong)
    document.apply("spoil", lambda _: wrong)
    assert document.committed is DESIGN and document.design is DESIGN and document.undo_name is None
    assert said == [f"Spoil was not done – {problems(wrong)[0]}"]
    document.save(tmp_path / "held.sternpost")


def test_a_gesture_and_a_proposal_are_refused_likewise() -> None:
    document = Document(DESIGN)
    said: list[str] = []
    document.refused = said.append
    wrong = BROKEN["far node"](DESIGN)
    document.begin("drag")
    document.preview(wrong)
    document.commit()
    assert document.design is DESIGN and not document.busy
    document.propose(wrong, "refit")
    document.accept()
    assert document.design is DESIGN and document.proposal is None
    assert [sentence.split(" – ")[0] for sentence in said] == ["Drag was not done", "Refit was not done"]


def test_without_a_window_it_is_an_error() -> None:
    with pytest.raises(EditError, match="Spoil was not done"):
        Document(DESIGN).apply("spoil", BROKEN["notes"])


def test_scaled_to_ten_thousand_per_cent_again_and_again_it_stays_what_can_be_read(tmp_path: Path) -> None:
    document = Document(DESIGN)
    said: list[str] = []
    document.refused = said.append
    for _ in range(4):
        document.apply("scale from the root", lambda d: replace(
            d, outlines=(scale_about(d.outlines[0], (0.0, 0.0), 100.0, 100.0),)
        ))
    assert len(said) == 2
    document.save(tmp_path / "large.sternpost")
    assert read(tmp_path / "large.sternpost").design == document.committed


def test_kept_states_count_towards_the_nodes_that_a_file_may_hold() -> None:
    half = tuple(Node(float(i), float(i % 7)) for i in range(MOST_NODES // 2 + 1))
    large = replace(DESIGN, outlines=(replace(DESIGN.outlines[0], nodes=half),))
    kept = replace(large, alternatives=(Alternative(id="k", outlines=large.outlines),))
    assert broken_by(DESIGN, large) is None
    why = broken_by(large, kept)
    assert why is not None and "with all kept states" in why
    # What a file brought with it may be made less.
    less = replace(kept, outlines=(replace(kept.outlines[0], nodes=half[:-1]),))
    assert broken_by(kept, less) is None


def test_only_what_changed_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    from core import design_check

    looked: list[object] = []
    node = design_check._node
    monkeypatch.setattr(design_check, "_node", lambda at, n: (looked.append(n), node(at, n))[1])
    many = replace(DESIGN, outlines=tuple(Outline(f"o-{i}", "fuselage", TRIANGLE) for i in range(50)))
    moved = Outline("o-7", "fuselage", (*TRIANGLE, Node(1.0, 2.0)))
    after: Design = replace(many, outlines=(*many.outlines[:7], moved, *many.outlines[8:]))
    assert broken_by(many, after) is None and len(looked) == 4
