"""The small drawings beside the words of the help: what is traced, counted and read."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath

from app.kit.marks import draw_cg, draw_cla, draw_fin_centre
from app.kit.state_sign import draw_state
from app.kit.theme import Theme
from app.side.help_sketch import (
    CG,
    CLA,
    FIN,
    FIN_CORNERS,
    HIGH,
    RUDDER_CORNERS,
    WIDE,
    Sketch,
    body_path,
    corners_path,
)
from app.side.help_tail_drawings import MORE
from core.stability.catalogue import GROUPS, TERMS


def drawn(name: str, theme: Theme, ratio: float) -> QImage:
    """The drawing of that name, sharp where a logical pixel is ``ratio`` of the screen's."""
    image = QImage(round(WIDE * ratio), round(HIGH * ratio), QImage.Format.Format_ARGB32_Premultiplied)
    image.setDevicePixelRatio(ratio)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    try:
        DRAWINGS[name](Sketch(painter, theme))
    finally:
        painter.end()
    return image


def _design(s: Sketch) -> None:
    s.plane()
    draw_cg(s.painter, CG, s.theme, 6.0)
    draw_cla(s.painter, CLA, s.theme, 7.0)


def _scan(s: Sketch) -> None:
    s.box(20, 12, 116, 68)
    s.shape(body_path(), edge=s.theme.ink_soft, width=1.0)
    s.shape(corners_path(FIN_CORNERS), edge=s.theme.ink_soft, width=1.0)
    s.line((20, 70), (136, 70), colour=s.theme.ink_soft, width=0.8)
    for x in range(30, 136, 14):
        s.line((x, 67), (x, 73), colour=s.theme.ink_soft, width=0.8)


def _outline(s: Sketch) -> None:
    s.plane(wash=False)
    s.shape(corners_path(FIN_CORNERS), s.theme.tail, s.theme.pick, 2.2)


_NODE, _HANDLE = (58.0, 30.0), (96.0, 14.0)


def _bent(s: Sketch) -> None:
    path = QPainterPath()
    path.moveTo(18, 74)
    path.cubicTo(24, 48, 40, 36, *_NODE)
    path.cubicTo(*_HANDLE, 124, 34, 138, 70)
    s.shape(path, width=2.0)


def _node(s: Sketch) -> None:
    _bent(s)
    s.line(_NODE, _HANDLE, colour=s.theme.pick, width=1.0)
    s.painter.fillRect(QRectF(_NODE[0] - 4, _NODE[1] - 4, 8, 8), QColor(s.theme.pick))
    s.ring(_HANDLE, 3.5, s.theme.paper, s.theme.pick)
    s.words(48, 22, "node")
    s.words(122, 17, "handle")


def _edge(s: Sketch) -> None:
    s.shape(corners_path(((24, 74), (54, 18), (96, 18), (96, 74))), s.theme.tail)
    s.line((96, 18), (96, 74), colour=s.theme.pick, width=3.0)
    s.arrow((102, 46), (130, 46))


def _kind(s: Sketch) -> None:
    s.plane()
    s.wheel((44, 76))
    s.words(44, 34, "fuselage")
    s.words(108, 16, "fin, rudder")
    s.words(76, 82, "wheel")


def _count(s: Sketch) -> None:
    s.body()
    s.tail()
    s.wheel((50, 76))
    s.wheel((58, 76))
    s.words(92, 83, "× 2", s.theme.pick, size=10, bold=True)


def _stance(s: Sketch) -> None:
    s.shape(corners_path(FIN_CORNERS), s.theme.tail, dashed=True)
    s.body()
    s.painter.fillPath(body_path(), QColor(s.theme.paper))
    s.body()
    s.wheel((40, 74), 11)
    s.words(104, 16, "joined")
    s.words(72, 84, "clear")


def _apart(s: Sketch) -> None:
    s.shape(corners_path(((10, 62), (146, 62), (146, 68), (10, 68))), s.theme.body)
    for x in (22, 128):
        s.shape(corners_path(((x, 20), (x + 6, 20), (x + 6, 62), (x, 62))), s.theme.tail)
    s.span(25, 131, 36, "apart")


