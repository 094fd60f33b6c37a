"""A label as a camera sees it, and what another's decoder reads in a picture.

`label.py film OUT.y4m FORMAT (01)…` makes a film of a label with that GS1 code, turned, blurred and grainy;
`label.py read < picture.png` writes the codes in it, with the separator as a browser's detector gives it."""

import io
import json
import random
import sys

import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

WIDE, HIGH = 640, 480
FORMATS = {"data_matrix": zxingcpp.BarcodeFormat.DataMatrix, "code_128": zxingcpp.BarcodeFormat.Code128}


def film(path, symbol, elements):
    code = zxingcpp.create_barcode(elements, FORMATS[symbol], gs1=True)
    label = Image.new("L", (600, 300), 235)
    drawn = Image.fromarray(code.to_image(scale=6 if symbol == "data_matrix" else 2, add_quiet_zones=True))
    drawn = drawn.crop((0, 0, drawn.width, min(drawn.height, 200)))
    label.paste(drawn, ((label.width - drawn.width) // 2, 20))
    ImageDraw.Draw(label).text((20, 250), elements, fill=40)
    picture = Image.new("L", (WIDE, HIGH), 120)
    turned = label.rotate(4, expand=True, fillcolor=120, resample=Image.Resampling.BICUBIC)
    picture.paste(turned, ((WIDE - turned.width) // 2, (HIGH - turned.height) // 2))
    picture = picture.filter(ImageFilter.GaussianBlur(0.7))
    chance = random.Random(elements)
    with open(path, "wb") as file:
        file.write(f"YUV4MPEG2 W{WIDE} H{HIGH} F10:1 Ip A1:1 C420jpeg\n".encode())
        for _ in range(3):
            grainy = bytes(min(255, max(0, light + chance.randint(-12, 12))) for light in picture.tobytes())
            file.write(b"FRAME\n" + grainy + bytes([128]) * (WIDE * HIGH // 2))


def read():
    picture = Image.open(io.BytesIO(sys.stdin.buffer.read())).convert("L")
    codes = zxingcpp.read_barcodes(picture, text_mode=zxingcpp.TextMode.Plain)
    names = {one: name for name, one in FORMATS.items()}
    print(json.dumps([{"rawValue": code.text, "format": names.get(code.format, "unknown")} for code in codes]))


film(*sys.argv[2:]) if sys.argv[1] == "film" else read()
