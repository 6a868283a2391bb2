"""Makes the pictures beside this file, with Pillow. They are all ours: four fields of grey or colour, 24 x 16 pixels.

    python3 tests/data/pictures/make.py
"""
import struct
import zlib
from pathlib import Path

from PIL import Image, ImageOps

HERE = Path(__file__).parent
WIDE, HIGH = 24, 16


def fields(mode, top_left, top_right, bottom_left, bottom_right):
    picture = Image.new(mode, (WIDE, HIGH))
    for x in range(WIDE):
        for y in range(HIGH):
            row = (top_left, top_right) if y < HIGH // 2 else (bottom_left, bottom_right)
            picture.putpixel((x, y), row[x >= WIDE // 2])
    return picture


GREYS = fields("L", 0, 85, 170, 255)
# What undoes each orientation, so that a reader that honours the tag sees GREYS again.
UNDO = {
    1: None, 2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE, 8: Image.Transpose.ROTATE_270,
}


def turned(orientation):
    picture = GREYS if UNDO[orientation] is None else GREYS.transpose(UNDO[orientation])
    exif = Image.Exif()
    exif[0x0112] = orientation
    return picture, exif


for orientation in UNDO:
    picture, exif = turned(orientation)
    picture.save(HERE / f"turned-{orientation}.jpg", quality=95, exif=exif)
    assert ImageOps.exif_transpose(Image.open(HERE / f"turned-{orientation}.jpg")).size == (WIDE, HIGH)
picture, exif = turned(6)
picture.save(HERE / "turned-6.png", exif=exif)
picture.convert("RGB").save(HERE / "turned-6.webp", lossless=True, exif=exif)

COLOURS = fields("RGB", (255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 255))
COLOURS.save(HERE / "colour.png")
COLOURS.save(HERE / "colour.webp", lossless=True)
COLOURS.save(HERE / "colour-lossy.webp", quality=95)
COLOURS.save(HERE / "colour.jpg", quality=98, subsampling=0)
COLOURS.save(HERE / "progressive.jpg", quality=98, subsampling=0, progressive=True)
COLOURS.convert("P", palette=Image.Palette.ADAPTIVE).save(HERE / "palette.png")
COLOURS.convert("P", palette=Image.Palette.ADAPTIVE).save(
    HERE / "two-frames.gif", save_all=True, append_images=[Image.new("P", (WIDE, HIGH), 0)], duration=100)
fields("CMYK", (0, 0, 0, 255), (0, 0, 0, 170), (0, 0, 0, 85), (0, 0, 0, 0)).save(HERE / "inks.jpg", quality=98)
fields("RGBA", (0, 0, 0, 0), (0, 0, 0, 128), (0, 0, 0, 255), (255, 255, 255, 0)).save(HERE / "alpha.png")
fields("RGBA", (0, 0, 0, 0), (0, 0, 0, 128), (0, 0, 0, 255), (255, 255, 255, 0)).save(HERE / "alpha.webp", lossless=True, exact=True)
fields("LA", (0, 0), (0, 128), (0, 255), (255, 0)).save(HERE / "grey-alpha.png")
fields("I;16", 0, 0x5555, 0xAAAA, 0xFFFF).save(HERE / "grey-16.png")
fields("1", 0, 255, 255, 0).save(HERE / "one-bit.png")
holes = fields("P", 0, 1, 2, 3)
holes.putpalette([0, 0, 0, 85, 85, 85, 170, 170, 170, 255, 255, 255])
holes.save(HERE / "holes.png", transparency=0)


def profile(red, green, blue):
    """As little of an ICC profile as names the luminances of three primaries."""
    tags = b"".join(b"XYZ " + bytes(4) + struct.pack(">iii", 0, int(y * 65536), 0) for y in (red, green, blue))
    at = 128 + 4 + 36
    table = struct.pack(">I", 3) + b"".join(name + struct.pack(">II", at + 20 * i, 20) for i, name in enumerate((b"rXYZ", b"gXYZ", b"bXYZ")))
    body = table + tags
    kind = bytes(4) + b"\x02\x10\0\0" + b"mntrRGB XYZ "
    return struct.pack(">I", 128 + len(body)) + kind + bytes(12) + b"acsp" + bytes(88) + body


COLOURS.save(HERE / "near-profile.png", icc_profile=profile(0.241, 0.692, 0.067))
COLOURS.save(HERE / "far-profile.png", icc_profile=profile(0.311, 0.626, 0.063))


def chunk(name, data):
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(wide, high, depth, kind, rows):
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", wide, high, depth, kind, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(rows, 9)) + chunk(b"IEND", b"")


# Bombs: small files that decode to much.
(HERE / "bomb-wide.png").write_bytes(png(60000, 60000, 1, 0, bytes(7501) * 600))
(HERE / "bomb-deep.png").write_bytes(png(7000, 7000, 16, 6, bytes(56001) * 20))
(HERE / "bomb.gif").write_bytes(b"GIF89a\xff\xff\xff\xff\x80\0\0\0\0\0\xff\xff\xff,\0\0\0\0\xff\xff\xff\xff\0\x02\x02\x44\x01\0;")
jpeg = bytearray((HERE / "colour.jpg").read_bytes())
frame = jpeg.index(b"\xff\xc0")
jpeg[frame + 5:frame + 9] = b"\xff\xff\xff\xff"
(HERE / "bomb.jpg").write_bytes(bytes(jpeg))
# inks-ycck.jpg was made from colour.png by ImageMagick, since Pillow writes no YCCK:
#     convert colour.png -colorspace CMYK -sampling-factor 1x1 -quality 97 inks-ycck.jpg
kept = Image.frombytes("L", (19, 7), bytes((x * x * 3 + y * 37 + x * y * 11) % 256 for y in range(7) for x in range(19)))
(HERE / "reference-a.bin").write_bytes(kept.convert("1").tobytes())