def _weighs(s: Sketch) -> None:
    s.box(26, 18, 50, 50, s.theme.tail)
    s.words(51, 84, "1 dm²")
    s.words(112, 50, "… g", size=11, bold=True)


def _silhouette(s: Sketch) -> None:
    whole = body_path().united(corners_path(FIN_CORNERS)).united(corners_path(RUDDER_CORNERS))
    s.painter.fillPath(whole, QColor(s.theme.ink))


def _side_area(s: Sketch) -> None:
    whole = body_path().united(corners_path(FIN_CORNERS)).united(corners_path(RUDDER_CORNERS))
    s.shape(whole)
    s.painter.save()
    s.painter.setClipPath(whole)
    for x in range(-40, WIDE, 7):
        s.line((x, HIGH), (x + 50, 0), colour=s.theme.ink_soft, width=0.9)
    s.painter.restore()


def _cla(s: Sketch) -> None:
    s.line((CLA[0], 8), CLA, colour=s.theme.cla, width=1.4)
    s.plane()
    s.line((CLA[0], 8), (CLA[0], 40), colour=s.theme.cla, width=1.4)
    s.dot((CLA[0], 9), 2.5)
    draw_cla(s.painter, CLA, s.theme, 9.0)


def _cg(s: Sketch) -> None:
    s.plane()
    draw_cg(s.painter, CG, s.theme, 9.0)


def _fin_centre(s: Sketch) -> None:
    s.body(wash=False)
    s.tail()
    draw_fin_centre(s.painter, FIN, s.theme, 5.0)


def _tail_arm(s: Sketch) -> None:
    s.plane(wash=False)
    draw_cg(s.painter, CG, s.theme, 6.0)
    draw_fin_centre(s.painter, FIN, s.theme, 4.0)
    s.span(CG[0], FIN[0], 72, "tail arm")


def _fraction(s: Sketch) -> None:
    s.plane(wash=False)
    draw_cg(s.painter, CG, s.theme, 6.0)
    draw_cla(s.painter, CLA, s.theme, 7.0)
    s.span(CG[0], FIN[0], 80, "")
    s.span(CG[0], CLA[0], 70, "", s.theme.cla)


def _bar(s: Sketch, y: float = 46) -> None:
    s.box(20, y - 6, 116, 12)
    s.painter.fillRect(QRectF(45, y - 5, 8, 10), QColor(s.theme.aim))
    s.words(20, y + 23, "0 %")
    s.words(132, y + 23, "100 %")


def _aim(s: Sketch) -> None:
    s.box(20, 38, 116, 16)
    s.painter.fillRect(QRectF(42, 39, 24, 14), QColor(s.theme.aim))
    s.words(54, 32, "aim")
    s.words(42, 70, "22")
    s.words(68, 70, "28 %")


def _plus_minus(s: Sketch) -> None:
    _bar(s)
    s.line((38, 24), (62, 24), colour=s.theme.cla, width=1.4)
    for x in (38, 62):
        s.line((x, 20), (x, 28), colour=s.theme.cla, width=1.4)
    draw_cla(s.painter, (50, 40), s.theme, 6.0)
    s.words(90, 28, "±", size=11, bold=True)


def _reading(s: Sketch) -> None:
    for y, wide in ((24, 46), (44, 58), (64, 38)):
        s.line((16, y), (16 + wide, y), colour=s.theme.ink_soft, width=3.0)
        s.words(118, y + 5, {24: "412 mm", 44: "13 %", 64: "0.05"}[y], bold=True)


def _verdict(s: Sketch) -> None:
    for y, state, word in ((10, "below", "below"), (37, "within", "within"), (64, "above", "above")):
        draw_state(s.painter, QRectF(26, y, 18, 18), state, s.theme.state(state))  # type: ignore[arg-type]
        s.words(88, y + 15, word, s.theme.state(state).name(), size=9, bold=True)  # type: ignore[arg-type]


