"""Heron as a drawing: one bird, its base and its mug, posed by a few angles, so that it is the same bird in every picture.

Bird units: the hip pivot stands 172 above the top of the base; x runs towards the mug, y down. Origin: between the feet.
"""

import sys
from dataclasses import dataclass, field
from math import cos, hypot, radians, sin
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from ink import Frame, box, ellipse, ribbon, sampled  # noqa: E402

HIP = (0, -172)
MUG = 226

# The neck, in the frame of the body, from the shoulder to the head.
TALL = [(40, -4), (80, -46), (92, -92), (66, -128), (54, -164), (72, -204)]
TUCKED = [(24, 6), (62, -8), (74, -30), (58, -56), (36, -78)]


@dataclass
class Pose:
    tilt: float = -14.0          # of the body about the hip; more is deeper into the mug
    neck: list = field(default_factory=lambda: TALL)
    head: float = 8.0            # of the beak below the horizon, on the sheet
    eye: str = "open"            # open, wide, half, shut, down
    string: float = 96.0         # from the beak to the tea bag; 0 is no tea bag
    swing: float = 0.0           # of the string, degrees
    crest: float = 0.0           # how far the plumes stand up, degrees


def base(sheet, frame, keys=True, pond=True, cable=False):
    """The bank: a flat pebble with the pond (a ring for the mug), the dial and three keys on its front."""
    if cable:
        plug = [(-128, 30), (-170, 34), (-204, 52), (-250, 60), (-330, 58), (-420, 66)]
        sheet.line(plug, sheet.weight * 1.5, frame)
        sheet.shape(box(-158, 20, 34, 22, 5), weight=sheet.weight * 0.8, frame=frame)
    body = [(-128, 4), (-128, 44), (-118, 66), (-70, 84), (60, 90), (200, 88), (300, 74), (322, 44), (322, 8), (312, -16),
            (250, -32), (120, -36), (-30, -34), (-104, -24)]
    sheet.shape(body, frame=frame, weight=sheet.weight * 1.15)
    shade = [(180, 50), (250, 46), (300, 34), (322, 14), (322, 44), (300, 74), (200, 88), (120, 89), (150, 72)]
    sheet.hatch(shade, 62, 9.5 * max(frame.size(), 0.8), sheet.weight * 0.46, frame)
    sheet.line([(-128, 4), (-116, 24), (-70, 38), (60, 42), (200, 40), (296, 30), (322, 8)], sheet.weight * 0.8, frame,
               (0.6, 1, 1, 1, 0.6))
    if pond:
        sheet.ring(ellipse(MUG, 2, 70, 21), sheet.weight * 0.62, frame)
        sheet.ring(ellipse(MUG, 2, 84, 28), sheet.weight * 0.42, frame)
    if keys:
        dial(sheet, frame, -62, 58)
        for i in range(3):
            sheet.shape(box(-14 + i * 48, 52 + (2 - abs(i - 1)) * -0.6, 37, 20, 8), weight=sheet.weight * 0.75, frame=frame)


def dial(sheet, frame, x, y, r=19):
    sheet.shape(ellipse(x, y, r, r * 0.94), weight=sheet.weight * 0.8, frame=frame)
    sheet.solid(ellipse(x, y, r * 0.58, r * 0.54), frame)
    sheet.line([(x, y), (x + r * 0.62, y - r * 0.62)], sheet.weight * 0.75, frame, colour="#fff")


def mug(sheet, frame, x=MUG, y=2, steam=False, tea=True, front=False, scale=1.0, handle=True):
    """A plain mug with a reed on it. `front` leaves out what lies behind the bag: draw it in two goes round the bag."""
    f = frame.move(x, y).scale(scale)
    rim, foot, tall = 52, 43, 104
    if handle and not front:
        loop = [(48, -86), (82, -90), (94, -62), (80, -34), (44, -26)]
        sheet.line(loop, sheet.weight * 1.0 + 15 * f.size(), f)
        sheet.line(loop, max(15 * f.size() - sheet.weight * 0.9, 1), f, colour="#fff")
    left = [(-rim, -tall, 1), (-rim + 3, -60), (-foot, -10), (-foot + 9, 8), (0, 15)]
    right = [(-x, y) + tuple(c) for x, y, *c in left[-2::-1]]
    if not front:
        sheet.shape(left + right, frame=f)
        sheet.shape(ellipse(0, -tall, rim, 13), frame=f, heavy=0)
        sheet.solid(ellipse(0, -tall + 1, rim - 7, 8.5), f)
        if not tea:
            sheet.solid(ellipse(0, -tall + 5, rim - 16, 4.5), f, fill="#fff")
    else:
        near = [(-50, -tall + 4), (-30, -tall + 11), (0, -tall + 13), (30, -tall + 11), (50, -tall + 4)]
        lip = [(-43, -tall + 3), (-26, -tall + 8), (0, -tall + 9.5), (26, -tall + 8), (43, -tall + 3)]
        sheet.solid(left + right + lip[::-1], f, fill="#fff")
        sheet.line(near, sheet.weight * 0.9, f)
        sheet.line(left + right, sheet.weight, f)
    shade = [(18, -84), (48, -93), (46, -60), (41, -10), (30, 5), (14, 9), (24, -30)]
    sheet.hatch(shade, 90, 8.5 * max(f.size(), 0.75), sheet.weight * 0.46, f)
    reed(sheet, f)
    if steam:
        for dx, k in ((-24, 1), (2, 1.25), (26, 0.9)):
            steam_curl(sheet, f, dx, -tall - 22, k)


