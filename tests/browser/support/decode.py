"""Every QR code on a printed page, rasterised as a scanner at a desk would and read by two decoders of others."""

import json
import os
import subprocess
import sys
import tempfile

import pypdfium2
import zxingcpp

DPI = 150


def by_zbar(picture):
    """Texts that zbar reads; it ends with 4 where it finds none."""
    with tempfile.NamedTemporaryFile(suffix=".png") as file:
        picture.save(file.name)
        only = ["--quiet", "--raw", "-Sdisable", "-Sqrcode.enable"]
        done = subprocess.run([os.environ.get("ZBARIMG", "zbarimg"), *only, file.name], capture_output=True, text=True)
    if done.returncode not in (0, 4):
        raise RuntimeError(done.stderr)
    return sorted(done.stdout.splitlines())


def codes(path):
    """Text, error correction level and width without its margin [mm] of each code, page by page; both read the same."""
    found = []
    for page in pypdfium2.PdfDocument(path):
        picture = page.render(scale=DPI / 72).to_pil().convert("L")
        on_page = []
        for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode):
            corners = code.position
            wide = (corners.top_right.x - corners.top_left.x) / DPI * 25.4
            on_page.append({"text": code.text, "level": code.ec_level, "mm": wide})
        others = by_zbar(picture)
        if others != sorted(code["text"] for code in on_page):
            raise RuntimeError(f"zbar reads {others}, zxing {on_page}")
        found += on_page
    return found


print(json.dumps(codes(sys.argv[1])))
