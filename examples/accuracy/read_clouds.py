"""Reads clouds with laspy and lazrs, a reader that shares no code with the program's own LAS reader, and prints what it
finds as one JSON object a line: file, points, how many the header claims, withheld, classes of the points that are not withheld, lowest and highest
places; or file and error. The classes come from the bytes of the points as the specification lays them out.
"""

import json
import sys

import laspy
import numpy as np


def found(path):
    classes, points, withheld = {}, 0, 0
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    with laspy.open(path) as reader:
        claimed = int(reader.header.point_count)
        for chunk in reader.chunk_iterator(500_000):
            points += len(chunk)
            kept = np.asarray(chunk.withheld) == 0
            withheld += int(len(chunk) - kept.sum())
            for number, count in zip(*np.unique(np.asarray(chunk.classification)[kept], return_counts=True)):
                classes[str(int(number))] = classes.get(str(int(number)), 0) + int(count)
            if kept.any():
                places = np.stack([np.asarray(chunk[axis])[kept] for axis in ("x", "y", "z")])
                low, high = np.minimum(low, places.min(axis=1)), np.maximum(high, places.max(axis=1))
    bounds = [low.tolist(), high.tolist()] if sum(classes.values()) else None
    return {"points": points, "claimed": claimed, "withheld": withheld, "classes": classes, "bounds": bounds}


for name in sys.argv[1:]:
    try:
        answer = found(name)
    except Exception as why:  # whatever it is, it is told and not passed over
        answer = {"error": f"{type(why).__name__}: {why}"}
    print(json.dumps({"file": name, **answer}), flush=True)