def reed(sheet, f):
    for x, top, lean in ((-26, -70, -5), (-12, -78, 3)):
        sheet.line([(x, -14), (x + lean * 0.4, -44), (x + lean, top)], sheet.weight * 0.6, f)
        sheet.solid(ribbon([(x + lean * 0.72, -56), (x + lean, top)], [9, 9]), f)


def steam_curl(sheet, f, x, y, k):
    curl = [(x, y), (x + 9 * k, y - 18 * k), (x - 8 * k, y - 40 * k), (x + 7 * k, y - 62 * k), (x - 1, y - 80 * k)]
    sheet.line(curl, sheet.weight * 1.15, f, (0.3, 1, 1, 0.25))


def legs(sheet, frame):
    for x, knee, hip in ((-24, -34, -8), (22, 8, 10)):
        limb = [(x, -6), (knee, -92), (hip, -164)]
        sheet.line(limb, sheet.weight * 1.5, frame)
        toes = [[(x, -6), (x + 34, 4)], [(x, -6), (x + 12, 12)], [(x, -6), (x - 20, 2)]]
        for toe in toes:
            sheet.line(toe, sheet.weight * 1.5, frame)
        sheet.shape(ellipse(knee, -92, 8.5), weight=sheet.weight * 0.8, frame=frame)


def bird(sheet, frame, pose):
    """The bird without base and mug. Returns where its parts are on the sheet: beak, eye, bag, hip, string."""
    legs(sheet, frame)
    hip = frame.move(*HIP)
    body = hip.turn(pose.tilt)
    neck = body.over(pose.neck)
    reach = [(a[0], a[1]) for a in neck]
    s = frame.size()
    a, b, *_ = frame.m
    head = Frame(a, b, frame.m[2], frame.m[3], *reach[-1]).turn(pose.head).scale(1.18)
    tail = [(-136, 26, 1), (-118, 4), (-62, -34), (4, -58), (52, -50), (84, -22), (86, 8), (58, 40), (0, 52), (-54, 46), (-96, 34)]

    crest(sheet, head, pose)
    skull = [(-26, 1), (-20, -16), (-2, -22), (18, -15), (30, -6), (30, 9), (12, 16), (-12, 16)]
    beak_top = [(20, -11, 1), (60, -6), (136, 5, 1), (60, 6), (20, 6, 1)]
    beak_low = [(18, 4, 1), (60, 7), (132, 6, 1), (70, 14), (18, 12, 1)]
    clip = head.at(128, 6)

    if pose.string:
        hang = string_end(clip, pose, s)
        sheet.line([clip, hang], sheet.weight * 0.55)
    throat = ribbon(neck, [78 * s, 50 * s, 37 * s, 31 * s, 29 * s, 29 * s])
    throat = [p + (1,) for p in throat]
    if pose.neck is TUCKED:
        sheet.joined([body.over(tail), throat])
        sheet.shape(skull, frame=head, heavy=0)
    else:
        sheet.joined([body.over(tail), throat, head.over(skull)])
    sheet.shape(beak_low, frame=head, weight=sheet.weight * 0.85, heavy=0)
    sheet.shape(beak_top, frame=head, weight=sheet.weight * 0.85)
    sheet.solid(head.over([(23, -9, 1), (31, -5, 1), (31, 9, 1), (23, 12, 1), (18, 4), (18, -6)]), fill="#fff")
    plumage(sheet, body, neck, s, pose.neck is TUCKED)
    markings(sheet, head)
    look = eye(sheet, head, pose)
    if pose.string:
        tea_bag(sheet, hang, s, pose.swing)
        peg(sheet, head)
    return {"beak": clip, "eye": look, "hip": hip.at(0, 10), "bag": string_end(clip, pose, s), "tail": body.at(-120, 20)}


def string_end(clip, pose, s):
    t = radians(pose.swing)
    return (clip[0] + sin(t) * pose.string * s, clip[1] + cos(t) * pose.string * s)


