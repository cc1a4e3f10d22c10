"""Possible cases of the invented clinic's log, judged by eye: the texts as they would be typed."""

_NAMES = (
    "age_months dentition overjet overbite open_teeth molar_right molar_left crowding crossbite_inside "
    "crossbite_outside anb sn_mp state"
).split()


def _row(*texts: str) -> dict[str, str]:
    return {name: text for name, text in zip(_NAMES, texts, strict=True) if text}


POSSIBLE = (
    _row("12 y 4 m", "permanent", "9,5", "5", "", "full2", "full2", "3", "0", "0", "6", "33", "possible"),
    _row("13 y 9 m", "permanent", "2", "o 3", "6", "class1", "toward3", "2,5", "2", "0", "3", "42", "chosen"),
    _row("15 y 2 m", "permanent", "x 2", "1", "", "full3", "end3", "1", "4", "0", "−3", "36", "possible"),
    _row("11 y 0 m", "mixed", "6", "4.5", "", "end2", "end2", "4", "1", "0", "", "", "possible"),
    _row("24 y 6 m", "permanent", "3", "6", "", "class1", "class1", "8 mm", "0", "0", "2", "29", "possible"),
    _row("14 y 1 m", "permanent", "5,5", "3", "", "end2", "class1", "6", "0", "1", "4", "35", "possible"),
    _row("12 y 11 m", "permanent", "e", "e", "4", "end3", "end3", "0", "2", "0", "0", "38", "possible"),
    _row("31 y 3 m", "permanent", "4", "7", "", "full2", "end2", "5", "0", "2", "7", "24", "possible"),
    _row("13 y 5 m", "permanent", "3,5", "2", "", "class1", "class1", "7,5", "0", "0", "", "", "left_out"),
    _row("10 y 8 m", "mixed", "8", "5.5", "", "full2", "beyond2", "", "0", "0", "8", "30", "possible"),
    _row("16 y 7 m", "permanent", "2.5", "o 1", "", "", "class1", "2", "1", "0", "", "", "possible"),
    _row("12 y 2 m", "permanent", "", "", "", "end2", "", "", "", "", "", "", "possible"),
)
"""A dozen: deep and open bites, reverse overjet, crowding alone, some with gaps because nobody looked."""

BY_EYE = {
    0: _row("", "permanent", "10", "5", "", "full2", "full2", "4", "0", "0", "6", "", "chosen"),
    1: _row("", "permanent", "3", "o 4", "6", "class1", "class1", "2", "2", "0", "", "44", "possible"),
}
"""What was written down of the first two measured cases before they were measured."""
