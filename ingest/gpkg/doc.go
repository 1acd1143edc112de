// Package gpkg keeps tables with shapes in one file that any GIS opens: an OGC
// GeoPackage 1.3 on SQLite. It knows nothing of what the tables mean.
//
// A [File] is opened with [Open], changed in [File.Update] and read in
// [File.View]. Tables are made with [Tx.CreateLayer]; shapes go in as the bytes
// of [Encode], [EncodePointZ], [EncodeLine] or [EncodeLineM], and come back through
// [Decode] and [DecodeLine].
//
// # How the file is kept safe
//
// Journal mode DELETE, synchronous EXTRA. Write-ahead logging would be faster for
// many small writes, but it keeps recent data in a second file beside the first
// until somebody closes both cleanly: a file copied to a stick would then lack it,
// it needs shared memory, which network folders lack, and a read-only medium can't
// be opened. With a rollback journal the file alone is whole whenever no program
// writes to it. EXTRA is FULL and also flushes the folder after the journal is
// deleted, so what Update has reported as done is still there after a power cut.
// A program killed half-way leaves FILE-journal beside the file; the next Open for
// writing puts the old state back. Deleted rows are overwritten with zeros
// (secure_delete), since people share such files and a place taken out should be
// gone.
//
// # What it does badly
//
//   - One user at a time: calls of Update and View on one File queue up, and a second
//     program that writes waits BusyTimeout and is then refused with [ErrInUse].
//   - A file does not get smaller when rows are deleted; the room is used again.
//   - Extents shrink by reading every shape of the layer once, at the end of the Update
//     that deleted from it.
//   - On POSIX systems a process loses its locks on a file when it closes any other
//     handle of that file: don't open the same path by other means while a File is open.
//   - UPSERT on an indexed layer fails when it meets an existing row: the update trigger
//     of GeoPackage 1.3 can't do it, 1.4 repaired that. Use UPDATE, or delete and insert.
//
// Sources: OGC 12-128r17 (GeoPackage 1.3), clauses 1, 2 and annexes C and F; OGC
// 06-103r4 (ISO WKB codes); SQLite documentation, "Atomic Commit" and "How To
// Corrupt An SQLite Database File".
package gpkg
