#!/usr/bin/python3
"""A day as an analyst would work it up with general-purpose libraries.

usage: day.py lxml|gpxpy TRACK LOG MARKS DIR

Reads a GPX track and a sonar log, joins them by time, cleans the depths, finds
drifts by speed and zones of catches and marks by density, grids the depths to 5 m,
draws contours every metre, and writes it all as one GeoJSON file.
"""

import json
import os
import subprocess
import sys

import numpy as np
import pandas as pd
from shapely.geometry import LineString, MultiPoint, mapping
from shapely.ops import transform
from sklearn.cluster import DBSCAN

LATITUDE_M = 110960.0


def local(tag):
    return tag.rpartition("}")[2]


def track_by_lxml(name):
    from lxml import etree

    rows = []
    for _, point in etree.iterparse(name, tag="{*}trkpt"):
        text = {local(x.tag): x.text for x in point.iter()}
        rows.append((text["time"], point.get("lat"), point.get("lon"), text.get("depth"), text.get("wtemp"), text.get("speed")))
        point.clear()
        while point.getprevious() is not None:
            del point.getparent()[0]
    return rows


def marks_by_lxml(name):
    from lxml import etree

    return [
        (point.findtext("{*}time"), point.get("lat"), point.get("lon"), point.findtext("{*}type"))
        for _, point in etree.iterparse(name, tag="{*}wpt")
    ]


def track_by_gpxpy(name):
    import gpxpy

    rows = []
    with open(name, encoding="utf-8") as f:
        document = gpxpy.parse(f)
    for track in document.tracks:
        for segment in track.segments:
            for p in segment.points:
                text = {local(x.tag): x.text for x in p.extensions}
                rows.append((p.time, p.latitude, p.longitude, text.get("depth"), text.get("wtemp"), text.get("speed")))
    return rows


def marks_by_gpxpy(name):
    import gpxpy

    with open(name, encoding="utf-8") as f:
        return [(p.time, p.latitude, p.longitude, p.type) for p in gpxpy.parse(f).waypoints]


def table(rows, names):
    t = pd.DataFrame(rows, columns=names)
    t["time"] = pd.to_datetime(t["time"], utc=True)
    for n in names:
        if n not in ("time", "kind"):
            t[n] = t[n].astype(float)
    return t.sort_values("time", ignore_index=True)


