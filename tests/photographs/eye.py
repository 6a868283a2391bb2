#!/usr/bin/env python3
"""Open photographs, and what an eye sees of their prints. Reference libraries: scikit-image (pictures, Canny, watershed), SciPy, Pillow.

    eye.py make FOLDER    writes NAME.png, 384 dots wide, and things NAME.thing.png with NAME.mask.png
    eye.py crowd FOLDER   writes NAME.crowd.png, 280 pixels at most
    eye.py seen FOLDER    reads NAME.png and NAME.SCREEN.png beside it, prints a line for each

Paper: each dot is a disc about its middle, so large that a checkerboard comes out 64 % black (14 % dot gain; common practice). Eye: a Gaussian of 1
minute of arc at 300 mm, 0.087 mm or 0.7 dots at 8 dots/mm (visual acuity 6/6; arithmetic). Errors are of light, in dB under white.
"""
import sys
from pathlib import Path

import numpy as np
from PIL import Image
from scipy import ndimage
from skimage import color, data, feature, filters, morphology, segmentation

WIDE = 384
FINE = 100
GAIN = 0.14
EYE = 0.7
NAMES = ("astronaut", "camera", "chelsea", "coffee", "coins", "moon", "page", "rocket", "text")


def light(grey: np.ndarray) -> np.ndarray:
    """sRGB, 0 to 255, to light, 0 to 1 (IEC 61966-2-1)."""
    value = grey.astype(float) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def make(folder: Path) -> None:
    for name in NAMES:
        picture = Image.fromarray(getattr(data, name)()).convert("RGB")
        high = round(picture.height * WIDE / picture.width)
        # Grey, so that all are given the same lightness.
        linear = light(np.asarray(picture.resize((WIDE, high), Image.LANCZOS))) @ [0.2126, 0.7152, 0.0722]
        srgb = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
        Image.fromarray(np.uint8(np.clip(srgb * 255 + 0.5, 0, 255))).save(folder / f"{name}.png")
    things(folder)


CROWDED = ("astronaut", "camera", "chelsea", "coffee", "motorcycle", "rocket")


def crowded(folder: Path) -> None:
    """Photographs in which nobody could say what the thing is, or where it ends."""
    for name in CROWDED:
        picture = data.stereo_motorcycle()[0] if name == "motorcycle" else getattr(data, name)()
        picture = Image.fromarray(picture).convert("RGB")
        picture.thumbnail((280, 280), Image.BOX)
        picture.save(folder / f"{name}.crowd.png")


def save(folder: Path, name: str, picture: np.ndarray, mask: np.ndarray) -> None:
    wide = 240
    size = (wide, round(picture.shape[0] * wide / picture.shape[1]))
    Image.fromarray(picture).convert("RGB").resize(size, Image.BICUBIC).save(folder / f"{name}.thing.png")
    Image.fromarray(np.uint8(mask) * 255).resize(size, Image.BICUBIC).point(lambda v: 255 * (v > 127)).convert("L").save(folder / f"{name}.mask.png")


def things(folder: Path) -> None:
    # Coins, each alone with the cloth around it; masks as scikit-image's own gallery finds them: watershed on Sobel's edges.
    coins = data.coins()
    marks = np.zeros_like(coins, dtype=int)
    marks[coins < 30], marks[coins > 150] = 1, 2
    found = ndimage.binary_fill_holes(segmentation.watershed(filters.sobel(coins), marks) - 1)
    found = morphology.opening(found, morphology.disk(3))
    labels, _ = ndimage.label(found)
    number = 0
    for index, (down, across) in enumerate(ndimage.find_objects(labels), 1):
        high, wide = down.stop - down.start, across.stop - across.start
        edge = 5
        top, left = down.start - edge, across.start - edge
        if min(high, wide) < 36 or top < 0 or left < 0 or down.stop + edge > coins.shape[0] or across.stop + edge > coins.shape[1]:
            continue
        part = (slice(top, down.stop + edge), slice(left, across.stop + edge))
        if number == 8 or len(np.unique(labels[part])) > 2:
            continue
        save(folder, f"coin-{number:02}", coins[part], labels[part] == index)
        number += 1
    # A round photograph on black.
    retina = data.retina()
    save(folder, "retina", retina, ndimage.binary_fill_holes(color.rgb2gray(retina) > 0.05))
    # A silhouette that comes with the library, filled with one photograph and laid on another.
    horse = ~data.horse()
    horse = np.pad(horse, 24)
    for name, ground, fill in (("grass", data.grass(), data.brick()), ("gravel", data.gravel(), data.coffee()), ("brick", data.brick(), data.chelsea())):
        def paper(texture, base):
            grey = texture if texture.ndim == 2 else np.uint8(color.rgb2gray(texture) * 255)
            grey = np.asarray(Image.fromarray(grey).resize(horse.shape[::-1])).astype(float)
            return np.clip(base + (grey[..., None] - grey.mean()) * 0.25, 0, 255)
        across = np.linspace(1.05, 0.8, horse.shape[1])[None, :, None]
        picture = np.where(horse[..., None], paper(fill, np.array([120.0, 60, 50])), paper(ground, np.array([190.0, 180, 160])) * across)
        picture = ndimage.gaussian_filter(picture, (0.8, 0.8, 0))
        save(folder, f"horse-{name}", np.uint8(np.clip(picture, 0, 255)), horse)


