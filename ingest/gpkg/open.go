package gpkg

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Options say how a file is opened.
type Options struct {
	// LastChange is the instant written as that of the last change to a table, to
	// the millisecond, in UTC. It is needed to write; this package has no clock.
	LastChange time.Time
	// BusyTimeout is how long to wait for another program that uses the file. 0
	// refuses at once.
	BusyTimeout time.Duration
	// ReadOnly opens an existing file and can't change it.
	ReadOnly bool
}

// A File is an open GeoPackage. Its methods may be called from several goroutines;
// Update and View wait for each other. Close it after use.
type File struct {
	path string
	opt  Options
	db   *sql.DB
	conn *sql.Conn     // the only connection, so that its settings hold
	turn chan struct{} // holds one token: who has it may use conn
}

// Open opens the GeoPackage at path, and makes one when there is no file or an
// empty one, unless opt.ReadOnly. Versions 1.2 to 1.4 are opened; what is made is
// 1.3.
//
// Errors name the file: ErrNotGeoPackage (which also says so of what isn't
// SQLite), ErrInUse when another program locks it for longer than BusyTimeout,
// ErrDamaged, ErrDiskFull, ErrHalfWritten (only with ReadOnly, when a program was
// killed while it wrote), fs.ErrNotExist when the file is missing with ReadOnly or
// its folder is missing. A file that is refused isn't changed.
func Open(path string, opt Options) (*File, error) {
	if !opt.ReadOnly && opt.LastChange.IsZero() {
		return nil, fmt.Errorf("%s: Options.LastChange is needed to write", path)
	}
	missing, err := look(path, opt)
	if err != nil {
		return nil, err
	}
	name, err := dsn(path, opt)
	if err != nil {
		return nil, err
	}
	f := &File{path: path, opt: opt, db: sql.OpenDB(connector{name}), turn: make(chan struct{}, 1)}
	f.turn <- struct{}{}
	f.db.SetMaxOpenConns(1)
	if f.conn, err = f.db.Conn(context.Background()); err == nil {
		err = f.begin()
	}
	if err != nil {
		f.Close()
		if missing {
			removeIfEmpty(path)
		}
		return nil, plain(path, err)
	}
	return f, nil
}

// look tells whether path is missing, and refuses what can't become a GeoPackage.
func look(path string, opt Options) (missing bool, err error) {
	st, err := os.Stat(path)
	switch {
	case err == nil && st.IsDir():
		return false, &fileError{text: path + " is not a GeoPackage: it is a folder", kind: ErrNotGeoPackage}
	case err == nil:
		return false, nil
	case !errors.Is(err, fs.ErrNotExist) || opt.ReadOnly:
		return false, err
	}
	if _, err := os.Stat(filepath.Dir(path)); err != nil {
		return false, fmt.Errorf("%s can't be made: %w", path, err)
	}
	return true, nil
}

// dsn is path as a URI, so that no sign in it is taken for a parameter.
func dsn(path string, opt Options) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	slash := filepath.ToSlash(abs)
	if !strings.HasPrefix(slash, "/") {
		slash = "/" + slash // C:/x
	}
	mode := "rwc"
	if opt.ReadOnly {
		mode = "ro"
	}
	u := url.URL{Path: slash}
	// SQLite's defensive mode stays off: it forbids the shadow tables of an index,
	// which bulk.go writes.
	return "file://" + u.EscapedPath() + "?mode=" + mode +
		fmt.Sprintf("&_busy_timeout=%d&_dqs=0&_error_rc=1", opt.BusyTimeout.Milliseconds()), nil
}

// begin checks what is in the file, and fills an empty one.
func (f *File) begin() error {
	ctx := context.Background()
	// Only settings that leave the file alone come before the check.
	for _, p := range []string{"foreign_keys = ON", "cell_size_check = ON", "temp_store = MEMORY"} {
		if _, err := f.conn.ExecContext(ctx, "PRAGMA "+p); err != nil {
			return err
		}
	}
	pages, err := f.number("PRAGMA page_count")
	if err != nil {
		return err
	}
	if pages > 0 {
		if err := f.check(); err != nil {
			return err
		}
	}
	if f.opt.ReadOnly {
		if pages == 0 {
			return f.notGeoPackage("it is empty")
		}
		return nil
	}
	// fullfsync makes macOS flush the disk's own memory; it does nothing elsewhere.
	for _, p := range []string{"journal_mode = DELETE", "synchronous = EXTRA", "fullfsync = ON", "secure_delete = ON"} {
		if _, err := f.conn.ExecContext(ctx, "PRAGMA "+p); err != nil {
			return err
		}
	}
	if pages > 0 {
		return nil
	}
	return f.Update(ctx, func(tx *Tx) error {
		// Another program may have made the file since.
		if n, err := f.number("SELECT count(*) FROM sqlite_master"); err != nil || n > 0 {
			if err == nil {
				err = f.check()
			}
			return err
		}
		if err := tx.markAsGeoPackage(); err != nil {
			return err
		}
		return tx.ensureCore()
	})
}

// check refuses what is not a GeoPackage this package understands.
func (f *File) check() error {
	id, err := f.number("PRAGMA application_id")
	if err != nil {
		return err
	}
	version, err := f.number("PRAGMA user_version")
	if err != nil {
		return err
	}
	switch {
	case id == 0x47503130 || id == 0x47503131: // "GP10", "GP11"
		return f.notGeoPackage("its version is older than 1.2; a GIS can save it anew")
	case id != applicationID:
		return f.notGeoPackage(fmt.Sprintf("it is a database with application id %#x, not %#x", uint32(id), applicationID))
	case version < oldestVersion || version >= nextMajor:
		return f.notGeoPackage(fmt.Sprintf("its version is %d, known are %d to %d", version, oldestVersion, nextMajor-1))
	}
	for _, t := range []string{"gpkg_spatial_ref_sys", "gpkg_contents"} {
		n, err := f.number("SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = '" + t + "'")
		if err != nil {
			return err
		}
		if n == 0 {
			return f.notGeoPackage("it has no table " + t)
		}
	}
	return nil
}

func (f *File) notGeoPackage(why string) error {
	return &fileError{text: f.path + " is not a GeoPackage: " + why, kind: ErrNotGeoPackage}
}

func (f *File) number(query string) (n int64, err error) {
	err = f.conn.QueryRowContext(context.Background(), query).Scan(&n)
	return n, err
}

// removeIfEmpty takes away the file that opening has made and nothing was put in.
func removeIfEmpty(path string) {
	if st, err := os.Stat(path); err == nil && st.Mode().IsRegular() && st.Size() == 0 {
		os.Remove(path)
	}
}

// Path is the path as it was given to Open.
func (f *File) Path() string { return f.path }

// Close waits for an Update or a View in progress and closes the file. Later calls
// give nil.
func (f *File) Close() error {
	if _, open := <-f.turn; !open {
		return nil
	}
	close(f.turn)
	if f.conn != nil {
		f.conn.Close()
	}
	if err := f.db.Close(); err != nil {
		return plain(f.path, err)
	}
	return nil
}

// stamp is LastChange as the standard writes instants.
func (f *File) stamp() string { return f.opt.LastChange.UTC().Format(instantLayout) }
