#!/usr/bin/env python3
"""Opens every GeoPackage and GeoJSON file under the given folders with GDAL, where a warning counts as a failure.

Needs the wheel `pyogrio` (it brings its own GDAL):  python3 tests/gdal_reads.py FOLDER...
Checked of each layer: it opens without a warning, has a frame (or is srs -1 by intent), as many features as GDAL's own
count, GeoPackage layers keep their spatial index in use, and GeoJSON lies within longitude and latitude.
"""
import logging
import pathlib
import sqlite3
import sys
import warnings

import pyogrio
from pyogrio import list_layers, read_info
from pyogrio.raw import read


class Gathering(logging.Handler):
    """Keeps what is logged at warning level or above."""

    def __init__(self):
        super().__init__(logging.WARNING)
        self.said = []

    def emit(self, record):
        self.said.append(record.getMessage())


def check(path):
    layers = 0
    for name, kind in list_layers(path):
        if kind is None:
            continue
        info = read_info(path, layer=name)
        meta, _, geometry, _ = read(path, layer=name)
        assert len(geometry) == info["features"], f"{path} {name}: {len(geometry)} of {info['features']} features"
        if path.suffix == ".geojson":
            assert meta["crs"] == "EPSG:4326", f"{path} {name}: {meta['crs']}"
            west, south, east, north = info["total_bounds"]
            assert -180 <= west <= east <= 180 and -90 <= south <= north <= 90, f"{path} {name}: {info['total_bounds']}"
        else:
            with sqlite3.connect(path) as database:
                srs = database.execute("SELECT srs_id FROM gpkg_contents WHERE table_name = ?", (name,)).fetchone()[0]
            known = str(meta["crs"] or "")
            assert (srs == -1) or known == f"EPSG:{srs}" or srs >= 100000, f"{path} {name}: srs {srs}, GDAL sees {known}"
            if info["capabilities"].get("fast_spatial_filter") is False:
                raise SystemExit(f"{path} {name}: GDAL does not use the spatial index")
            # A window around the first feature must find it through the index.
            if len(geometry) and info["total_bounds"] is not None:
                _, _, found, _ = read(path, layer=name, bbox=tuple(info["total_bounds"]))
                assert len(found) == len(geometry), f"{path} {name}: the index finds {len(found)} of {len(geometry)}"
        layers += 1
    return layers


def main(folders):
    # GDAL's messages come as Python warnings or into the log, depending on how grave they are; raising one inside
    # GDAL's own callback would be swallowed, so they are gathered and looked at after each file.
    log = Gathering()
    logging.getLogger("pyogrio").addHandler(log)
    files = sorted(p for f in folders for p in pathlib.Path(f).rglob("*") if p.suffix in (".gpkg", ".geojson"))
    if not files:
        raise SystemExit(f"no GeoPackage or GeoJSON file under {' '.join(folders)}")
    layers = 0
    for path in files:
        with warnings.catch_warnings(record=True) as told:
            warnings.simplefilter("always")
            layers += check(path)
        said = [str(warning.message) for warning in told] + log.said
        if said:
            raise SystemExit(f"{path}: GDAL says: {said[0]}")
    print(f"GDAL {'.'.join(map(str, pyogrio.__gdal_version__))}: {len(files)} files, {layers} layers read without a warning")


if __name__ == "__main__":
    main(sys.argv[1:] or ["."])
