"""Draws the pictures of the smaller manuals: Tick, the starter manual and the manuals that the tests read.

`python3 manuals/drawings.py` writes them beside their manuals.
"""

from math import cos, pi, sin
from pathlib import Path

from ink import Frame, Sheet, box, ellipse, ribbon

ROOT = Path(__file__).resolve().parent.parent


def tick():
    """A round beetle with a dial on its back, sitting on the edge of a sheet of music."""
    s = Sheet(1000, 640, 7)
    page = [(150, 330, 1), (880, 290, 1), (960, 700, 1), (110, 700, 1)]
    s.shape(page)
    s.clip(page)
    for row in range(2):
        for k in range(5):
            y = 400 + row * 150 + k * 17
            s.line([(120, y + 26), (960, y - 20)], s.weight * 0.42)
    for x, y, up in ((240, 446, 1), (330, 424, 1), (716, 436, 1), (800, 402, 1), (860, 416, 1), (270, 590, 1), (420, 566, 1), (640, 578, 1), (760, 552, 1)):
        f = Frame().move(x, y)
        s.solid(ellipse(0, 0, 17, 12, -22), f)
        s.line([(14, -6), (14, -74)], s.weight * 0.8, f)
    s.unclip()
    f = Frame().move(520, 262).turn(-3)
    for side in (-1, 1):
        for x, foot, knee in ((96, 178, 150), (40, 92, 84), (130, 250, 210)):
            s.line([(side * x, 70), (side * knee, 62 + (30 if x == 40 else 0)), (side * foot, 122)], s.weight * 1.7, f)
    # the winding key, behind
    s.line([(0, -150), (0, -206)], s.weight * 1.9, f)
    s.shape([(-8, -206), (-54, -228), (-62, -186), (-10, -196), (10, -196), (62, -186), (54, -228), (8, -206)], frame=f)
    # the head, with eyes that keep time
    for side in (-1, 1):
        feeler = [(side * 50, 160), (side * 90, 214), (side * 140, 206)]
        s.line(feeler, s.weight * 1.1, f)
        s.solid(ellipse(side * 142, 205, 9), f)
    s.shape(ellipse(0, 140, 84, 66), frame=f)
    s.shape(ellipse(0, -10, 172, 150), frame=f, weight=s.weight * 1.2)
    s.hatch([(60, 128), (130, 96), (172, 0), (140, -60), (150, 0), (120, 70)], 50, 10, s.weight * 0.46, f)
    s.shape(ellipse(0, -22, 118, 104), frame=f, weight=s.weight * 0.85, heavy=0)
    for k in range(24):
        a = pi * 2 * k / 24
        near = 0.78 if k % 4 == 0 else 0.87
        s.line([(118 * near * cos(a), -22 + 104 * near * sin(a)), (108 * cos(a), -22 + 95 * sin(a))],
               s.weight * (0.9 if k % 4 == 0 else 0.5), f)
    s.line([(0, -22), (54, -82)], s.weight * 1.4, f)
    s.solid(ellipse(0, -22, 13), f)
    for side in (-1, 1):
        s.shape(ellipse(side * 32, 164, 22, 20), frame=f, weight=s.weight * 0.8, heavy=0)
        s.solid(ellipse(side * 32 + 6, 167, 10), f)
    s.line([(-12, 192), (0, 196), (12, 192)], s.weight * 0.8, f)
    # ticking
    for side in (-1, 1):
        for k in range(2):
            r = 220 + k * 40
            arc = [(side * r * cos(a), -40 + r * 0.8 * sin(a)) for a in (-0.5, -0.2, 0.1)]
            s.line(arc, s.weight * 0.9, f, (0.3, 1, 0.3))
    return s


def open_box():
    """A carton with its flaps open and a blank label."""
    s = Sheet(1000, 560, 6.5)
    for k in range(7):
        a = -pi / 2 + (k - 3) * 0.32
        near, far = 120, 170 + (k % 2) * 34
        s.line([(500 + near * 1.5 * cos(a), 190 + near * sin(a)), (500 + far * 1.5 * cos(a), 190 + far * sin(a))], s.weight, taper=(0.9, 0.35))
    inside = [(270, 220, 1), (540, 160, 1), (740, 210, 1), (470, 280, 1)]
    s.solid(inside)
    s.shape([(270, 220, 1), (540, 160, 1), (480, 92, 1), (200, 154, 1)])
    s.shape([(540, 160, 1), (740, 210, 1), (830, 138, 1), (628, 92, 1)])
    s.solid([(300, 220, 1), (540, 168, 1), (712, 210, 1), (470, 272, 1)])
    s.shape([(270, 220, 1), (470, 280, 1), (470, 520, 1), (270, 446, 1)])
    s.shape([(470, 280, 1), (740, 210, 1), (740, 436, 1), (470, 520, 1)])
    s.hatch([(470, 280, 1), (740, 210, 1), (740, 436, 1), (470, 520, 1)], 75, 15, s.weight * 0.45)
    s.shape([(270, 220, 1), (470, 280, 1), (400, 352, 1), (190, 282, 1)])
    s.shape([(470, 280, 1), (740, 210, 1), (836, 276, 1), (560, 354, 1)])
    s.shape([(306, 352, 1), (436, 398, 1), (436, 460, 1), (306, 412, 1)], weight=s.weight * 0.8, heavy=0.2)
    s.line([(328, 386), (412, 416)], s.weight * 0.6)
    s.line([(328, 406), (384, 426)], s.weight * 0.6)
    return s


def shade():
    """The folded shade above the ring of the lamp."""
    s = Sheet(1000, 660, 6.5)
    x = 500
    s.shape([(x - 190, 600), (x, 576), (x + 190, 600), (x + 190, 618), (x, 640), (x - 190, 618)])
    s.shape([(x - 18, 420, 1), (x + 18, 420, 1), (x + 24, 600, 1), (x - 24, 600, 1)])
    s.hatch([(x + 4, 424, 1), (x + 18, 424, 1), (x + 24, 596, 1), (x + 6, 596, 1)], 90, 7, s.weight * 0.45)
    s.shape(ellipse(x, 412, 116, 26))
    s.shape(ellipse(x, 408, 92, 17), weight=s.weight * 0.7, heavy=0)
    s.shape(ellipse(x, 384, 40, 34))
    for k in (-1, 1):
        s.line([(x + k * 52, 370), (x + k * 84, 350)], s.weight)
    top, low, count = 46, 250, 8
    for k in range(count):
        left, right = -1 + 2 * k / count, -1 + 2 * (k + 1) / count
        dip = lambda u: 26 * (1 - u * u)
        face = [(x + 130 * left, top + dip(left) * 0.4, 1), (x + 130 * right, top + dip(right) * 0.4, 1),
                (x + 270 * right, low + dip(right), 1), (x + 270 * left, low + dip(left), 1)]
        s.shape(face, heavy=0.15, weight=s.weight * 0.9)
        if k % 2:
            s.hatch(face, 84, 10, s.weight * 0.42)
    for k in (-1, 1):
        s.line([(x + k * 200, 318), (x + k * 200, 374)], s.weight * 1.6)
        s.solid([(x + k * 200, 402, 1), (x + k * 200 - 22, 364, 1), (x + k * 200 + 22, 364, 1)])
    return s


def panel():
    """The front panel of the Murmur module."""
    s = Sheet(400, 1000, 9)
    s.shape(box(30, 20, 340, 960, 6), weight=10)
    for x in (80, 320):
        for y in (54, 946):
            s.shape(ellipse(x, y, 20, 14), weight=6, heavy=0)
    for y, r, turn in ((165, 84, 0.9), (410, 84, -0.6)):
        f = Frame().move(200, y)
        for k in range(11):
            a = pi * (0.75 + 1.5 * k / 10)
            s.line([(r * 1.16 * cos(a), r * 1.16 * sin(a)), (r * 1.3 * cos(a), r * 1.3 * sin(a))], 6, f)
        s.shape(ellipse(0, 0, r), frame=f)
        s.solid(ellipse(0, 0, r * 0.72), f)
        a = -pi / 2 + turn
        s.line([(r * 0.2 * cos(a), r * 0.2 * sin(a)), (r * 0.64 * cos(a), r * 0.64 * sin(a))], 10, f, colour="#fff")
    s.shape(box(176, 588, 48, 66, 12), weight=7)
    s.shape(ellipse(200, 604, 21, 24), weight=7)
    for x, y in ((112, 742), (288, 742), (112, 868), (288, 868)):
        hexagon = [(x + 58 * cos(pi * k / 3), y + 58 * sin(pi * k / 3), 1) for k in range(6)]
        s.shape(hexagon, weight=7)
        s.solid(ellipse(x, y, 34))
        s.ring(ellipse(x, y, 24), 4, colour="#fff")
    return s


