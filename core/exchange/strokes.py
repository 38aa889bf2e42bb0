"""Letters of single strokes, for names that a machine engraves.

Programs for lasers and knives replace or drop the fonts of a text, or cut its letters out as outlines;
a line is a line to all of them. Capitals alone, on a grid four wide and six high, drawn for this.
"""

from __future__ import annotations

import unicodedata

import numpy as np

from core.geometry.ring import Array

_ROUND = "100105163645413010"
_P = "00063645443303"
# Strokes parted by blanks; each pair of digits is a point, x then y.
_GLYPHS = {
    " ": "",
    "A": "0004264440 0343", "B": "00063645443303 3342413000", "C": "4536160501103041", "D": "00062644422000",
    "E": "46060040 0333", "F": "460600 0333", "G": "45361605011030414323", "H": "0006 4046 0343",
    "I": "1030 2026 1636",
    "J": "4641301001", "K": "0006 4602 1340", "L": "060040", "M": "0006234640", "N": "00064046",
    "O": _ROUND, "P": _P, "Q": f"{_ROUND} 2240", "R": f"{_P} 2340", "S": "453616050413334241301001",
    "T": "0646 2620", "U": "060110304146", "V": "062046", "W": "0610233046", "X": "0046 0640",
    "Y": "0623 462320", "Z": "06460040",
    "0": f"{_ROUND} 1135", "1": "152620 1030", "2": "05163645440040", "3": "0516364544334241301001 1333",
    "4": "30360242", "5": "460604344341301001", "6": "4536160501103041423303", "7": "064610",
    "8": "13040516364544331302011030414233", "9": "0110304145361605041343",
    "-": "1333", ".": "2021", ",": "2110", ":": "2122 2425", ";": "2110 2425", "/": "0046", "(": "36252130",
    ")": "16252110", "×": "1135 1531", "+": "2125 0343", "'": "2624", "°": "1526352415", "=": "0242 0444",
    "&": "40040516252401103042",
    "#": "1016 3036 0242 0444", "%": "0046 0515160605 3141403031",
    "_": "0040", "!": "2622 2120", "?": "05163645442322 2120", '"': "1614 3634",
}
_ALIKE = str.maketrans({"–": "-", "—": "-", "−": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "⁄": "/",
                        "·": "-", "ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "AE", "ł": "l", "Ł": "L"})
_ADVANCE, _HIGH = 6.0, 6.0


def spelt(text: str) -> str | None:
    """``text`` in the letters there are, without accents; None where it has others."""
    plain = unicodedata.normalize("NFKD", " ".join(text.split()).translate(_ALIKE)).translate(_ALIKE)
    plain = "".join(c for c in plain if not unicodedata.combining(c)).upper()
    return plain if plain and all(c in _GLYPHS for c in plain) else None


def width(text: str, high: float) -> float:
    """How wide ``text``, as ``spelt`` gave it, is in mm when capitals are ``high`` mm."""
    return (_ADVANCE * len(text) - (_ADVANCE - 4.0)) * high / _HIGH


def strokes(text: str, x: float, y: float, high: float) -> list[Array]:
    """Lines (N, 2) in mm, from the lower left corner (x, y); each stroke once.

    KeyError for a sign that ``spelt`` would not have given.
    """
    found = []
    for at, sign in enumerate(text):
        for run in _GLYPHS[sign].split():
            grid = np.array([(int(run[i]), int(run[i + 1])) for i in range(0, len(run), 2)], dtype=float)
            found.append((grid + np.array((at * _ADVANCE, 0.0))) * (high / _HIGH) + np.array((x, y)))
    return found
