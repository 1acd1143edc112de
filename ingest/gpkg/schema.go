package gpkg

import "fmt"

const (
	applicationID = 0x47504B47 // "GPKG", requirement 2
	userVersion   = 10300      // GeoPackage 1.3
	oldestVersion = 10200      // the first that said its version in user_version
	nextMajor     = 20000

	specURL = "http://www.geopackage.org/spec130/"
	now     = `(strftime('%Y-%m-%dT%H:%M:%fZ','now'))` // asked for by the standard, never used by us
)

// coreTables are the tables of GeoPackage 1.3, annex C, and of its metadata and
// schema extensions, annex F.8 and F.9. Each is made when it is missing, since a
// file from another program may lack the optional ones.
var coreTables = []string{
	`CREATE TABLE IF NOT EXISTS gpkg_spatial_ref_sys (
	srs_name TEXT NOT NULL,
	srs_id INTEGER NOT NULL PRIMARY KEY,
	organization TEXT NOT NULL,
	organization_coordsys_id INTEGER NOT NULL,
	definition TEXT NOT NULL,
	description TEXT)`,
	`CREATE TABLE IF NOT EXISTS gpkg_contents (
	table_name TEXT NOT NULL PRIMARY KEY,
	data_type TEXT NOT NULL,
	identifier TEXT UNIQUE,
	description TEXT DEFAULT '',
	last_change DATETIME NOT NULL DEFAULT ` + now + `,
	min_x DOUBLE,
	min_y DOUBLE,
	max_x DOUBLE,
	max_y DOUBLE,
	srs_id INTEGER,
	CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id))`,
	`CREATE TABLE IF NOT EXISTS gpkg_geometry_columns (
	table_name TEXT NOT NULL,
	column_name TEXT NOT NULL,
	geometry_type_name TEXT NOT NULL,
	srs_id INTEGER NOT NULL,
	z TINYINT NOT NULL,
	m TINYINT NOT NULL,
	CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
	CONSTRAINT uk_gc_table_name UNIQUE (table_name),
	CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
	CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id))`,
	`CREATE TABLE IF NOT EXISTS gpkg_extensions (
	table_name TEXT,
	column_name TEXT,
	extension_name TEXT NOT NULL,
	definition TEXT NOT NULL,
	scope TEXT NOT NULL,
	CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name))`,
	`CREATE TABLE IF NOT EXISTS gpkg_metadata (
	id INTEGER CONSTRAINT m_pk PRIMARY KEY ASC NOT NULL,
	md_scope TEXT NOT NULL DEFAULT 'dataset',
	md_standard_uri TEXT NOT NULL,
	mime_type TEXT NOT NULL DEFAULT 'text/xml',
	metadata TEXT NOT NULL DEFAULT '')`,
	`CREATE TABLE IF NOT EXISTS gpkg_metadata_reference (
	reference_scope TEXT NOT NULL,
	table_name TEXT,
	column_name TEXT,
	row_id_value INTEGER,
	timestamp DATETIME NOT NULL DEFAULT ` + now + `,
	md_file_id INTEGER NOT NULL,
	md_parent_id INTEGER,
	CONSTRAINT crmr_mfi_fk FOREIGN KEY (md_file_id) REFERENCES gpkg_metadata(id),
	CONSTRAINT crmr_mpi_fk FOREIGN KEY (md_parent_id) REFERENCES gpkg_metadata(id))`,
	`CREATE TABLE IF NOT EXISTS gpkg_data_columns (
	table_name TEXT NOT NULL,
	column_name TEXT NOT NULL,
	name TEXT,
	title TEXT,
	description TEXT,
	mime_type TEXT,
	constraint_name TEXT,
	CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
	CONSTRAINT gdc_tn UNIQUE (table_name, name))`,
	`CREATE TABLE IF NOT EXISTS gpkg_data_column_constraints (
	constraint_name TEXT NOT NULL,
	constraint_type TEXT NOT NULL,
	value TEXT,
	min NUMERIC,
	min_is_inclusive BOOLEAN,
	max NUMERIC,
	max_is_inclusive BOOLEAN,
	description TEXT,
	CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value))`,
}

// wgs84WKT is EPSG 4326 in the form of OGC 01-009, the figures as the EPSG
// register gives them.
const wgs84WKT = `GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,` +
	`AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],` +
	`UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],` +
	`AUTHORITY["EPSG","4326"]]`

// ensureCore makes what is missing of the tables above, with the rows that the
// standard asks for.
func (tx *Tx) ensureCore() error {
	if tx.coreDone {
		return nil
	}
	for _, ddl := range coreTables {
		if err := tx.run(ddl); err != nil {
			return err
		}
	}
	for _, s := range []struct {
		name string
		id   int
		org  string
		def  string
		desc string
	}{
		{"Undefined Cartesian SRS", -1, "NONE", "undefined", "undefined Cartesian coordinate reference system"},
		{"Undefined geographic SRS", 0, "NONE", "undefined", "undefined geographic coordinate reference system"},
		{"WGS 84 geodetic", WGS84, "EPSG", wgs84WKT, "longitude and latitude in decimal degrees on the WGS 84 spheroid"},
	} {
		err := tx.run(`INSERT OR IGNORE INTO gpkg_spatial_ref_sys
			(srs_name, srs_id, organization, organization_coordsys_id, definition, description)
			VALUES (?, ?, ?, ?, ?, ?)`, s.name, s.id, s.org, s.id, s.def, s.desc)
		if err != nil {
			return err
		}
	}
	for _, e := range []struct{ table, name string }{
		{"gpkg_metadata", "metadata"},
		{"gpkg_metadata_reference", "metadata"},
		{"gpkg_data_columns", "schema"},
		{"gpkg_data_column_constraints", "schema"},
	} {
		def := specURL + "#extension_" + e.name
		if err := tx.registerExtension(e.table, nil, "gpkg_"+e.name, def, "read-write"); err != nil {
			return err
		}
	}
	tx.coreDone = true
	return nil
}

// registerExtension adds a row to gpkg_extensions unless there is one. The table's
// own UNIQUE can't see to that: in SQLite two NULLs differ.
func (tx *Tx) registerExtension(table string, column any, name, definition, scope string) error {
	return tx.run(`INSERT INTO gpkg_extensions (table_name, column_name, extension_name, definition, scope)
		SELECT ?1, ?2, ?3, ?4, ?5 WHERE NOT EXISTS (SELECT 1 FROM gpkg_extensions
		WHERE table_name = ?1 AND column_name IS ?2 AND extension_name = ?3)`,
		table, column, name, definition, scope)
}

// markAsGeoPackage writes the two numbers by which the format is known. Both stand
// in the file's first page and take part in the transaction.
func (tx *Tx) markAsGeoPackage() error {
	if err := tx.run(fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
		return err
	}
	return tx.run(fmt.Sprintf("PRAGMA user_version = %d", userVersion))
}
