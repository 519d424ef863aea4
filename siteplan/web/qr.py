"""An address as a QR code (ISO/IEC 18004) in the terminal, for a phone to read. The code itself is made by reportlab."""

from __future__ import annotations

_QUIET = 4
"""Width of the white border [modules], as the standard asks."""
_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def qr_modules(text: str) -> list[list[bool]]:
    """Return the modules row by row, true where dark, with the white border.

    Parameters
    ----------
    text : str
        At most about 200 characters, so that a phone reads it off a screen.
    """
    from reportlab.graphics.barcode.qr import QrCodeWidget

    code = QrCodeWidget(text, barLevel="M").qr
    code.make()
    size = code.getModuleCount()
    return [
        [
            0 <= row < size and 0 <= column < size and bool(code.isDark(row, column))
            for column in range(-_QUIET, size + _QUIET)
        ]
        for row in range(-_QUIET, size + _QUIET)
    ]


def qr_text(text: str) -> str:
    """Return the code as lines of half blocks, two rows of modules a line: black ink on a white ground."""
    rows = qr_modules(text)
    if len(rows) % 2:
        rows.append([False] * len(rows[0]))
    return "\n".join(
        "".join(_HALVES[above, below] for above, below in zip(upper, lower, strict=True))
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )
