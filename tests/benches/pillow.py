"""How fast the reference library diffuses the same number of dots as tests/benches/screens.rs: python3 tests/benches/pillow.py"""
import time

from PIL import Image

WIDE, HIGH = 576, 4000
rows = b"".join(bytes((((x + y) // 5 % 243) + ((x * 7919 ^ y * 104729) & 0xFFFFFFFF) % 13) for x in range(WIDE)) for y in range(HIGH))
picture = Image.frombytes("L", (WIDE, HIGH), rows)
best = float("inf")
for _ in range(20):
    begun = time.perf_counter()
    picture.convert("1")
    best = min(best, time.perf_counter() - begun)
print(f"convert: {best * 1000:.1f} ms, {WIDE * HIGH / best / 1e6:.0f} Melem/s")
