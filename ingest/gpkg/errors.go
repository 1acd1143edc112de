package gpkg

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Kinds of error, for errors.Is. The message of an error of this package begins
// with the path as it was given to Open.
var (
	ErrInUse         = errors.New("in use by another program")
	ErrDiskFull      = errors.New("disk full")
	ErrNotGeoPackage = errors.New("not a GeoPackage")
	ErrDamaged       = errors.New("damaged")
	ErrReadOnly      = errors.New("open for reading only")
	ErrHalfWritten   = errors.New("left half-written by a program that stopped")
	ErrClosed        = errors.New("closed")
)

// A fileError says in plain words what is wrong with a file.
type fileError struct {
	text  string // whole message, beginning with the path
	kind  error  // one of the kinds above
	cause error  // what SQLite said, may be nil
}

func (e *fileError) Error() string { return e.text }

func (e *fileError) Unwrap() []error {
	if e.cause == nil {
		return []error{e.kind}
	}
	return []error{e.kind, e.cause}
}

// code is SQLite's extended result code, 0 when err is none of SQLite's.
func code(err error) int {
	var se *sqlite.Error
	if errors.As(err, &se) {
		return se.Code()
	}
	return 0
}

// endsTransaction tells whether SQLite may have ended the transaction by itself
// after err: then every later statement would run alone, and all or nothing would
// no longer hold. See SQLite, "Response To Errors Within A Transaction".
func endsTransaction(err error) bool {
	switch code(err) & 0xff {
	case 0: // not SQLite's: a wrong argument, or a statement that was stopped
		return errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) ||
			errors.Is(err, driver.ErrBadConn) || errors.Is(err, sql.ErrConnDone)
	case sqlite3.SQLITE_ERROR, sqlite3.SQLITE_CONSTRAINT, sqlite3.SQLITE_MISMATCH, sqlite3.SQLITE_RANGE:
		return false
	}
	return true
}

// plain puts err in words that name the file.
func plain(path string, err error) error {
	if err == nil {
		return nil
	}
	var fe *fileError
	if errors.As(err, &fe) {
		return err
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("%s: %w", path, err)
	}
	say := func(kind error, format string) error {
		return &fileError{text: fmt.Sprintf(format, path), kind: kind, cause: err}
	}
	c := code(err)
	switch c {
	case sqlite3.SQLITE_READONLY_ROLLBACK, sqlite3.SQLITE_READONLY_RECOVERY:
		return say(ErrHalfWritten, "%s was left half-written by a program that stopped; open it for writing once to put it right")
	}
	switch c & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return say(ErrInUse, "%s is in use by another program")
	case sqlite3.SQLITE_FULL:
		return say(ErrDiskFull, "%s: the disk is full; the file holds what it held before")
	case sqlite3.SQLITE_NOTADB:
		return say(ErrNotGeoPackage, "%s is not a GeoPackage: it is not an SQLite database")
	case sqlite3.SQLITE_CORRUPT:
		return say(ErrDamaged, "%s is damaged")
	case sqlite3.SQLITE_READONLY:
		return say(ErrReadOnly, "%s is write-protected")
	case sqlite3.SQLITE_CANTOPEN:
		return fmt.Errorf("%s can't be opened: %w", path, err)
	}
	return fmt.Errorf("%s: %w", path, err)
}