def cells(radius: float) -> np.ndarray:
    """The light of a dot's place for each of the 512 ways in which it and the eight around it can be black; bit 3 * down + across. Discs of that radius
    about the middles; a place that is black itself is black to its corners."""
    fine = (np.arange(FINE) + 0.5) / FINE - 0.5
    covered = np.array([(np.hypot(fine[None, :] - across, fine[:, None] - down) <= radius).ravel() for down in (-1, 0, 1) for across in (-1, 0, 1)])
    covered[4] = True
    ways = np.arange(512)[:, None] >> np.arange(9) & 1 == 1
    return np.array([1 - covered[way].any(0).mean() if way.any() else 1.0 for way in ways])


def printed(black: np.ndarray, paper: np.ndarray) -> np.ndarray:
    """The light of each dot's place."""
    wide = np.pad(black, 1).astype(int)
    high, across = black.shape
    return paper[sum(wide[n // 3 : n // 3 + high, n % 3 : n % 3 + across] << n for n in range(9))]


def paper() -> np.ndarray:
    """Of dots so large that a checkerboard, which is what a maker measures gain with, comes out 64 % black."""
    board = np.indices((24, 24)).sum(0) % 2 == 0
    darkness = lambda radius: 1 - printed(board, cells(radius))[4:-4, 4:-4].mean()
    low, high = 0.5, 1.0
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if darkness(middle) < 0.5 + GAIN else (low, middle)
    assert abs(darkness(low) - 0.5 - GAIN) < 0.002, darkness(low)
    return cells(low)


def seen(folder: Path) -> None:
    takes = paper()
    for name in NAMES:
        picture = Image.open(folder / f"{name}.png").convert("L")
        grey = np.asarray(picture)
        asked = ndimage.gaussian_filter(light(grey), EYE)

        def error(black: np.ndarray) -> float:
            off = ndimage.gaussian_filter(printed(black, takes), EYE) - asked
            return -10 * np.log10((off**2).mean())

        linear = Image.fromarray(np.uint8(light(grey) * 255 + 0.5))
        plain = [error(~np.asarray(one.convert("1"))) for one in (picture, linear)]
        for screen in ("photo", "flat", "halftone", "line", "drawing"):
            black = np.asarray(Image.open(folder / f"{name}.{screen}.png").convert("L")) < 128
            print(f"seen {name} {screen} {error(black):.2f} {plain[0]:.2f} {plain[1]:.2f}")
        edges = feature.canny(grey.astype(float) / 255, sigma=2)
        deep = filters.sobel(ndimage.gaussian_filter(grey.astype(float) / 255, 2))
        strong = edges & (deep >= np.median(deep[edges]))
        black = np.asarray(Image.open(folder / f"{name}.drawing.png").convert("L")) < 128
        near = ndimage.distance_transform_edt(~black) <= 2
        print(f"edges {name} {near[strong].mean():.3f} {black.mean():.3f}")


if __name__ == "__main__":
    {"make": make, "crowd": crowded, "seen": seen}[sys.argv[1]](Path(sys.argv[2]))
