#!/usr/bin/env python3
"""Cuts the page's three font files out of the full upstream sources. See README.md for the command.

Why not ready-made web subsets: they leave out the slashed zero and some superior figures, and a lot
number that falls back to another font for one digit is read wrongly.
"""

import io
import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

HERE = Path(__file__).parent

LATIN = [*range(0x20, 0x7F), *range(0xA0, 0x100), 0x131, 0x152, 0x153, 0x160, 0x161, 0x178, 0x17D, 0x17E]
SPACES = [0x2007, 0x2009, 0x200A, 0x202F]
POINTS = [0x2010, 0x2011, 0x2012, 0x2013, 0x2014, 0x2018, 0x2019, 0x201A, 0x201C, 0x201D, 0x201E, 0x2026, 0x2032, 0x2044]
FIGURES = [0x2070, *range(0x2074, 0x207A), 0x207B, *range(0x2080, 0x208A)]
MATHS = [ord(c) for c in "×−÷±≤≥≈√·∫→ηφωμ"]
TEXT = {*LATIN, *SPACES, *POINTS, *FIGURES, *MATHS}
# The italic sets letters in formulas and the one lead word "Note", in any of the page's languages.
LETTERS = {0x20, 0xA0, *range(0x41, 0x5B), *range(0x61, 0x7B), *range(0x2080, 0x208A), *map(ord, "äöüßéíñóú()/·ηφωμ")}

# output, family, style, source, limits of the axes, characters
CUTS = [
    ("strawline-sans.woff2", "Strawline Sans", "Regular", "source-sans/VF/SourceSans3VF-Upright.ttf", {"wght": (400, 600)}, TEXT),
    ("strawline-serif.woff2", "Strawline Serif", "SemiBold", "source-serif/VAR/SourceSerif4Variable-Roman.ttf", {"wght": 600, "opsz": 28}, TEXT),
    ("strawline-serif-italic.woff2", "Strawline Serif", "Italic", "source-serif/VAR/SourceSerif4Variable-Italic.ttf", {"wght": 400, "opsz": 20}, LETTERS),
]


def only_figures(font, tag):
    """Keeps a substitution for figures alone; for letters it would carry 90 unused glyphs along."""
    gsub = font["GSUB"].table
    figures = {font.getBestCmap()[ord(c)] for c in "0123456789"}
    for record in gsub.FeatureList.FeatureRecord:
        if record.FeatureTag != tag:
            continue
        for index in record.Feature.LookupListIndex:
            for table in gsub.LookupList.Lookup[index].SubTable:
                table = getattr(table, "ExtSubTable", table)
                if hasattr(table, "mapping"):
                    table.mapping = {k: v for k, v in table.mapping.items() if k in figures}


def rename(font, family, style):
    """The licence reserves the upstream name, so a changed font carries its own; copyright and licence stay."""
    names = font["name"]
    names.names = [n for n in names.names if n.nameID in (0, 13, 14)]
    postscript = f"{family.replace(' ', '')}-{style}"
    for number, text in {1: family, 2: style, 3: f"{postscript};subset", 4: f"{family} {style}", 5: "Version 1.0", 6: postscript}.items():
        names.setName(text, number, 3, 1, 0x409)
    if "fvar" in font:
        names.setName("Weight", 256, 3, 1, 0x409)
        font["fvar"].instances = []
        for axis in font["fvar"].axes:
            axis.axisNameID = 256
    if "STAT" in font:
        del font["STAT"]


def cut(upstream, output, family, style, source, limits, characters):
    limited = io.BytesIO()  # saved and read again: the subsetter needs the tables rebuilt
    instancer.instantiateVariableFont(TTFont(upstream / source, recalcTimestamp=False), limits).save(limited)
    limited.seek(0)
    font = TTFont(limited, recalcTimestamp=False)
    missing = sorted(c for c in characters if c not in font.getBestCmap())
    only_figures(font, "sups")
    options = subset.Options(
        layout_features=["lnum", "tnum", "zero", "sups", "kern"],
        hinting=False, flavor="woff2", name_IDs=["*"], notdef_outline=True, recalc_timestamp=False,
    )
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=characters)
    cutter.subset(font)
    rename(font, family, style)
    target = HERE / output
    subset.save_font(font, str(target), options)
    print(f"{output}: {target.stat().st_size} bytes; not drawn upstream: {', '.join(f'U+{c:04X}' for c in missing) or 'none'}")
    return target.stat().st_size


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: subset.py FOLDER, where FOLDER holds source-sans/ and source-serif/ as unpacked from npm")
    total = sum(cut(Path(sys.argv[1]), *one) for one in CUTS)
    print(f"together: {total} bytes")
    if total > 60_000:
        sys.exit("over the budget of 60000 bytes: drop a weight before a character")
