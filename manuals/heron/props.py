"""What stands round Heron: the kitchen, the kettle, the sand timer, hands, the things in the box."""

from math import cos, pi, sin

from ink import Frame, box, ellipse, ribbon, straight

# Capital letters of one stroke, on a grid 4 wide and 6 high.
LETTERS = {
    "A": [[(0, 6), (2, 0), (4, 6)], [(0.9, 4), (3.1, 4)]],
    "D": [[(0, 0), (0, 6), (2, 6), (4, 4.4), (4, 1.6), (2, 0), (0, 0)]],
    "E": [[(4, 0), (0, 0), (0, 6), (4, 6)], [(0, 3), (3, 3)]],
    "I": [[(2, 0), (2, 6)]],
    "K": [[(0, 0), (0, 6)], [(4, 0), (0, 3.4)], [(1.4, 2.4), (4, 6)]],
    "O": [[(2, 0), (0.3, 1.2), (0, 3), (0.3, 4.8), (2, 6), (3.7, 4.8), (4, 3), (3.7, 1.2), (2, 0)]],
    "P": [[(0, 6), (0, 0), (2.6, 0), (4, 1), (4, 2.4), (2.6, 3.4), (0, 3.4)]],
    "S": [[(4, 0.8), (2.6, 0), (1.2, 0), (0, 1), (0.3, 2.3), (3.7, 3.7), (4, 5), (2.8, 6), (1.2, 6), (0, 5.2)]],
    "T": [[(0, 0), (4, 0)], [(2, 0), (2, 6)]],
    "W": [[(0, 0), (1, 6), (2, 2), (3, 6), (4, 0)]],
}


def word(s, text, x, y, size, weight, colour="#000"):
    """Lettering about its middle, `size` units high."""
    k = size / 6
    advance = {"I": 2.6}
    total = sum(advance.get(c, 5.8) for c in text) - 1.8
    left = x - total * k / 2
    for c in text:
        shift = -0.7 if c == "I" else 0
        for stroke in LETTERS[c]:
            d = "M" + "L".join(f"{left + (px + shift) * k:.1f} {y - size / 2 + py * k:.1f}" for px, py in stroke)
            s.body.append(f'<path d="{d}" fill="none" stroke="{colour}" stroke-width="{weight:.1f}"/>')
        left += advance.get(c, 5.8) * k


def table(s, y, grain=True):
    """The edge of the table right across the sheet, with a few lines of grain."""
    s.line([(-10, y), (s.width + 10, y)], s.weight)
    if grain:
        for x, dy, length in ((0.05, 26, 110), (0.36, 44, 70), (0.62, 22, 90), (0.8, 52, 120), (0.16, 66, 60)):
            s.line([(s.width * x, y + dy), (s.width * x + length, y + dy)], s.weight * 0.55, taper=(0.2, 1, 0.2))


def window(s, x, y, w, h, sky):
    """A window with a sill; `sky` is sun or moon."""
    frame = s.weight
    s.shape(box(x - 12, y - 12, w + 24, h + 24), weight=frame)
    pane = box(x, y, w, h)
    if sky == "moon":
        s.solid(pane)
        moon = ellipse(x + w * 0.68, y + h * 0.32, w * 0.15)
        s.solid(moon, fill="#fff")
        s.solid(ellipse(x + w * 0.61, y + h * 0.28, w * 0.135))
        for px, py, r in ((0.2, 0.22, 4), (0.36, 0.62, 3), (0.14, 0.7, 4), (0.84, 0.72, 3.4), (0.42, 0.2, 3), (0.62, 0.8, 3.4)):
            star(s, x + w * px, y + h * py, r * 2.1)
    else:
        s.clip(pane)
        cx, cy = x + w * 0.56, y + h * 0.98
        for k in range(17):
            a = pi + pi * (k + 0.5) / 17
            near, far = w * 0.32, w * (0.46 if k % 2 else 0.62)
            s.line([(cx + near * cos(a), cy + near * sin(a)), (cx + far * cos(a), cy + far * sin(a))], s.weight * 0.9, taper=(1, 0.4))
        s.shape(ellipse(cx, cy, w * 0.25), weight=s.weight * 0.9, heavy=0)
        hill = [(x - 20, y + h + 20), (x - 20, y + h * 0.84), (x + w * 0.3, y + h * 0.78), (x + w * 0.6, y + h * 0.92), (x + w + 20, y + h * 0.8),
                (x + w + 20, y + h + 20)]
        s.shape(hill, weight=s.weight * 0.8, heavy=0)
        s.hatch(hill, 25, 9, s.weight * 0.45)
        s.unclip()
        s.ring(pane, s.weight * 0.8)
    for line in (((x + w / 2, y), (x + w / 2, y + h)), ((x, y + h / 2), (x + w, y + h / 2))):
        s.line(line, s.weight * 2.6)
        s.line(line, s.weight * 1.1, colour="#fff")
    s.shape(box(x - 26, y + h + 12, w + 52, 16, 3), weight=s.weight * 0.9)