def crest(sheet, head, pose):
    up = head.move(-16, -10).turn(pose.crest)
    for points, w in (([(8, -2), (-30, -8), (-84, 16)], 1.0), ([(8, 2), (-26, 4), (-68, 34)], 0.8)):
        sheet.line(points, 13 * head.size(), up, (1, 0.9, 0.12))


def markings(sheet, head):
    stripe = [(-25, -5), (-19, -17), (-3, -22.5), (10, -18.5), (0, -12), (-12, -4)]
    sheet.solid(stripe, head)
    sheet.line([(34, 7), (84, 9), (122, 7)], sheet.weight * 0.4, head)


def eye(sheet, head, pose):
    x, y, r = 8, -4, 9.5
    at = head.at(x, y)
    kind = pose.eye
    if kind == "shut":
        sheet.line([(x - 11, y - 1), (x, y + 6), (x + 11, y - 1)], sheet.weight * 0.8, head)
        return at
    if kind == "wide":
        r = 12.5
    sheet.shape(ellipse(x, y, r), weight=sheet.weight * 0.7, frame=head, heavy=0)
    if kind == "side":
        pupil = (x + 4.5, y - 2)
    elif kind == "down":
        pupil = (x + 4, y + 3.5)
    elif kind == "half":
        pupil = (x + 2, y + 3)
    else:
        pupil = (x + 2.5, y + 0.5)
    sheet.solid(ellipse(*pupil, r * 0.56), head)
    if kind == "half":
        lid = [(x - r, y - 0.5, 1), (x - r * 0.7, y - r * 0.8), (x, y - r * 1.05), (x + r * 0.7, y - r * 0.8), (x + r, y - 0.5, 1)]
        sheet.solid(lid, head, fill="#fff")
        sheet.line([(x - r - 1, y), (x, y - 0.5), (x + r + 1, y)], sheet.weight * 1.1, head)
        sheet.line([(x - r, y - 1), (x - r * 0.7, y - r * 0.8), (x, y - r * 1.05), (x + r * 0.7, y - r * 0.8), (x + r, y - 1)],
                   sheet.weight * 0.6, head)
    return at


def peg(sheet, head):
    sheet.shape(box(112, -5, 18, 22, 5), weight=sheet.weight * 0.75, frame=head, heavy=0)
    sheet.line([(121, 1), (121, 11)], sheet.weight * 0.5, head)


def plumage(sheet, body, neck, s, neck_tucked):
    w = sheet.weight
    wing = [(-132, 27, 1), (-84, -8), (-28, -30), (22, -32), (46, -10), (36, 14), (0, 28), (-60, 34)]
    tip = [(-132, 27, 1), (-96, 8), (-58, 2), (-34, 12), (-10, 24), (-60, 34)]
    sheet.shape(wing, frame=body, weight=w * 0.85, heavy=0)
    sheet.clip(body.over(wing))
    sheet.solid(tip, body)
    for y in (10, 21):
        sheet.line([(-120, 27 - y * 0.1), (-70, y + 3), (-24, y + 2)], w * 0.5, body, colour="#fff")
    for k in range(4):
        x = 28 - k * 17
        sheet.line([(x + 10, -30 + k * 2), (x - 6, -10), (x - 18, 12), (x - 34, 26)], w * 0.62, body, (0.3, 1, 0.9, 0.3))
    sheet.unclip()
    sheet.shape(ellipse(0, 10, 13), frame=body, weight=w * 0.8)
    sheet.line([(-6, 14), (6, 6)], w * 0.8, body)
    breast = [[(66, 28), (76, 16)], [(52, 38), (62, 30)], [(38, 44), (46, 39)]]
    for dash in breast:
        sheet.line(dash, w * 0.6, body)
    if neck_tucked:
        return
    line = sampled(neck, step=6 * max(s, 0.3))
    start, stop = int(len(line) * 0.34), int(len(line) * 0.8)
    for i in range(start, stop, 3):
        (x0, y0), (x1, y1) = line[i], line[i + 1]
        length = hypot(x1 - x0, y1 - y0) or 1
        ox, oy = -(y1 - y0) / length * 4 * s, (x1 - x0) / length * 4 * s
        sheet.line([(x0 + ox, y0 + oy), (x1 + ox, y1 + oy)], w * 0.6)


def tea_bag(sheet, top, s, swing):
    f = Frame(s, 0, 0, s, *top).turn(-swing)
    bag = [(-9, 0, 1), (9, 0, 1), (19, 13, 1), (19, 48, 1), (-19, 48, 1), (-19, 13, 1)]
    sheet.shape(bag, frame=f, weight=sheet.weight * 0.75)
    sheet.dots([(-16, 26, 1), (16, 26, 1), (16, 46, 1), (-16, 46, 1)], 8 * s, 2.5 * s, f)
    sheet.line([(-5, 7), (5, 7)], sheet.weight * 0.5, f)
