"""Makes the typefaces of src/render/fonts: subsets of DejaVu Sans Condensed, as TrueType.

Needs fonttools (`pip install fonttools`) and the Debian package fonts-dejavu-extra, 2.37-6:

    python tests/scripts/subset_fonts.py /usr/share/fonts/truetype/dejavu src/render/fonts

Kept: Latin with its extensions, Greek, Cyrillic, combining marks, punctuation, currency, superscripts and
subscripts, letter-like signs, fractions, arrows, mathematical signs, geometric shapes, and the box that
stands for a character that is not there. Dropped: hinting, shaping tables, glyph names.
"""

import pathlib
import sys

from fontTools import subset

RANGES = [
    (0x20, 0x7E), (0xA0, 0x17F), (0x192, 0x192), (0x1CD, 0x1DC), (0x218, 0x21B), (0x2B0, 0x2DD),
    (0x300, 0x338), (0x370, 0x3FF), (0x400, 0x45F), (0x490, 0x491), (0x1D2C, 0x1D6A), (0x1E80, 0x1E85),
    (0x1E9E, 0x1E9E), (0x2010, 0x2027), (0x202F, 0x205E), (0x2070, 0x209C), (0x20A0, 0x20B5),
    (0x2100, 0x214E), (0x2150, 0x215E), (0x2190, 0x2199), (0x21D0, 0x21D5), (0x2200, 0x22EF),
    (0x2300, 0x2300), (0x2308, 0x230B), (0x2500, 0x2502), (0x2580, 0x258F), (0x25A0, 0x25A1), (0x25B2, 0x25CF),
    (0x2610, 0x2612), (0x2713, 0x2717), (0x27E8, 0x27E9), (0x2A7D, 0x2A7E), (0xFB00, 0xFB04), (0xFFFD, 0xFFFD),
]


def main(source: str, target: str) -> None:
    for name in ("DejaVuSansCondensed", "DejaVuSansCondensed-Bold"):
        options = subset.Options()
        options.hinting = False
        options.layout_features = []
        options.glyph_names = False
        options.notdef_outline = True
        options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
        options.drop_tables += ["GSUB", "GPOS", "GDEF", "kern", "FFTM", "gasp", "post"]
        options.recalc_timestamp = False
        font = subset.load_font(f"{source}/{name}.ttf", options)
        maker = subset.Subsetter(options)
        maker.populate(unicodes=[c for low, high in RANGES for c in range(low, high + 1)])
        maker.subset(font)
        subset.save_font(font, str(pathlib.Path(target) / f"{name}.ttf"), options)


main(*sys.argv[1:])
