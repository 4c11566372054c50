#!/usr/bin/env python3
"""What drains where on two smooth grounds, by integrating steepest descent with SciPy and by flooding a raster with scikit-image.

Needs the wheels `scipy` and `scikit-image`:  python3 descent.py
The numbers that it prints stand in src/surface/drainage_tests.rs. Made with SciPy 1.17.1, scikit-image 0.26.0.
"""
import numpy as np
from scipy.integrate import solve_ivp
from skimage.segmentation import watershed

STEP = 0.25


def valley(x, y):
    """A winding valley that falls to the south, with a spur and a dell in its sides."""
    bed = x - 14.0 * np.sin(y / 35.0)
    return 430.0 + 0.03 * y + 0.0012 * bed**2 + 0.5 * np.sin(x / 17.0 + 0.8) * np.cos(y / 23.0)


def hollows(x, y):
    """Four hollows, no two alike, inside a rim that nothing leaves over."""
    return (
        3.0 * (np.cos(2 * np.pi * x / 80.0) + np.cos(2 * np.pi * y / 70.0))
        + 0.012 * x
        - 0.02 * y
        + 0.7 * np.sin(x / 23.0) * np.sin(y / 19.0 + 0.4)
        + 4.0 * np.maximum(0.0, np.maximum(np.abs(x) - 70.0, np.abs(y) - 60.0)) ** 2 / 10.0
    )


def downhill(height):
    """The unit way down, by central differences of a metre's millionth."""
    d = 1e-4

    def way(_, state):
        x, y = state.reshape(2, -1)
        gx = (height(x + d, y) - height(x - d, y)) / (2 * d)
        gy = (height(x, y + d) - height(x, y - d)) / (2 * d)
        size = np.maximum(np.hypot(gx, gy), 1e-9)
        # Slower near the bottom, where there is no way any more.
        pace = np.minimum(1.0, size / 1e-3) / size
        return np.concatenate([-gx * pace, -gy * pace])

    return way


def paths(height, x, y, length):
    """Places of all paths every STEP along them."""
    times = np.arange(0.0, length + STEP / 2, STEP)
    found = solve_ivp(downhill(height), (0.0, length), np.concatenate([x, y]), method="RK45", t_eval=times, rtol=1e-6, atol=1e-6, max_step=1.0)
    return found.y.reshape(2, x.size, times.size)


def caught(height, line, box, cell, length):
    """Area of the cells whose paths cross a line from a to b inside a box."""
    (west, east), (south, north) = box
    xs, ys = np.arange(west + cell / 2, east, cell), np.arange(south + cell / 2, north, cell)
    x, y = (part.ravel() for part in np.meshgrid(xs, ys))
    count = 0
    for chunk in np.array_split(np.arange(x.size), max(1, x.size // 4000)):
        px, py = paths(height, x[chunk], y[chunk], length)
        inside = (px >= west) & (px <= east) & (py >= south) & (py <= north)
        # Nothing counts once a path has left the box.
        inside = np.logical_and.accumulate(inside, axis=1)
        crossed = np.zeros(chunk.size, dtype=bool)
        for (ax, ay), (bx, by) in zip(line[:-1], line[1:]):
            side = (bx - ax) * (py - ay) - (by - ay) * (px - ax)
            turn = (side[:, :-1] > 0) != (side[:, 1:] > 0)
            part = side[:, :-1] / np.where(turn, side[:, :-1] - side[:, 1:], 1.0)
            ix, iy = px[:, :-1] + part * np.diff(px, axis=1), py[:, :-1] + part * np.diff(py, axis=1)
            along = ((ix - ax) * (bx - ax) + (iy - ay) * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2)
            crossed |= (turn & (along >= 0) & (along <= 1) & inside[:, :-1]).any(axis=1)
        count += crossed.sum()
    return count * cell * cell


def basins(height, box, cell, length, seeds):
    """Area of the cells whose paths end nearest to each seed."""
    (west, east), (south, north) = box
    xs, ys = np.arange(west + cell / 2, east, cell), np.arange(south + cell / 2, north, cell)
    x, y = (part.ravel() for part in np.meshgrid(xs, ys))
    areas = np.zeros(len(seeds))
    for chunk in np.array_split(np.arange(x.size), max(1, x.size // 4000)):
        px, py = paths(height, x[chunk], y[chunk], length)
        away = [np.hypot(px[:, -1] - sx, py[:, -1] - sy) for sx, sy in seeds]
        near = np.argmin(away, axis=0)
        assert np.min(away, axis=0).max() < 2.0, np.min(away, axis=0).max()
        areas += np.bincount(near, minlength=len(seeds)) * cell * cell
    return areas


def flooded(height, box, cell, seeds):
    """The same areas by flooding a raster from the seeds."""
    (west, east), (south, north) = box
    xs, ys = np.arange(west + cell / 2, east, cell), np.arange(south + cell / 2, north, cell)
    x, y = np.meshgrid(xs, ys)
    markers = np.zeros(x.shape, dtype=int)
    for at, (sx, sy) in enumerate(seeds):
        markers[np.abs(ys - sy).argmin(), np.abs(xs - sx).argmin()] = at + 1
    labels = watershed(height(x, y), markers, connectivity=2)
    return np.bincount(labels.ravel(), minlength=len(seeds) + 1)[1:] * cell * cell


def main():
    box = ((-80.0, 80.0), (0.0, 160.0))
    lines = {
        "across the bed": [(-12.0, 20.0), (28.0, 20.0)],
        "on one side": [(30.0, 60.0), (45.0, 85.0), (50.0, 120.0)],
    }
    for name, line in lines.items():
        for cell in (2.0, 1.0):
            print("valley,", name, "cells of", cell, "m:", caught(valley, line, box, cell, 260.0), "m2")
    box = ((-80.0, 80.0), (-70.0, 70.0))
    # Where paths from near the four hollows end.
    px, py = paths(hollows, np.array([-40.0, 40.0, -40.0, 40.0]), np.array([-35.0, -35.0, 35.0, 35.0]), 60.0)
    seeds = list(zip(px[:, -1], py[:, -1]))
    print("hollows at", [(round(float(x), 3), round(float(y), 3)) for x, y in seeds])
    for cell in (1.0, 0.5):
        print("descent, cells of", cell, "m:", basins(hollows, box, cell, 150.0, seeds))
        print("flooded, cells of", cell, "m:", flooded(hollows, box, cell, seeds))


if __name__ == "__main__":
    main()
