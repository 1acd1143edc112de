package gpkg

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"
)

// A Tx is one transaction. It is good until the function it was given to returns,
// and for one goroutine.
type Tx struct {
	f        *File
	ctx      context.Context
	write    bool
	done     bool
	coreDone bool
	broken   error             // SQLite may have ended the transaction: nothing more may run
	layers   map[string]*table // by lower-case name
	order    []*table          // as they were first used, so that the end is the same each time
}

// SetLastChange sets Options.LastChange from this transaction on, for a user who knows it only then.
func (tx *Tx) SetLastChange(t time.Time) { tx.f.opt.LastChange = t }

// Update calls fn in one transaction that may write: either all it did is in the
// file when Update returns nil, or the file holds what it held before. That is so
// too when fn returns an error (which Update returns as it is), panics, when ctx
// ends, the disk is full, the program is killed or the power goes.
//
// ErrInUse when another program writes for longer than BusyTimeout, or reads for
// as long at the moment of the commit; ErrReadOnly, ErrDiskFull, ErrDamaged; ctx's
// error, wrapped. fn must not call Update or View of the same File, which would
// wait for itself, and must not begin or end transactions by Exec.
func (f *File) Update(ctx context.Context, fn func(*Tx) error) error {
	if f.opt.ReadOnly {
		return &fileError{text: f.path + " is open for reading only", kind: ErrReadOnly}
	}
	return f.transact(ctx, true, fn)
}

// View calls fn in one transaction that only reads: fn sees one state of the file,
// whatever others write. Other programs can't commit while it runs, so it should
// be short. Errors as for Update.
func (f *File) View(ctx context.Context, fn func(*Tx) error) error {
	return f.transact(ctx, false, fn)
}

func (f *File) transact(ctx context.Context, write bool, fn func(*Tx) error) (err error) {
	if err := ctx.Err(); err != nil {
		return plain(f.path, err)
	}
	select {
	case _, open := <-f.turn:
		if !open {
			return &fileError{text: f.path + " is closed", kind: ErrClosed}
		}
		defer func() { f.turn <- struct{}{} }()
	case <-ctx.Done():
		return plain(f.path, ctx.Err())
	}
	begin := "BEGIN"
	if write {
		begin = "BEGIN IMMEDIATE"
	}
	if _, err := f.conn.ExecContext(ctx, begin); err != nil {
		return plain(f.path, err)
	}
	tx := &Tx{f: f, ctx: ctx, write: write, layers: map[string]*table{}}
	committed := false
	defer func() {
		tx.done = true
		for _, t := range tx.order {
			if t.insert != nil {
				t.insert.Close()
			}
		}
		if !committed {
			// An error here means that SQLite has rolled back by itself, or that it
			// will when the file is next opened. It runs after a panic of fn too.
			f.conn.ExecContext(context.Background(), "ROLLBACK")
		}
	}()
	if err := fn(tx); err != nil {
		return err
	}
	if !write {
		return nil
	}
	if err := tx.finish(); err != nil {
		return err
	}
	// From here on ctx is not watched: a commit is done or not done.
	if _, err := f.conn.ExecContext(context.Background(), "COMMIT"); err != nil {
		return plain(f.path, err)
	}
	committed = true
	return nil
}

// finish brings gpkg_contents up to date.
func (tx *Tx) finish() error {
	if tx.broken != nil {
		return tx.broken
	}
	if err := tx.settle(); err != nil {
		return err
	}
	for _, t := range tx.order {
		if err := tx.finishTable(t); err != nil {
			return err
		}
	}
	return plain(tx.f.path, tx.ctx.Err())
}

// usable tells why the transaction can't be used, nil when it can.
func (tx *Tx) usable(write bool) error {
	switch {
	case tx.done:
		return fmt.Errorf("%s: transaction used after its end", tx.f.path)
	case tx.broken != nil:
		return tx.broken
	case write && !tx.write:
		return &fileError{text: tx.f.path + " can't be changed in a View", kind: ErrReadOnly}
	}
	return plain(tx.f.path, tx.ctx.Err())
}

// failed puts an error in words, and remembers one after which nothing may run.
func (tx *Tx) failed(err error) error {
	if err == nil {
		return nil
	}
	out := plain(tx.f.path, err)
	if endsTransaction(err) && tx.broken == nil {
		tx.broken = out
	}
	return out
}

