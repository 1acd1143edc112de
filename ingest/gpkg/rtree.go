package gpkg

import "strings"

// The spatial index of GeoPackage 1.3, annex F.3: an R-tree table with one box per
// row, kept up by six triggers. 1.4 has other update triggers under other names; a
// file that says it is 1.3 must have these. The text of the statements is the
// standard's, since a validator may compare it; t, c and i stand for table, shape
// column and key column.
var indexStatements = []string{
	`CREATE VIRTUAL TABLE "rtree_<t>_<c>" USING rtree(id, minx, maxx, miny, maxy)`,

	// Only rows that were there before the index; none for a new layer.
	`INSERT OR REPLACE INTO "rtree_<t>_<c>"
  SELECT "<i>", ST_MinX("<c>"), ST_MaxX("<c>"), ST_MinY("<c>"), ST_MaxY("<c>") FROM "<t>" WHERE "<c>" NOT NULL AND NOT ST_IsEmpty("<c>")`,

	`CREATE TRIGGER "rtree_<t>_<c>_insert" AFTER INSERT ON "<t>"
  WHEN (new."<c>" NOT NULL AND NOT ST_IsEmpty(NEW."<c>"))
BEGIN
  INSERT OR REPLACE INTO "rtree_<t>_<c>" VALUES (
    NEW."<i>",
    ST_MinX(NEW."<c>"), ST_MaxX(NEW."<c>"),
    ST_MinY(NEW."<c>"), ST_MaxY(NEW."<c>")
  );
END`,

	`CREATE TRIGGER "rtree_<t>_<c>_update1" AFTER UPDATE OF "<c>" ON "<t>"
  WHEN OLD."<i>" = NEW."<i>" AND
       (NEW."<c>" NOTNULL AND NOT ST_IsEmpty(NEW."<c>"))
BEGIN
  INSERT OR REPLACE INTO "rtree_<t>_<c>" VALUES (
    NEW."<i>",
    ST_MinX(NEW."<c>"), ST_MaxX(NEW."<c>"),
    ST_MinY(NEW."<c>"), ST_MaxY(NEW."<c>")
  );
END`,

	`CREATE TRIGGER "rtree_<t>_<c>_update2" AFTER UPDATE OF "<c>" ON "<t>"
  WHEN OLD."<i>" = NEW."<i>" AND
       (NEW."<c>" ISNULL OR ST_IsEmpty(NEW."<c>"))
BEGIN
  DELETE FROM "rtree_<t>_<c>" WHERE id = OLD."<i>";
END`,

	`CREATE TRIGGER "rtree_<t>_<c>_update3" AFTER UPDATE ON "<t>"
  WHEN OLD."<i>" != NEW."<i>" AND
       (NEW."<c>" NOTNULL AND NOT ST_IsEmpty(NEW."<c>"))
BEGIN
  DELETE FROM "rtree_<t>_<c>" WHERE id = OLD."<i>";
  INSERT OR REPLACE INTO "rtree_<t>_<c>" VALUES (
    NEW."<i>",
    ST_MinX(NEW."<c>"), ST_MaxX(NEW."<c>"),
    ST_MinY(NEW."<c>"), ST_MaxY(NEW."<c>")
  );
END`,

	`CREATE TRIGGER "rtree_<t>_<c>_update4" AFTER UPDATE ON "<t>"
  WHEN OLD."<i>" != NEW."<i>" AND
       (NEW."<c>" ISNULL OR ST_IsEmpty(NEW."<c>"))
BEGIN
  DELETE FROM "rtree_<t>_<c>" WHERE id IN (OLD."<i>", NEW."<i>");
END`,

	`CREATE TRIGGER "rtree_<t>_<c>_delete" AFTER DELETE ON "<t>"
  WHEN old."<c>" NOT NULL
BEGIN
  DELETE FROM "rtree_<t>_<c>" WHERE id = OLD."<i>";
END`,
}

// createIndex gives a layer of ours its index and tells of it.
func (tx *Tx) createIndex(table string) error {
	fill := strings.NewReplacer("<t>", table, "<c>", "geom", "<i>", "fid")
	for _, s := range indexStatements {
		if err := tx.run(fill.Replace(s)); err != nil {
			return err
		}
	}
	return tx.registerExtension(table, "geom", "gpkg_rtree_index", specURL+"#extension_rtree", "write-only")
}
