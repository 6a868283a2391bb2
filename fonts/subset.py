#!/usr/bin/env python3
"""Makes the font files of this folder out of the originals, so that anyone can make them again.

    python3 fonts/subset.py SOURCES

SOURCES is a folder that holds the originals under the names below. Needs fonttools (pip install fonttools).
Outlines, kerning, ligatures, marks and joining rules stay; instructions for screens and rare alternates go.
"""
import subprocess
import sys
from pathlib import Path

LATIN = "U+0020-007E,U+00A0-024F,U+0259,U+02B0-02FF,U+0300-036F,U+1E00-1EFF"
GREEK = "U+0370-03FF"
CYRILLIC = "U+0400-052F"
PUNCTUATION = "U+2000-206F,U+2070-209F,U+20A0-20BF,U+2100-214F,U+2150-218F,U+2190-21FF,U+2200-22FF,U+2300-2311,U+25CC,U+FB00-FB06,U+FFFD"
TEXT = ",".join([LATIN, GREEK, CYRILLIC, PUNCTUATION])
SYMBOLS = ("U+2030-205E,U+2070-209F,U+2190-23FF,U+2440-27BF,U+27F0-27FF,U+2900-297F,U+2B00-2BFF,U+3008-3011,"
           "U+1F100-1F1FF,U+1F300-1F5FF,U+1F600-1F64F,U+1F680-1F6FF,U+1F780-1F7FF,U+1F800-1F8FF")
EMOJI = "U+0023,U+002A,U+0030-0039,U+200D,U+20E3,U+FE0F,U+2300-2BFF,U+1F000-1FAFF"
HEBREW = "U+0020-0040,U+005B-0060,U+007B-007E,U+00A0,U+0590-05FF,U+200C-200F,U+2010-2026,U+20AA,U+25CC,U+FB1D-FB4F"
ARABIC = "U+0020-0040,U+005B-0060,U+007B-007E,U+00A0,U+0600-06FF,U+0750-077F,U+200C-200F,U+2010-2026,U+25CC,U+FDFC,U+FE70-FEFF"
# Pictures that the emoji face draws better in one bit: left out of the symbol faces, which are asked before it.
PICTURES = "☀☁☂☎☔☕☝☹☺⚓⚖⚠⚡✂✈✉✏✒✋⌚⌛⌨⏰⏳⛔❄♨"

def without(unicodes: str, left_out: str) -> str:
    """The ranges with some characters taken out of them, one by one."""
    kept = []
    for part in unicodes.split(","):
        first, _, last = part.removeprefix("U+").partition("-")
        kept += [f"U+{code:04X}" for code in range(int(first, 16), int(last or first, 16) + 1) if chr(code) not in left_out]
    return ",".join(kept)


FACES = [
    ("NotoSans-Regular.ttf", "sans-regular", TEXT),
    ("NotoSans-Bold.ttf", "sans-bold", TEXT),
    ("NotoSans-Italic.ttf", "sans-italic", TEXT),
    ("NotoSans-BoldItalic.ttf", "sans-bold-italic", TEXT),
    ("JetBrainsMono-Regular.ttf", "mono-regular", TEXT + ",U+2500-259F"),
    ("JetBrainsMono-Bold.ttf", "mono-bold", TEXT + ",U+2500-259F"),
    ("ComicNeue-Bold.otf", "lettering-bold", TEXT),
    ("NotoSansHebrew-Regular.ttf", "hebrew-regular", HEBREW),
    ("NotoSansHebrew-Bold.ttf", "hebrew-bold", HEBREW),
    ("NotoSansArabic-Regular.ttf", "arabic-regular", ARABIC),
    ("NotoSansArabic-Bold.ttf", "arabic-bold", ARABIC),
    ("DejaVuSans.ttf", "symbols", without(SYMBOLS, PICTURES)),
    ("NotoSansSymbols2-Regular.ttf", "symbols-two", without(SYMBOLS, PICTURES)),
    ("NotoEmoji_700Bold.ttf", "emoji", EMOJI),
]


def main() -> None:
    sources, here = Path(sys.argv[1]), Path(__file__).parent
    for original, name, unicodes in FACES:
        target = here / (name + Path(original).suffix)
        subprocess.run(
            ["pyftsubset", str(sources / original), f"--unicodes={unicodes}", f"--output-file={target}", "--no-hinting",
             "--notdef-outline", "--name-IDs=0,1,2,3,4,5,6,13,14", "--drop-tables+=DSIG,gasp,STAT,MATH,prop,FFTM"],
            check=True)
        print(f"{target.name:24} {target.stat().st_size:>8}")


if __name__ == "__main__":
    main()
