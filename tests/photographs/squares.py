"""Photographs the strip with the squares, by Pillow, NumPy and scikit-image alone.

usage: squares.py squares.png strip.jpg SEED [plain]; prints what is true of the picture as JSON. "plain": any other strip, of which every column
prints and no tone is known.
Ink: each dot is a soft spot (a Gaussian cut at a level), not a disk; the view is a projective map of a plane, by scikit-image.
"""

import json
import sys

import numpy as np
from PIL import Image
from skimage import filters, transform

FINE = 6
GREYS = (10, 20, 30, 40, 50, 60, 70, 80, 90)

source, target, seed = sys.argv[1], sys.argv[2], int(sys.argv[3])
rng = np.random.default_rng(seed)
dots = np.asarray(Image.open(source).convert("1")) == 0
height, width = dots.shape
plain = sys.argv[4:] == ["plain"]
dead = [] if plain else sorted(int(column) for column in rng.choice(width, size=seed, replace=False))
printed = dots.copy()
printed[:, dead] = False
ratio = float(rng.uniform(0.99, 1.01))

# Points of heat that spread, and ink where there was enough.
heat = np.zeros((height * FINE, width * FINE), dtype=np.float32)
heat[FINE // 2 :: FINE, FINE // 2 :: FINE] = printed
heat = filters.gaussian(heat, sigma=FINE * 0.42, mode="constant")
ink = heat > heat.max() * float(rng.uniform(0.30, 0.42))

# Each flat grey: share of dots asked for and of ink that came of it, found in the picture of dots alone.
tones = []
top = 36
left = 48
order = []
for index, grey in enumerate(GREYS):
    if index % 3 == 0:
        order.append(100)
    order.append(grey)
order.append(100)
x, y = left, top
for grey in order:
    if x + 40 > width - 48:
        x, y = left, y + 48 + 14
    if grey < 100 and not plain:
        area = np.s_[y + 6 : y + 42, x + 6 : x + 34]
        fine = np.s_[(y + 6) * FINE : (y + 42) * FINE, (x + 6) * FINE : (x + 34) * FINE]
        near = [column for column in range(x + 6, x + 34) if all(abs(column - other) > 4 for other in dead)]
        keep = np.isin(np.arange(x + 6, x + 34), near)
        asked = dots[area][:, keep].mean() * 100
        seen = ink[fine][:, np.repeat(keep, FINE)].mean() * 100
        tones.append([float(asked), float(seen)])
    x += 40 + 14

paper = np.where(ink, 0.09, 0.8).astype(np.float32)
edge = 24 * FINE
paper = np.pad(paper, edge, constant_values=0.8)
paper = np.pad(paper, 40 * FINE, constant_values=0.2)
rows, columns = paper.shape

# A telephone of 8 megapixels; a pinhole in the middle of the picture.
view = (2448, 3264)
focal = 0.8 * view[1]
pitch, yaw, roll = rng.uniform(-0.22, 0.22), rng.uniform(-0.22, 0.22), rng.uniform(-0.1, 0.1)
rx = np.array([[1, 0, 0], [0, np.cos(pitch), -np.sin(pitch)], [0, np.sin(pitch), np.cos(pitch)]])
ry = np.array([[np.cos(yaw), 0, np.sin(yaw)], [0, 1, 0], [-np.sin(yaw), 0, np.cos(yaw)]])
rz = np.array([[np.cos(roll), -np.sin(roll), 0], [np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
turn = rz @ ry @ rx
long = max(rows * ratio / view[1], columns / view[0])
stands = np.array([0, 0, 1.12 * long * focal])
camera = np.array([[focal, 0, view[0] / 2], [0, focal, view[1] / 2], [0, 0, 1]])
to_view = camera @ np.column_stack([turn[:, 0], turn[:, 1] * ratio, stands])
middle = np.array([[1, 0, -columns / 2], [0, 1, -rows / 2], [0, 0, 1]])
# scikit-image counts pixels by their middles.
half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
matrix = np.linalg.inv(half) @ to_view @ middle @ half
# What a pixel covers is averaged before the picture is taken.
cover = 1 / (focal / stands[2])
light = transform.warp(filters.gaussian(paper, sigma=0.4 * cover), np.linalg.inv(matrix), output_shape=(view[1], view[0]), order=1, cval=0.2)
down, right = np.mgrid[0 : view[1], 0 : view[0]]
falls = 0.75 - 0.2 * right / view[0] - 0.15 * (down / view[1]) ** 2
light = filters.gaussian(light * falls, sigma=0.8)
light = light + rng.normal(0, 0.006, light.shape) * np.sqrt(np.maximum(light, 0.01))
light = np.clip(light, 0, 1)
stored = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
colour = np.stack([stored, stored * 0.985, stored * 0.95], axis=-1)
exif = Image.Exif()
if seed > 1:
    # As telephones say it: the focal length of a full frame (Exif 2.32, tag A405).
    exif.get_ifd(0x8769)[0xA405] = round(focal / np.hypot(*view) * 43.27)
Image.fromarray((colour * 255 + 0.5).astype(np.uint8)).save(target, quality=85, exif=exif)
print(json.dumps({"dead": dead, "ratio": ratio, "tones": tones}))
