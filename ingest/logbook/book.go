package logbook

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"time"

	"leadline/ingest/gpkg"
)

// The kinds of error, besides those of package gpkg.
var (
	ErrNone    = errors.New("no logbook")
	ErrOther   = errors.New("a GeoPackage, but no logbook of leadline")
	ErrChanged = errors.New("changed meanwhile by another program")
)

// A Book is an open logbook. Close it after use. Its methods may be called from several goroutines.
type Book struct{ file *gpkg.File }

// Options say how a logbook is opened.
type Options struct {
	// Make makes a logbook where there is none.
	Make bool
	// Wait is how long to wait for another program that writes to it.
	Wait time.Duration
}

// Open opens the logbook at path. An older one is upgraded, after a copy of it was put beside it under its name with
// .v1 and so on at the end; upgraded is then that copy's path.
//
// Errors: ErrNone where there is none and opt.Make is false, ErrNewer, ErrOther, and those of gpkg.Open.
func Open(ctx context.Context, path string, opt Options) (b *Book, copied string, err error) {
	_, err = os.Stat(path)
	missing := errors.Is(err, fs.ErrNotExist)
	switch {
	case missing && !opt.Make:
		return nil, "", fmt.Errorf("%s: %w", path, ErrNone)
	case missing:
		if err := makeNew(ctx, path); err != nil {
			return nil, "", err
		}
	}
	open := func() error {
		f, err := gpkg.Open(path, gpkg.Options{LastChange: time.Unix(0, 0), BusyTimeout: opt.Wait})
		if err == nil {
			b = &Book{f}
		}
		return err
	}
	if err := open(); err != nil {
		return nil, "", err
	}
	defer func() {
		if err != nil && b != nil {
			b.Close()
			b = nil
		}
	}()
	version, err := check(ctx, b.file)
	switch {
	case err != nil:
		return b, "", err
	case version == Version():
		return b, "", nil
	case version == 0:
		// New, or made by another program: only a file without any table of its own becomes a logbook.
		return b, "", b.update(ctx, func(tx *gpkg.Tx) error {
			if v, err := tx.Version(); err != nil || v == Version() {
				return err // another import was quicker
			}
			var n int
			if _, err := tx.QueryOne([]any{&n}, `SELECT (SELECT count(*) FROM gpkg_contents) + (SELECT count(*) FROM sqlite_master
				WHERE type IN ('table', 'view') AND name NOT LIKE 'gpkg!_%' ESCAPE '!' AND name NOT LIKE 'sqlite!_%' ESCAPE '!' AND name NOT LIKE 'rtree!_%' ESCAPE '!')`); err != nil {
				return err
			}
			if n > 0 || !opt.Make {
				return fmt.Errorf("%s: %w, wanted one that leadline import made", path, ErrOther)
			}
			return begin(tx)
		})
	}
	// The copy is made while no handle of the file is open: closing one would take the locks of the others.
	b.Close()
	b = nil
	copied = fmt.Sprintf("%s.v%d", path, version)
	if err := copyFile(path, copied); err != nil {
		return nil, "", err
	}
	if err := open(); err != nil {
		return nil, copied, err
	}
	return b, copied, b.update(ctx, func(tx *gpkg.Tx) error {
		v, err := tx.Version()
		if err != nil || v != version {
			return err
		}
		for ; v < Version(); v++ {
			if err := upgrades[v-1](tx); err != nil {
				return err
			}
		}
		return tx.SetVersion(Version())
	})
}

