#!/usr/bin/env bash
# Soundings x,y,z to cells of 5 m and contours every metre, by GDAL on all cores.
# usage: grid.sh SOUNDINGS DIR
set -euo pipefail
name=$(basename "$1" .csv)
cat >"$2/theirs.vrt" <<END
<OGRVRTDataSource><OGRVRTLayer name="$name"><SrcDataSource>$1</SrcDataSource><GeometryType>wkbPoint</GeometryType><GeometryField encoding="PointFromColumns" x="x" y="y" z="z"/></OGRVRTLayer></OGRVRTDataSource>
END
rm -f "$2/theirs.geojson"
gdal_grid -q --config GDAL_NUM_THREADS ALL_CPUS -of ENVI -ot Float32 -l "$name" \
	-a invdistnn:power=2:radius=30:max_points=12:min_points=1:nodata=-9999 \
	-txe 0 10000 -tye 5000 0 -outsize 2000 1000 "$2/theirs.vrt" "$2/theirs.f32"
gdal_contour -q -a depth -i 1 -snodata -9999 -f GeoJSON "$2/theirs.f32" "$2/theirs.geojson"
