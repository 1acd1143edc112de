package gpkg

// The version of the user's own tables. SQLite's user_version, the usual place, is
// GeoPackage's. A table of one row holds it, registered as an extension: not as
// contents, since a GIS would then show it among the layers.
const (
	versionTable      = "leadline_version"
	versionExtension  = "leadline_version"
	versionDefinition = "Version of the tables that the author's programs keep in this file. " +
		"Table leadline_version, one row: fid is 1, version is a whole number that grows " +
		"when the meaning of a table or column changes. Programs that only show the data may ignore it."
)

// SetVersion stores the version of the user's own tables.
func (tx *Tx) SetVersion(n int) error {
	if err := tx.usable(true); err != nil {
		return err
	}
	has, err := tx.hasVersion()
	if err != nil {
		return err
	}
	if !has {
		err := tx.CreateLayer(Layer{
			Name: versionTable, Extension: versionExtension, Definition: versionDefinition,
			Columns: []Column{{Name: "version", Type: "INTEGER", NotNull: true}},
		})
		if err != nil {
			return err
		}
	}
	return tx.run(`INSERT INTO leadline_version (fid, version) VALUES (1, ?1)
		ON CONFLICT (fid) DO UPDATE SET version = ?1`, n)
}

// Version gives what SetVersion stored, 0 when it never did.
func (tx *Tx) Version() (int, error) {
	has, err := tx.hasVersion()
	if err != nil || !has {
		return 0, err
	}
	var n int
	_, err = tx.one([]any{&n}, `SELECT version FROM leadline_version WHERE fid = 1`)
	return n, err
}

func (tx *Tx) hasVersion() (bool, error) {
	var n int
	_, err := tx.one([]any{&n}, `SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = ?`, versionTable)
	return n > 0, err
}