// makeNew makes an empty logbook: under another name beside it, so that nobody ever finds half of one. Where another
// program was quicker, its own is left. Killed in these few milliseconds it leaves FILE.new-NUMBER, which may be deleted.
func makeNew(ctx context.Context, path string) (err error) {
	name := fmt.Sprintf("%s.new-%d", path, os.Getpid())
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) { // of a process of that number that was killed
		return err
	}
	defer os.Remove(name)
	f, err := gpkg.Open(name, gpkg.Options{LastChange: time.Unix(0, 0)})
	if err == nil {
		err = f.Update(ctx, begin)
		if e := f.Close(); err == nil {
			err = e
		}
	}
	if err != nil {
		return pathError{err, name, path}
	}
	// A link is refused where there is a file by now; some file systems have none.
	if err = os.Link(name, path); err == nil || errors.Is(err, fs.ErrExist) {
		return nil
	}
	if _, err := os.Lstat(path); err == nil {
		return nil
	}
	return os.Rename(name, path)
}

// A pathError is an error about a file that a person knows by another name.
type pathError struct {
	error
	from, to string
}

func (e pathError) Error() string { return strings.ReplaceAll(e.error.Error(), e.from, e.to) }
func (e pathError) Unwrap() error { return e.error }

// copyFile copies a logbook that no program writes to. An existing copy is replaced only once the new one is whole.
func copyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	part := to + ".part"
	out, err := os.Create(part)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			os.Remove(part)
		}
	}()
	if _, err = io.Copy(out, in); err == nil {
		err = out.Sync()
	}
	if e := out.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(part, to)
}

// Steadily calls fn, which reads in several steps, and calls it again when another program changed the logbook meanwhile, so that what
// it read is of one state; ErrChanged when that goes on for five times. Errors of fn are returned as they are.
func (b *Book) Steadily(ctx context.Context, fn func() error) error {
	for range 5 {
		before, err := b.Settings(ctx)
		if err != nil {
			return err
		}
		if err := fn(); err != nil {
			return err
		}
		after, err := b.Settings(ctx)
		if err != nil || after.Changes == before.Changes {
			return err
		}
	}
	return fmt.Errorf("%s: %w", b.Path(), ErrChanged)
}

// Path is the path as it was given to Open.
func (b *Book) Path() string { return b.file.Path() }

// Close closes the file.
func (b *Book) Close() error { return b.file.Close() }

func (b *Book) view(ctx context.Context, fn func(*gpkg.Tx) error) error { return b.file.View(ctx, fn) }

func (b *Book) update(ctx context.Context, fn func(*gpkg.Tx) error) error {
	return b.file.Update(ctx, fn)
}

// Settings are what holds for the whole logbook.
type Settings struct {
	Zone     *time.Location // that local days are told by
	ZoneSaid bool           // by a person; else it is UTC
	Changes  int64          // so far
}

// Settings returns what holds for the whole logbook. Errors are those of gpkg, and a zone this machine doesn't know.
func (b *Book) Settings(ctx context.Context) (s Settings, err error) {
	err = b.view(ctx, func(tx *gpkg.Tx) error {
		s, err = settings(tx)
		return err
	})
	return s, err
}

func settings(tx *gpkg.Tx) (s Settings, err error) {
	err = tx.Query(func(scan func(...any) error) error {
		var name, value string
		if err := scan(&name, &value); err != nil {
			return err
		}
		switch name {
		case "zone":
			s.Zone, err = time.LoadLocation(value)
		case "zone_said":
			s.ZoneSaid = value == "1"
		case "changes":
			_, err = fmt.Sscan(value, &s.Changes)
		}
		return err
	}, "SELECT name, value FROM leadline_settings")
	if err == nil && s.Zone == nil {
		err = fmt.Errorf("logbook without a zone: %w", gpkg.ErrDamaged)
	}
	return s, err
}

// count makes a change known to whoever prepares another. It is ErrChanged when one was made since expect.
func count(tx *gpkg.Tx, expect int64) error {
	s, err := settings(tx)
	if err != nil {
		return err
	}
	if s.Changes != expect {
		return ErrChanged
	}
	_, err = tx.Exec("UPDATE leadline_settings SET value = ? WHERE name = 'changes'", fmt.Sprint(s.Changes+1))
	return err
}
