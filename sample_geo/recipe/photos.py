"""The invented photos: a drawn hill under a sky, greener or browner as the year was."""

import random
import warnings
from pathlib import Path

import numpy as np
import rasterio
from rasterio.errors import NotGeoreferencedWarning

from recipe.ground import SEED

WIDTH, HEIGHT = 360, 240
# Point, day, how green and how tall the grass is, and whether a burn blackened the ground.
SHOTS = (
    ("Meadow fence", "2024-06-20", 0.75, 0.8, False),
    ("Meadow fence", "2026-06-22", 0.80, 0.9, False),
    ("Lantern corner", "2024-06-20", 0.45, 0.5, False),
    ("Lantern corner", "2025-06-17", 0.40, 0.5, False),
    ("Lantern corner", "2026-04-18", 0.05, 0.1, True),
    ("Lantern corner", "2026-06-22", 0.90, 0.9, False),
    ("Lark Hill", "2025-06-17", 0.50, 0.5, False),
    ("Lark Hill", "2026-06-22", 0.60, 0.6, False),
)
SKY, FAR_HILL = (196, 216, 232), (146, 158, 128)
GREEN, STRAW, ASH = (92, 128, 58), (196, 172, 112), (62, 56, 52)


def picture(point: str, green: float, tall: float, burned: bool, seed: int) -> np.ndarray:
    """A view with a far hill and grass in front; the hill is that of the point."""
    chance = random.Random(SEED + seed)
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    phase = sum(map(ord, point))
    hill = 96 + 14 * np.sin(x / 57 + phase) + 6 * np.sin(x / 23 + 2 * phase)
    share = np.clip((y - hill) / (HEIGHT - hill), 0, 1)
    base = np.array(ASH if burned else STRAW) * (1 - green) + np.array(GREEN) * green
    ground = np.array(FAR_HILL) * (1 - share[..., None]) + base * share[..., None]
    view = np.where((y < hill)[..., None], SKY + (y[..., None] - 60) * 0.12, ground)
    for _ in range(900):
        left, foot = chance.randrange(WIDTH), chance.randrange(120, HEIGHT)
        near = (foot - 100) / (HEIGHT - 100)
        top = max(100, int(foot - 46 * tall * near - chance.random() * 6))
        shade = 0.72 + 0.5 * chance.random()
        lean = chance.gauss(0, 0.12)
        for row in range(top, foot):
            column = int(left + lean * (foot - row)) % WIDTH
            view[row, column] = base * shade
    return np.moveaxis(np.clip(view, 0, 255).round().astype(np.uint8), -1, 0)


def write_photos(folder: Path) -> None:
    """A JPEG for each shot, named by its point and day."""
    folder.mkdir(parents=True, exist_ok=True)
    profile = {"driver": "JPEG", "count": 3, "dtype": "uint8", "QUALITY": 68}
    for seed, (point, day, green, tall, burned) in enumerate(SHOTS):
        bands = picture(point, green, tall, burned, seed)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            path = folder / f"{point} {day}.jpg"
            with rasterio.open(path, "w", width=WIDTH, height=HEIGHT, **profile) as photo:
                photo.write(bands)
