"""Says what Pillow sees in every picture of a folder that it can read: a line each of name, width, height and the greys, row by row, as two
hexadecimal digits. A grey is the sRGB value of the picture's luminance in linear light, laid on white.

    python3 tests/data/pictures/greys.py FOLDER

sRGB: IEC 61966-2-1; luminance: ITU-R BT.709.
"""
import sys
from pathlib import Path

from PIL import Image


def to_light(value):
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def to_srgb(light):
    return light * 12.92 if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055


def flat(picture):
    """All samples in the order of reading, under the name that this Pillow has for it."""
    return picture.get_flattened_data() if hasattr(picture, "get_flattened_data") else picture.getdata()


def samples(picture):
    """Red, green, blue, alpha from 0 to 1. Pillow keeps 16 bits of grey, and the upper eight of colours."""
    clear = picture.info.get("transparency")
    if picture.mode.startswith("I"):
        for value in flat(picture):
            yield (value / 65535,) * 3 + (float(value != clear),)
        return
    if picture.mode == "RGB" and isinstance(clear, tuple):
        # Of a 16-bit picture Pillow gives the clear colour whole, but the samples cut.
        clear = tuple(part >> 8 for part in clear) if max(clear) > 255 else clear
        for pixel in flat(picture):
            yield tuple(part / 255 for part in pixel) + (float(pixel != clear),)
        return
    for pixel in flat(picture.convert("RGBA")):
        yield tuple(part / 255 for part in pixel)


def grey(red, green, blue, alpha):
    light = 0.2126 * to_light(red) + 0.7152 * to_light(green) + 0.0722 * to_light(blue)
    return round(255 * to_srgb(light * alpha + 1 - alpha))


for path in sorted(Path(sys.argv[1]).glob("*.png")):
    try:
        picture = Image.open(path)
        picture.load()
    except (OSError, SyntaxError):
        continue
    print(path.name, *picture.size, "".join(f"{grey(*sample):02x}" for sample in samples(picture)))