def main(how, track_name, log_name, marks_name, out):
    os.makedirs(out, exist_ok=True)
    read_track, read_marks = {"lxml": (track_by_lxml, marks_by_lxml), "gpxpy": (track_by_gpxpy, marks_by_gpxpy)}[how]
    track = table(read_track(track_name), ["time", "lat", "lon", "own_depth", "temp", "speed"])
    log = pd.read_csv(log_name)
    log["time"] = pd.to_datetime(log["time"], utc=True)
    log = log.sort_values("time", ignore_index=True)

    # Join, and lay out a plane.
    fixes = pd.merge_asof(track, log[["time", "depth_m", "water_temp_c"]], on="time", direction="nearest", tolerance=pd.Timedelta("2s"))
    south, west = fixes["lat"].min(), fixes["lon"].min()
    longitude_m = LATITUDE_M * np.cos(np.radians(south))

    def place(t):
        t["x"] = (t["lon"] - west) * longitude_m
        t["y"] = (t["lat"] - south) * LATITUDE_M

    def back(x, y):
        return west + np.asarray(x) / longitude_m, south + np.asarray(y) / LATITUDE_M

    place(fixes)

    # Clean: lost bottoms, and what stands off its neighbours.
    middle = fixes["depth_m"].rolling(9, center=True, min_periods=3).median()
    strayed = (fixes["depth_m"] - middle).abs() > np.maximum(0.4, 0.2 * middle)
    sound = fixes[~strayed & (fixes["depth_m"] > 0.1)]

    features = []

    def feature(shape, **properties):
        features.append({"type": "Feature", "properties": properties, "geometry": mapping(transform(back, shape))})

    # Drifts: slow for two minutes or longer.
    pace = pd.Series(np.hypot(fixes["x"].diff(), fixes["y"].diff())).rolling(11, center=True, min_periods=1).median()
    slow = pace < 0.9
    for _, d in fixes[slow].groupby((slow != slow.shift()).cumsum()[slow]):
        if len(d) >= 120:
            line = LineString(d[["x", "y"]].to_numpy())
            feature(line.simplify(1), kind="drift", start=str(d["time"].iloc[0]), end=str(d["time"].iloc[-1]),
                    length_m=round(line.length, 1), depth_m=round(d["depth_m"].median(), 2))

    # Zones: where catches and marks crowd.
    marks = table(read_marks(marks_name), ["time", "lat", "lon", "kind"])
    place(marks)
    marks = pd.merge_asof(marks, sound[["time", "depth_m"]], on="time", direction="nearest")
    marks["zone"] = DBSCAN(eps=15, min_samples=10).fit_predict(marks[["x", "y"]].to_numpy())
    for number, z in marks[marks["zone"] >= 0].groupby("zone"):
        hull = MultiPoint(z[["x", "y"]].to_numpy()).convex_hull.buffer(15)
        feature(hull, kind="zone", id=int(number), events=len(z), catches=int((z["kind"] == "catch").sum()),
                depth_m=round(z["depth_m"].mean(), 2))

    # Grid and contours, by GDAL.
    table_name, layer, grid, lines = (os.path.join(out, n) for n in ("sound.csv", "sound.vrt", "grid.tif", "contours.geojson"))
    sound[["x", "y", "depth_m"]].to_csv(table_name, index=False, header=["x", "y", "z"], float_format="%.2f")
    with open(layer, "w", encoding="utf-8") as f:
        f.write('<OGRVRTDataSource><OGRVRTLayer name="sound"><SrcDataSource relativeToVRT="1">sound.csv</SrcDataSource>'
                '<GeometryType>wkbPoint</GeometryType><GeometryField encoding="PointFromColumns" x="x" y="y" z="z"/>'
                '</OGRVRTLayer></OGRVRTDataSource>')
    x1, y1 = 5 * np.ceil(sound["x"].max() / 5), 5 * np.ceil(sound["y"].max() / 5)
    subprocess.run(["gdal_grid", "-q", "-a", "invdistnn:power=2:radius=30:max_points=12:min_points=1:nodata=-9999",
                    "-txe", "0", str(x1), "-tye", str(y1), "0", "-outsize", str(int(x1 / 5)), str(int(y1 / 5)),
                    "-ot", "Float32", "-l", "sound", "--config", "GDAL_NUM_THREADS", "ALL_CPUS", layer, grid], check=True)
    if os.path.exists(lines):
        os.remove(lines)
    subprocess.run(["gdal_contour", "-q", "-a", "depth", "-i", "1", "-snodata", "-9999", "-f", "GeoJSON", grid, lines], check=True)
    with open(lines, encoding="utf-8") as f:
        for c in json.load(f)["features"]:
            lon, lat = back(*np.array(c["geometry"]["coordinates"]).T)
            features.append({"type": "Feature", "properties": {"kind": "contour", "depth_m": c["properties"]["depth"]},
                             "geometry": {"type": "LineString", "coordinates": np.round(np.c_[lon, lat], 7).tolist()}})

    with open(os.path.join(out, "day.geojson"), "w", encoding="utf-8") as f:
        json.dump({"type": "FeatureCollection", "features": features}, f)
    count = pd.Series([f["properties"]["kind"] for f in features]).value_counts()
    print(f"{len(fixes)} fixes, {len(sound)} sound,", ", ".join(f"{n} {k}" for k, n in count.items()))


if __name__ == "__main__":
    if len(sys.argv) != 6 or sys.argv[1] not in ("lxml", "gpxpy"):
        sys.exit(__doc__)
    main(*sys.argv[1:])