def star(s, x, y, r):
    points = []
    for k in range(8):
        a = pi * k / 4
        reach = r if k % 2 == 0 else r * 0.34
        points.append((x + reach * sin(a), y - reach * cos(a), 1))
    s.solid(points, fill="#fff")


def kettle(s, frame):
    """A kettle about 200 wide, its spout to the left, tip at (-150, -10)."""
    spout = [(-70, 40), (-104, 34), (-118, -6), (-150, -14)]
    outline = ribbon(frame.over(spout), [44 * frame.size(), 30 * frame.size(), 22 * frame.size(), 18 * frame.size()])
    handle = [(60, -46), (110, -66), (142, -20), (126, 50), (82, 60)]
    s.line(handle, s.weight * 1.6 + 15 * frame.size(), frame)
    s.line(handle, 15 * frame.size(), frame, colour="#fff")
    body = [(-62, -62, 1), (62, -62, 1), (84, 0), (96, 78, 1), (-96, 78, 1), (-84, 0)]
    s.joined([frame.over(body), [p + (1,) for p in outline]])
    s.hatch([(40, -58), (62, -62), (84, 0), (96, 78), (48, 78), (50, 10)], 80, 10 * max(frame.size(), 0.8), s.weight * 0.46, frame)
    s.shape([(-66, -62, 1), (-50, -80), (0, -88), (50, -80), (66, -62, 1)], weight=s.weight * 0.85, frame=frame)
    s.solid(ellipse(0, -95, 13, 10), frame)
    s.line([(-92, 60), (92, 60)], s.weight * 0.7, frame)
    return frame.at(-154, -12)


def pour(s, top, bottom):
    """Water falling from the spout."""
    (x0, y0), (x1, y1) = top, bottom
    mid = (x1 + (x0 - x1) * 0.22, y0 + (y1 - y0) * 0.34)
    s.line([top, mid, bottom], s.weight * 3.6)
    s.line([top, mid, bottom], s.weight * 1.9, colour="#fff")


def timer(s, frame, share=0.5):
    """A sand timer 92 wide and 170 high, standing on (0, 0); `share` of the sand has run."""
    glass = [(-34, -150), (-36, -120), (-8, -88), (-8, -82), (-36, -50), (-34, -20), (34, -20), (36, -50), (8, -82), (8, -88), (36, -120),
             (34, -150)]
    for x in (-42, 42):
        s.line([(x, -156), (x, -14)], s.weight * 1.3, frame)
    s.shape(glass, weight=s.weight * 0.85, frame=frame)
    level = -140 + 46 * share
    s.clip(frame.over(glass))
    s.dots([(-40, level, 1), (0, level + 7), (40, level, 1), (40, -84, 1), (-40, -84, 1)], 9 * frame.size(), 3.4 * frame.size(), frame)
    peak = -24 - 44 * share
    s.dots([(-44, -18, 1), (-26, -30), (0, peak), (26, -30), (44, -18, 1)], 9 * frame.size(), 3.4 * frame.size(), frame)
    s.line([(0, -86), (0, peak)], s.weight * 0.55, frame)
    s.unclip()
    s.ring(glass, s.weight * 0.85, frame)
    for y in (-166, -16):
        s.shape(box(-54, y, 108, 16, 5), weight=s.weight * 0.9, frame=frame)


def finger(s, frame, nail=True):
    """The end of a finger, 38 wide: its tip at (0, 0), the rest along x."""
    outline = [(16, -18), (70, -21), (240, -26, 1), (240, 26, 1), (70, 20), (16, 17), (3, 10), (-1, 0), (3, -11)]
    s.shape(outline, frame=frame)
    if nail:
        s.line([(26, -16), (8, -13), (3, -6)], s.weight * 0.55, frame)
        s.line([(26, -16), (28, -9), (8, -3)], s.weight * 0.45, frame)
    for x in (84, 94):
        s.line([(x, -8), (x + 3, 6)], s.weight * 0.5, frame)