def tortoise():
    """A wooden tortoise on wheels with a string."""
    s = Sheet(1000, 560, 7)
    s.line([(716, 404), (800, 440), (862, 410), (930, 440), (984, 520)], s.weight * 0.9)
    neck = ribbon([(660, 360), (730, 320), (780, 240)], [120, 92, 84])
    head = [(740, 210), (770, 160), (840, 150), (884, 196), (868, 244), (800, 262), (752, 252)]
    s.joined([[p + (1,) for p in neck], head])
    s.shape(ellipse(826, 192, 17), weight=s.weight * 0.8, heavy=0)
    s.solid(ellipse(831, 194, 9))
    s.line([(836, 234), (858, 232), (872, 218)], s.weight * 0.8)
    s.shape([(150, 372), (88, 392), (64, 424), (130, 426), (200, 412)])
    s.shape([(150, 372, 1), (690, 372, 1), (716, 404), (690, 436, 1), (150, 436, 1), (126, 404)])
    s.solid(ellipse(703, 404, 9))
    shell = [(150, 374, 1), (176, 246), (290, 140), (430, 110), (570, 150), (668, 262), (690, 374, 1)]
    s.shape(shell, weight=s.weight * 1.15)
    s.clip(shell)
    for ring in range(3):
        rx, ry = 300 - ring * 66, 268 - ring * 66
        s.line([(420 + rx * cos(a), 384 + ry * sin(a)) for a in [pi + pi * k / 12 for k in range(13)]], s.weight * 0.7)
    for k in range(7):
        a = pi + pi * (k + 0.5) / 7
        s.line([(420 + 168 * cos(a), 384 + 136 * sin(a)), (420 + 300 * cos(a), 384 + 268 * sin(a))], s.weight * 0.7)
    s.unclip()
    s.hatch([(560, 370), (690, 370), (660, 262), (600, 190), (620, 280)], 60, 12, s.weight * 0.45)
    for x in (240, 600):
        s.shape(ellipse(x, 450, 78), weight=s.weight * 1.1)
        s.ring(ellipse(x, 450, 56), s.weight * 0.5)
        for k in range(5):
            a = 2 * pi * k / 5 - 0.4
            s.ring(ellipse(x + 36 * cos(a), 450 + 36 * sin(a), 10), s.weight * 0.7)
        s.solid(ellipse(x, 450, 13))
    for k in range(2):
        s.line([(130 + k * 60, 534 + k * 11), (760 - k * 80, 534 + k * 11)], s.weight * 0.6, taper=(0.2, 1, 1, 0.2))
    return s


