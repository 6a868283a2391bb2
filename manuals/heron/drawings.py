"""Draws the pictures of the Heron manual: `python3 manuals/heron/drawings.py` writes them beside this file.

One function a picture. Figures are 1000 units wide and comic panels 400 (836 for a wide one), so that the pen's weight
comes to about three dots in a 72 mm column and two in a 48 mm one.
"""

import sys
from dataclasses import replace
from math import cos, radians, sin
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]
from bird import MUG, TUCKED, Pose, base, bird, dial, mug  # noqa: E402
from ink import Frame, Sheet, box  # noqa: E402
from props import cable_coil, charger, finger, holding_hand, kettle, leaflet, mirrored, pour, sachet, table, timer, window, word  # noqa: E402

READY = Pose()
ASLEEP = Pose(tilt=-10, neck=TUCKED, head=40, eye="shut", string=0)
DIPPING = Pose(tilt=27, head=60, eye="down", string=84)
LIFTED = Pose(tilt=4, head=14, string=92)


def scene(sheet, frame, pose, steam=False, tea=True, cable=False, with_mug=True):
    """Base, bird and mug, with the tea bag between the two halves of the mug."""
    base(sheet, frame, cable=cable)
    if with_mug:
        mug(sheet, frame, steam=False, tea=tea)
    seen = bird(sheet, frame, pose)
    if with_mug:
        mug(sheet, frame, front=True, steam=steam)
    return seen


def ground(sheet, left, right, y):
    for k, (dx, w) in enumerate(((0, 1), (60, 0.8), (150, 0.6))):
        sheet.line([(left + dx, y + k * 12), (right - dx * 0.6, y + k * 12)], sheet.weight * w * 0.7, taper=(0.2, 1, 1, 0.2))


# -- figures ---------------------------------------------------------------------------------------------------------


def know():
    s = Sheet(1000, 860, 6.5)
    f = Frame().move(340, 690).scale(1.5)
    ground(s, 140, 880, 832)
    scene(s, f, READY, tea=False)
    parts = {"eye": (30, -391), "peg": (167, -360), "pond": (160, 18), "keys": (52, 61), "dial": (-62, 58), "socket": (-124, 30)}
    for name, part in parts.items():
        x, y = f.at(*part)
        print(f"callout of know.svg: {name} at [{x / 10:.1f}, {y / 8.6:.1f}]")
    return s


def contents():
    s = Sheet(1000, 560, 6)
    f = Frame().move(220, 420).scale(1.0)
    ground(s, 80, 560, 520)
    base(s, f)
    bird(s, f, ASLEEP)
    cable_coil(s, Frame().move(596, 140).scale(1.12))
    charger(s, Frame().move(884, 150).scale(1.15))
    sachet(s, Frame().move(668, 414).turn(-8).scale(1.15))
    sachet(s, Frame().move(752, 424).turn(7).scale(1.15))
    leaflet(s, Frame().move(908, 400).scale(1.15))
    return s


def charge():
    s = Sheet(1000, 420, 6.5)
    f = Frame().move(640, 170).scale(2.5)
    plug_in(s, f)
    return s


def plug_in(s, f):
    base(s, f, keys=False, pond=False)
    dial(s, f, -50, 60)
    s.shape(box(-122, 26, 9, 24, 4), weight=s.weight * 0.8, frame=f, fill="#000", heavy=0)
    cable = [(-196, 42), (-230, 44), (-262, 60), (-330, 96)]
    s.line(cable, 11 * f.size() + s.weight * 1.4, f)
    s.line(cable, 11 * f.size(), f, colour="#fff")
    s.shape(box(-198, 26, 44, 32, 8), frame=f)
    s.shape(box(-154, 33, 18, 18, 3), frame=f, weight=s.weight * 0.85)
    arrow(s, f, (-176, 4), (-138, 4))


def arrow(s, f, start, end):
    x1, y1 = end
    s.line([start, end], s.weight * 1.6, f)
    s.solid([(x1 + 12, y1, 1), (x1 - 4, y1 - 9, 1), (x1 - 4, y1 + 9, 1)], f)


def peg():
    s = Sheet(1000, 520, 6.5)
    pose = replace(READY, head=7, string=62)
    reach = bird(Sheet(1, 1), Frame().scale(4.1), pose)["beak"]
    finger(s, Frame().move(486, 250).turn(42).scale(2.2, -2.2), nail=False)
    bird(s, Frame().move(520 - reach[0], 210 - reach[1]).scale(4.1), pose)
    finger(s, Frame().move(502, 158).turn(-40).scale(2.1))
    return s


