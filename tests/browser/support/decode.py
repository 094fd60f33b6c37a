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
    """Of each code that zxing reads text, error correction level and width without its margin [mm]; texts that zbar
    reads; all words on the paper."""
    found = {"zxing": [], "zbar": [], "words": ""}
    for page in pypdfium2.PdfDocument(path):
        picture = page.render(scale=DPI / 72).to_pil().convert("L")
        for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode):
            corners = code.position
            wide = (corners.top_right.x - corners.top_left.x) / DPI * 25.4
            found["zxing"].append({"text": code.text, "level": code.ec_level, "mm": wide})
        found["zbar"] += by_zbar(picture)
        found["words"] += " ".join(page.get_textpage().get_text_range().split()) + " "
    return found


print(json.dumps(codes(sys.argv[1])))