def tin():
    """A tin out of which a poppy, a cornflower and grass grow."""
    s = Sheet(1000, 900, 8)
    s.shape(ellipse(500, 590, 160, 28))
    s.solid(ellipse(500, 592, 142, 19))
    for x, tip, lean in ((410, 330, -90), (470, 240, -30), (520, 300, 10), (560, 260, 70), (600, 350, 110), (450, 380, -60), (580, 400, 60)):
        s.line([(x, 600), (x + lean * 0.4, 470), (x + lean, tip)], s.weight * 1.7, taper=(1, 0.9, 0.15))
    s.line([(460, 600), (420, 400), (346, 220)], s.weight * 0.9)
    poppy = Frame().move(338, 190)
    for points in ([(0, 20, 1), (-104, 20), (-118, -60), (-50, -92), (0, -40, 1)], [(0, 20, 1), (104, 20), (118, -60), (50, -92), (0, -40, 1)],
                   [(-4, 26, 1), (-80, 66), (-40, 100), (0, 92), (40, 100), (80, 66), (4, 26, 1)]):
        s.shape(points, frame=poppy)
    for k in range(7):
        a = pi * (0.12 + 0.76 * k / 6)
        s.line([(14 * cos(a), 30 + 14 * sin(a)), (54 * cos(a), 30 + 44 * sin(a))], s.weight * 0.5, poppy)
    s.solid(ellipse(0, 16, 26, 22), poppy)
    s.line([(540, 600), (590, 420), (650, 250)], s.weight * 0.9)
    f = Frame().move(658, 206)
    for k in range(9):
        a = 2 * pi * k / 9
        petal = [(20, -8, 1), (78, -30, 1), (70, -10, 1), (96, 0, 1), (70, 10, 1), (78, 30, 1), (20, 8, 1)]
        s.shape(petal, frame=f.turn(360 * k / 9), weight=s.weight * 0.8, heavy=0.2)
    s.solid(ellipse(0, 0, 30), f)
    for k in range(6):
        a = 2 * pi * k / 6
        s.solid(ellipse(15 * cos(a), 15 * sin(a), 4), f, fill="#fff")
    s.shape([(340, 590, 1), (340, 826, 1), (420, 850), (500, 858), (580, 850), (660, 826, 1), (660, 590, 1), (580, 612), (500, 618), (420, 612)], weight=s.weight * 1.1)
    s.line([(340, 640), (420, 662), (500, 668), (580, 662), (660, 640)], s.weight * 0.6)
    s.line([(340, 800), (420, 824), (500, 830), (580, 824), (660, 800)], s.weight * 0.6)
    s.hatch([(590, 664, 1), (654, 650, 1), (654, 796, 1), (590, 816, 1)], 90, 13, s.weight * 0.45)
    for x, y in ((420, 730), (470, 752), (520, 728), (448, 780), (506, 784)):
        s.solid(ellipse(x, y, 12, 7, -30))
    s.shape(ellipse(770, 826, 140, 34), weight=s.weight)
    s.ring(ellipse(770, 820, 116, 24), s.weight * 0.55)
    return s


def pot():
    """The sensor in a flower pot."""
    s = Sheet(400, 440, 5)
    for points in ([(120, 250), (60, 190), (34, 110), (110, 160), (140, 250)], [(280, 250), (330, 170), (376, 150), (350, 220), (270, 262)],
                   [(150, 250), (110, 110), (140, 40), (178, 130), (168, 250)]):
        s.shape(points)
    for vein in ([(128, 246), (90, 190), (56, 138)], [(276, 250), (320, 200), (358, 166)], [(158, 244), (146, 150), (142, 72)]):
        s.line(vein, s.weight * 0.55)
    s.shape(box(228, 150, 26, 130), weight=s.weight)
    s.line([(228, 246), (254, 246)], s.weight * 1.3)
    s.shape([(204, 156), (200, 110), (241, 72), (282, 110), (278, 156), (241, 164)])
    s.shape(ellipse(227, 118, 8.5), weight=s.weight * 0.7, heavy=0)
    s.shape(ellipse(255, 118, 8.5), weight=s.weight * 0.7, heavy=0)
    s.solid(ellipse(229, 120, 4))
    s.solid(ellipse(257, 120, 4))
    s.line([(230, 138), (241, 144), (252, 138)], s.weight * 0.8)
    soil = [(86, 256), (200, 240), (314, 256), (320, 270), (80, 270)]
    s.solid(soil)
    s.shape([(84, 290, 1), (316, 290, 1), (286, 420), (200, 428), (114, 420)])
    s.hatch([(250, 300, 1), (312, 300, 1), (284, 418, 1), (236, 424, 1)], 78, 10, s.weight * 0.46)
    s.shape(box(68, 258, 264, 40, 6), weight=s.weight * 1.1)
    return s


PICTURES = {
    "manuals/tick/tick.svg": tick,
    "src/commands/start/box.svg": open_box,
    "tests/manuals/lamp/schirm.svg": shade,
    "tests/manuals/murmur/panel.svg": panel,
    "tests/manuals/toy/tortue.svg": tortoise,
    "tests/manuals/seeds/tin.svg": tin,
    "tests/manuals/sensor/pot.svg": pot,
}

if __name__ == "__main__":
    for name, draw in PICTURES.items():
        draw().save(ROOT / name)