// spoil makes err the end of the transaction: something was begun and not finished,
// and a caller who takes no notice of the error must not commit it.
func (tx *Tx) spoil(err error) error {
	if err != nil && tx.broken == nil {
		tx.broken = err
	}
	return err
}

// run executes one statement of our own.
func (tx *Tx) run(query string, args ...any) error {
	_, err := tx.exec(query, args...)
	return err
}

func (tx *Tx) exec(query string, args ...any) (int64, error) {
	if err := tx.usable(true); err != nil {
		return 0, err
	}
	res, err := tx.f.conn.ExecContext(tx.ctx, query, args...)
	if err != nil {
		return 0, tx.failed(err)
	}
	n, err := res.RowsAffected()
	return n, tx.failed(err)
}

// Exec runs an SQL statement for which this package has no method, and gives the
// number of rows changed. Every layer whose name occurs in the text gets its extent
// measured anew at the end of the Update, which reads the layer once.
func (tx *Tx) Exec(query string, args ...any) (int64, error) {
	if err := tx.settle(); err != nil {
		return 0, err
	}
	n, err := tx.exec(query, args...)
	if err != nil {
		return n, err
	}
	names, err := tx.layerNames()
	if err != nil {
		return n, err
	}
	low := strings.ToLower(query)
	for _, name := range names {
		if strings.Contains(low, strings.ToLower(name)) {
			t, err := tx.table(name)
			if err != nil {
				return n, err
			}
			t.changed, t.remeasure = true, true
		}
	}
	return n, nil
}

// layerNames are the tables of gpkg_contents in the order of their names.
func (tx *Tx) layerNames() (names []string, err error) {
	err = tx.query(func(scan func(...any) error) error {
		var s string
		if err := scan(&s); err != nil {
			return err
		}
		names = append(names, s)
		return nil
	}, `SELECT c.table_name FROM gpkg_contents c JOIN sqlite_master m ON m.name = c.table_name COLLATE NOCASE
		WHERE m.type = 'table' ORDER BY c.table_name`)
	return names, err
}

// Query calls each for every row of an SQL query; scan puts the row's values into
// the variables given by pointer, as database/sql does. Columns declared DATETIME
// come as time.Time in UTC. An error of each ends the query and is returned as it
// is.
func (tx *Tx) Query(each func(scan func(dest ...any) error) error, query string, args ...any) error {
	if err := tx.settle(); err != nil {
		return err
	}
	return tx.query(each, query, args...)
}

func (tx *Tx) query(each func(scan func(dest ...any) error) error, query string, args ...any) error {
	if err := tx.usable(false); err != nil {
		return err
	}
	rows, err := tx.f.conn.QueryContext(tx.ctx, query, args...)
	if err != nil {
		return tx.failed(err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := each(rows.Scan); err != nil {
			return err
		}
	}
	return tx.failed(rows.Err())
}

// QueryOne puts the first row of an SQL query into dest and tells whether there
// was one.
func (tx *Tx) QueryOne(dest []any, query string, args ...any) (found bool, err error) {
	if err := tx.settle(); err != nil {
		return false, err
	}
	return tx.one(dest, query, args...)
}

func (tx *Tx) one(dest []any, query string, args ...any) (found bool, err error) {
	if err := tx.usable(false); err != nil {
		return false, err
	}
	err = tx.f.conn.QueryRowContext(tx.ctx, query, args...).Scan(dest...)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, tx.failed(err)
}

// DeleteWhere deletes the rows of a layer or table for which the SQL condition
// holds, and gives their number. An empty condition is an error; "true" deletes
// all.
func (tx *Tx) DeleteWhere(layer, where string, args ...any) (int64, error) {
	t, err := tx.table(layer)
	if err != nil {
		return 0, err
	}
	if strings.TrimSpace(where) == "" {
		return 0, fmt.Errorf("%s: DeleteWhere on %s without a condition", tx.f.path, layer)
	}
	if err := tx.settle(); err != nil {
		return 0, err
	}
	n, err := tx.exec("DELETE FROM "+quote(t.name)+" WHERE "+where, args...)
	if err != nil {
		return 0, err
	}
	if n > 0 {
		t.changed, t.remeasure = true, true
	}
	return n, nil
}
