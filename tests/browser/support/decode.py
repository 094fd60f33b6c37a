"""Every QR code on a printed page, rasterised as a scanner at a desk would and read by another's decoder."""

import json
import sys

import pypdfium2
import zxingcpp

DPI = 150


def codes(path):
    """Text, error correction level and width without its margin [mm] of each code, page by page."""
    found = []
    for page in pypdfium2.PdfDocument(path):
        picture = page.render(scale=DPI / 72).to_pil().convert("L")
        for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode):
            corners = code.position
            wide = (corners.top_right.x - corners.top_left.x) / DPI * 25.4
            found.append({"text": code.text, "level": code.ec_level, "mm": wide})
    return found


print(json.dumps(codes(sys.argv[1])))