def cuff(s, frame, x, width):
    half = width / 2
    sleeve = [(x + 20, -half - 8, 1), (x + 220, -half - 26, 1), (x + 220, half + 26, 1), (x + 20, half + 8, 1)]
    s.shape(sleeve, frame=frame)
    s.hatch([(x + 50, half - 16, 1), (x + 220, half - 2, 1), (x + 220, half + 26, 1), (x + 50, half + 12, 1)], 70, 11, s.weight * 0.46, frame)
    s.shape(box(x, -half - 10, 40, width + 20, 10), weight=s.weight * 0.9, frame=frame)
    for k in range(1, 3):
        s.line([(x + 13 * k, -half), (x + 13 * k, half)], s.weight * 0.5, frame)


def holding_hand(s, frame):
    """Four fingers laid round a mug from the right, tips near (0, 0); mirror the frame for the left hand."""
    sleeve = [(92, 122, 1), (176, 92, 1), (250, 260, 1), (120, 260, 1)]
    s.shape(sleeve, frame=frame)
    s.hatch([(140, 150, 1), (176, 92, 1), (250, 260, 1), (196, 260, 1)], 20, 10, s.weight * 0.46, frame)
    back = [(58, -12), (92, -14), (122, 14), (140, 60), (158, 104), (104, 126), (84, 100), (56, 86)]
    fingers = []
    for k, x in enumerate((10, 0, 4, 18)):
        y = k * 24
        fingers.append(frame.over([(x + 12, y - 12), (84, y - 13), (100, y), (84, y + 13), (x + 12, y + 12), (x, y)]))
    s.joined([frame.over(back)] + fingers, heavy=0.2)
    for k, x in enumerate((8, 6, 14)):
        y = 12 + k * 24
        s.line([(x, y), (66, y + 1), (80, y + 3)], s.weight * 0.8, frame, (1, 1, 0.3))
    s.shape([(84, 116, 1), (170, 82, 1), (184, 112, 1), (96, 148, 1)], weight=s.weight * 0.9, frame=frame, heavy=0.2)


def cable_coil(s, frame):
    loop = []
    for k in range(37):
        a = 2 * pi * k / 12
        loop.append((66 * cos(a) + k * 0.8 - 14, 54 * sin(a) * (1 - 0.004 * k)))
    for w, colour in ((9 * frame.size() + s.weight * 1.7, "#000"), (9 * frame.size(), "#fff")):
        s.line(loop, w, frame, colour=colour)
    for x, y, turn in ((94, -14, 78), (-30, 70, 168)):
        f = frame.move(x, y).turn(turn)
        s.shape(box(-6, -14, 40, 28, 6), weight=s.weight * 0.8, frame=f)
        s.shape(box(34, -9, 18, 18, 4), weight=s.weight * 0.7, frame=f)


def charger(s, frame):
    """A wall charger; its pins point away, so that it stands for any country's plug."""
    for y in (-18, 18):
        s.shape(box(-82, y - 6, 34, 12, 4), weight=s.weight * 0.8, frame=frame)
    s.shape(box(-54, -48, 106, 96, 16), frame=frame)
    s.line([(-26, -46), (-26, 46)], s.weight * 0.5, frame)
    s.solid(box(40, -14, 7, 28, 3), frame)
    bolt(s, frame.move(6, 0).scale(0.55))


def sachet(s, frame):
    s.shape(box(-44, -58, 88, 116, 2), frame=frame, weight=s.weight * 0.9)
    for y in (-46, 46):
        s.line([(-42, y), (42, y)], s.weight * 0.5, frame)
    for k in range(9):
        x = -40 + k * 10
        for y in (-56, 48):
            s.line([(x, y), (x, y + 8)], s.weight * 0.42, frame)
    drop(s, frame.move(0, 2).scale(0.62))


def drop(s, frame):
    s.shape([(0, -44, 1), (20, -10), (26, 14), (0, 38), (-26, 14), (-20, -10)], frame=frame, weight=s.weight * 0.85)
    s.line([(-12, 14), (-8, 24), (2, 28)], s.weight * 0.6, frame)


def leaflet(s, frame):
    for k in range(4):
        y = -72 + k * 36
        lean = 10 if k % 2 else -10
        face = [(-40 - lean, y, 1), (40 - lean, y, 1), (40 + lean, y + 36, 1), (-40 + lean, y + 36, 1)]
        s.shape(face, frame=frame, weight=s.weight * 0.8)
        for j in range(2):
            s.line([(-24, y + 12 + j * 11), (22 - 14 * j, y + 12 + j * 11)], s.weight * 0.5, frame)


def bolt(s, frame, colour="#000"):
    s.body.append(f'<path d="{straight(frame.over([(8, -40), (-24, 8), (-4, 8), (-10, 40), (24, -10), (4, -10)]))}" fill="{colour}"/>')


def mirrored(x, y, k=1.0):
    return Frame().move(x, y).scale(-k, k)
