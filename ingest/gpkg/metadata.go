package gpkg

// metadataURI names the authority that says what the text means, as the standard
// asks. It is a name, nothing is behind it.
const metadataURI = "urn:leadline:metadata"

// Metadata adds a text about the whole file, such as where its data came from, with
// its MIME type. Texts are kept beside each other in the order they were added; the
// same text with the same type is not added twice.
func (tx *Tx) Metadata(text, mime string) error {
	if err := tx.ensureCore(); err != nil {
		return err
	}
	n, err := tx.exec(`INSERT INTO gpkg_metadata (md_scope, md_standard_uri, mime_type, metadata)
		SELECT 'dataset', ?1, ?2, ?3 WHERE NOT EXISTS (SELECT 1 FROM gpkg_metadata
		WHERE md_standard_uri = ?1 AND mime_type = ?2 AND metadata = ?3)`, metadataURI, mime, text)
	if err != nil || n == 0 {
		return err
	}
	return tx.run(`INSERT INTO gpkg_metadata_reference (reference_scope, timestamp, md_file_id)
		VALUES ('geopackage', ?, last_insert_rowid())`, tx.f.stamp())
}

// A Text is one that Metadata added.
type Text struct{ Text, MIME string }

// MetadataTexts gives what Metadata added, in that order; nil when it never did.
// Texts of other programs are left out.
func (tx *Tx) MetadataTexts() (texts []Text, err error) {
	var has int
	if _, err := tx.one([]any{&has}, `SELECT count(*) FROM sqlite_master WHERE name = 'gpkg_metadata'`); err != nil || has == 0 {
		return nil, err
	}
	err = tx.query(func(scan func(...any) error) error {
		var t Text
		if err := scan(&t.Text, &t.MIME); err != nil {
			return err
		}
		texts = append(texts, t)
		return nil
	}, `SELECT metadata, mime_type FROM gpkg_metadata WHERE md_standard_uri = ? ORDER BY id`, metadataURI)
	return texts, err
}
