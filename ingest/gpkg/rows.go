package gpkg

import "context"

// InsertRows is Insert for n rows in their order, a multiple faster from some hundred rows on. row gives the shape and values
// of each; while one row is put in, another goroutine may ask for a later one. Rows before one that is not taken may have been
// added: the Update must end with the error.
func (tx *Tx) InsertRows(layer string, n int, row func(i int) (geom []byte, values []any)) error {
	i := 0
	single := func(last int) error {
		for ; i < last; i++ {
			geom, values := row(i)
			if _, err := tx.Insert(layer, geom, values...); err != nil {
				return tx.spoil(err)
			}
		}
		return nil
	}
	// While the layer's trigger is at work, rows that go in together could not be told from those it has seen.
	for first := true; i < n && (first || tx.watched(layer)); first = false {
		if err := single(i + 1); err != nil {
			return err
		}
	}
	if n-i < rowsAtOnce {
		return single(n)
	}
	t := tx.layers[layer]
	insert, err := tx.f.conn.PrepareContext(context.Background(), t.insertSQL(rowsAtOnce))
	if err != nil {
		return tx.failed(err)
	}
	defer insert.Close()
	stop := make(chan struct{})
	batches := tx.batches(t, i, n, row, stop)
	defer func() {
		close(stop)
		for range batches { // row is not called any more when this returns
		}
	}()
	for b := range batches {
		if b.panicked != nil {
			panic(b.panicked)
		}
		if b.err != nil {
			return tx.spoil(b.err)
		}
		if err := tx.usable(true); err != nil {
			return err
		}
		res, err := insert.ExecContext(context.Background(), b.args...)
		if err != nil {
			return tx.spoil(tx.failed(err))
		}
		last, err := res.LastInsertId()
		if err != nil {
			return tx.failed(err)
		}
		t.changed = true
		for k, ext := range b.exts {
			t.added = t.added.join(ext)
			if err := tx.noteInserted(t, last-rowsAtOnce+1+int64(k), ext); err != nil {
				return tx.spoil(err)
			}
		}
		i += rowsAtOnce
	}
	return single(n)
}

// A batch is rowsAtOnce rows, ready to be put in.
type batch struct {
	args     []any
	exts     [rowsAtOnce]extent
	err      error
	panicked any // by row
}

// batches readies rows i to n-1, as many as fill batches, in a goroutine of its own: SQLite takes the rows one core long. The last
// is one with an error, if any. Whoever closes stop must still read to the end.
func (tx *Tx) batches(t *table, i, n int, row func(i int) (geom []byte, values []any), stop <-chan struct{}) <-chan *batch {
	out := make(chan *batch, 2)
	ready := func(from int) (b *batch) {
		b = &batch{args: make([]any, 0, rowsAtOnce*(len(t.columns)+1))}
		defer func() { b.panicked = recover() }()
		for k := range b.exts {
			geom, values := row(from + k)
			if b.args, b.exts[k], b.err = tx.appendRow(b.args, t, geom, values); b.err != nil {
				break
			}
		}
		return b
	}
	go func() {
		defer close(out)
		for ; n-i >= rowsAtOnce; i += rowsAtOnce {
			b := ready(i)
			select {
			case out <- b:
			case <-stop:
				return
			}
			if b.err != nil || b.panicked != nil {
				return
			}
		}
	}()
	return out
}
