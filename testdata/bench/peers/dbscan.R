# DBSCAN of points by R's package dbscan, 15 m and 10 points.
# usage: Rscript dbscan.R POINTS LABELS; labels are int32 from 0, -1 for noise.
suppressMessages(library(dbscan))
files <- commandArgs(trailingOnly = TRUE)
numbers <- readBin(files[1], what = "double", n = file.size(files[1]) / 8, endian = "little")
points <- matrix(numbers, ncol = 2, byrow = TRUE)
seconds <- system.time(found <- dbscan(points, eps = 15, minPts = 10))[["elapsed"]]
cat(sprintf("inside %.6f\n", seconds))
writeBin(found$cluster - 1L, files[2], size = 4, endian = "little")