def keys():
    s = Sheet(1000, 330, 6.5)
    f = Frame().move(440, -66).scale(3.6)
    base(s, f, keys=False, pond=False)
    x, y = f.at(-62, 60)
    for k in range(5):
        a = radians(-225 + 67.5 * k)
        near, far = 92, 106 + 4 * k
        s.line([(x + near * cos(a), y + near * sin(a) * 0.94), (x + far * cos(a), y + far * sin(a) * 0.94)], s.weight * (0.8 + 0.25 * k))
    dial(s, f, -62, 60)
    for i, text in enumerate(("WAKE", "DIP", "STOP")):
        s.shape(box(-22 + i * 50, 50 + (0.4 if i == 1 else 0), 42, 20, 8), frame=f)
        word(s, text, *f.at(-1 + i * 50, 60), 34, s.weight * 0.9)
    return s


# -- the comic -------------------------------------------------------------------------------------------------------


def dawn():
    s = Sheet(836, 356, 5)
    window(s, 606, 28, 170, 146, "sun")
    table(s, 254)
    scene(s, Frame().move(270, 278).scale(0.76), ASLEEP, tea=False)
    return s


def wake():
    s = Sheet(400, 500, 6)
    pose = replace(READY, head=24, eye="half", string=0)
    look = bird(Sheet(1, 1), Frame().scale(2.9), pose)["eye"]
    bird(s, Frame().move(150 - look[0], 286 - look[1]).scale(2.9), pose)
    return s


def kettle_time():
    s = Sheet(400, 500, 5)
    table(s, 392)
    f = Frame().move(100, 424).scale(0.7)
    base(s, f)
    mug(s, f)
    bird(s, f, Pose(tilt=-24, head=2, eye="wide", string=0, crest=16))
    mug(s, f, front=True)
    spout = kettle(s, Frame().move(336, 212).turn(-24).scale(0.68))
    pour(s, spout, f.at(MUG, -100))
    mug(s, f, front=True)
    return s


def dip():
    s = Sheet(400, 440, 5)
    table(s, 332)
    scene(s, Frame().move(138, 370).scale(0.7), DIPPING)
    return s


def wait():
    s = Sheet(400, 440, 5)
    table(s, 332)
    f = Frame().move(-16, 388).scale(0.86)
    scene(s, f, replace(DIPPING, eye="side"))
    timer(s, Frame().move(334, 424).scale(1.0), 0.55)
    return s


def lift():
    s = Sheet(400, 440, 5)
    table(s, 332)
    f = Frame().move(134, 370).scale(0.7)
    x, y = scene(s, f, LIFTED)["bag"]
    for dx, dy, r in ((-3, 54, 4.5), (4, 74, 3.5)):
        s.solid([(x + dx, y + dy - 2.4 * r, 1), (x + dx + r, y + dy), (x + dx, y + dy + r), (x + dx - r, y + dy)])
    return s


def sip():
    s = Sheet(400, 440, 5)
    table(s, 332)
    bird(s, Frame().move(40, 410).scale(0.74), replace(READY, string=0, eye="down", tilt=-8, head=16))
    mug(s, Frame().move(258, 390).scale(1.24), 0, 0, handle=False, steam=True)
    holding_hand(s, Frame().move(272, 296))
    holding_hand(s, mirrored(244, 296))
    return s


def night():
    s = Sheet(836, 356, 5)
    shade = [(0, 0, 1), (836, 0, 1), (836, 254, 1), (390, 254, 1), (600, 176, 1), (600, 24, 1), (40, 254, 1), (0, 254, 1)]
    s.hatch(shade, 28, 13, s.weight * 0.5)
    window(s, 606, 28, 170, 146, "moon")
    table(s, 254)
    scene(s, Frame().move(270, 278).scale(0.76), ASLEEP, tea=False, cable=True)
    return s


PICTURES = {
    "know": know, "contents": contents, "charge": charge, "peg": peg, "keys": keys,
    "dawn": dawn, "wake": wake, "kettle": kettle_time, "dip": dip, "wait": wait, "lift": lift, "sip": sip, "night": night,
}

if __name__ == "__main__":
    for name, draw in PICTURES.items():
        draw().save(HERE / f"{name}.svg")