def _arm_rule(s: Sketch) -> None:
    _bar(s)
    for part in range(1, 10):
        s.line((20 + 11.6 * part, 46), (20 + 11.6 * part, 52), width=0.8)
    draw_cg(s.painter, (20, 46), s.theme, 6.0)
    draw_fin_centre(s.painter, (136, 46), s.theme, 4.0)
    draw_cla(s.painter, (49, 40), s.theme, 7.0)


def _area_band(s: Sketch) -> None:
    for at, high in enumerate((8, 20, 30, 34, 32, 27, 22, 17, 13, 10, 9, 20, 36, 44, 30)):
        s.painter.fillRect(QRectF(14 + 8.6 * at, 78 - high, 7.6, high), QColor(s.theme.body))
    s.line((12, 78), (146, 78))


def _answer(s: Sketch) -> None:
    s.words(58, 40, "24.6 %", size=19, bold=True)
    draw_state(s.painter, QRectF(16, 52, 14, 12), "within", s.theme.state("within"))
    s.line((38, 58), (120, 58), colour=s.theme.within, width=3.0)
    s.line((16, 76), (132, 76), colour=s.theme.ink_soft, width=2.0)


def _witness(s: Sketch) -> None:
    for x, name in ((42, "rule"), (114, "handbook")):
        s.box(x - 32, 28, 64, 34)
        s.words(x, 52, name, bold=True)
    s.line((74, 45), (82, 45), colour=s.theme.pick)
    s.words(78, 82, "both content?", s.theme.ink_soft)


def _guess(s: Sketch) -> None:
    s.box(22, 32, 112, 28)
    s.words(66, 52, "12 mm", s.theme.ink_soft, size=9)
    s.words(112, 53, "?", s.theme.below, size=12, bold=True)


_OWN: Mapping[str, Callable[[Sketch], None]] = {
    "design": _design, "scan": _scan, "outline": _outline, "node": _node, "edge": _edge, "kind": _kind,
    "count": _count, "stance": _stance, "apart": _apart, "weighs": _weighs, "silhouette": _silhouette,
    "side-area": _side_area, "cla": _cla, "cg": _cg, "fin-centre": _fin_centre, "tail-arm": _tail_arm,
    "cla-fraction": _fraction, "aim": _aim, "plus-minus": _plus_minus, "reading": _reading,
    "verdict": _verdict, "arm-rule": _arm_rule, "area-band": _area_band, "answer": _answer,
    "witness": _witness, "guess": _guess,
}
DRAWINGS: Mapping[str, Callable[[Sketch], None]] = {**_OWN, **MORE}
"""By the key of a term."""

_OF_GROUP = {
    "side": "side-area", "tail": "fin-centre", "wing": "wing", "yaw": "firmness", "rudder": "rudder",
    "gust": "wag", "spiral": "spiral", "pitch": "static-margin", "weight": "weight",
}
_OF_READING = {
    "cla_x": "cla", "cla_z": "cla", "cla_aft_of_cg": "cla", "cla_above_cg": "cla", "cg_x": "cg", "cg_z": "cg",
    "tail_arm": "tail-arm", "fin_arm": "tail-arm", "fin_volume": "volume", "tailplane_volume": "volume",
    "mac": "mean-chord", "mac_le_x": "mean-chord", "dihedral_deg": "dihedral",
    "cn_beta_propeller": "propeller", "yaw_reversal_deg": "yaw", "yaw_reversal_low_deg": "yaw",
    "yaw_reversal_high_deg": "yaw", "neutral_point_x": "neutral-point", "tailplane_arm": "tail-arm",
    "cn_rudder": "rudder", "rudder_effectiveness": "rudder", "cla_fraction": "cla-fraction",
    "fin_centre_x": "fin-centre", "fin_centre_z": "fin-centre", "lift_coefficient": "flight",
}


def _of(key: str) -> str:
    if key in _OF_READING:
        return _OF_READING[key]
    if key.startswith("cla_fraction_error"):
        return "plus-minus"
    group = next((group.key for group in GROUPS if key in group.readings), "yaw")
    return _OF_GROUP[group]


READING_DRAWINGS: Mapping[str, str] = {key: _of(key) for key in TERMS}
"""The drawing beside each reading, by its key."""
