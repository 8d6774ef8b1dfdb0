"""Codes to scan: an address drawn as squares that a phone's camera reads."""

import segno


def qr_address(text: str) -> str:
    """The code as an address of its own (a ``data:`` picture), ready for an image."""
    # middle error correction: a thumb or a scratch on the screen does no harm
    return segno.make(text, error="m", micro=False).svg_data_uri(scale=4, border=4)
