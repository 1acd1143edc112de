package gpkg

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/binary"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
)

// Bulk loading of a spatial index.
//
// # Method
//
// The insert trigger puts one box at a time into the R-tree, which costs more than
// the row itself. After bulkAfter rows put into a layer in a row, the trigger is
// dropped and the boxes are kept in memory. When anything but Insert is asked for,
// and at the end of the Update, the trigger is made again and the boxes go in:
//
//   - few of them beside what the index holds: one by one, as the trigger does;
//   - otherwise the tree is built anew from all boxes by sort-tile-recursive packing:
//     boxes are sorted by the middle of their x and cut into slices, each slice is
//     sorted by the middle of its y and cut into nodes, and the nodes' own boxes are
//     packed likewise until one node is left, the root. The nodes are written into the
//     R-tree's shadow tables.
//
// Worked example, nodes of 2, points at (0,0) (9,0) (0,9) (9,9): 2 leaves, so 2
// slices of one leaf: x = 0 and x = 9; the leaves are {(0,0) (0,9)} and {(9,0)
// (9,9)}, the root holds the boxes 0..0, 0..9 and 9..9, 0..9.
//
// All this happens inside the transaction: after a rollback the old index and the
// trigger are back. SQLite's integrity_check checks the tree too.
//
// Cost: n log n for n boxes, 24 bytes of memory each, twice while sorting. Slow for a
// caller who puts one query between every two rows: then the trigger does the work.
//
// Sources: Leutenegger, Lopez and Edgington, "STR: a simple and efficient algorithm for
// R-tree packing" (1997), section 2.2; SQLite documentation, "The SQLite R*Tree
// Module", on shadow tables, and ext/rtree/rtree.c for the bytes of a node.

const (
	// bulkAfter is the number of rows from which dropping and making a trigger costs
	// little beside them; between 100 and 10,000 the choice is hardly felt.
	bulkAfter = 1000
	// rebuildShare: building costs a few microseconds per box of the whole tree,
	// putting in costs several times that per new box. From a quarter on building wins.
	rebuildShare = 4
	// cellBytes is an entry of a node: 8 bytes of key, four 32-bit numbers.
	cellBytes = 24
	// fillShare of a node is used, so that rows added later find room before nodes
	// must be split.
	fillShare = 0.8
)

// A cell is an entry of a node: a row and its box, or a node and its box.
type cell struct {
	id                     int64
	minX, maxX, minY, maxY float32
}

func newCell(id int64, e extent) cell {
	return cell{id, down(e.minX), up(e.maxX), down(e.minY), up(e.maxY)}
}

// down and up round outwards, so that a box never lies inside its shape's.
func down(v float64) float32 {
	f := float32(v)
	if float64(f) > v {
		f = math.Nextafter32(f, float32(math.Inf(-1)))
	}
	return f
}

func up(v float64) float32 { return -down(-v) }

func (c cell) join(o cell) cell {
	return cell{c.id, min(c.minX, o.minX), max(c.maxX, o.maxX), min(c.minY, o.minY), max(c.maxY, o.maxY)}
}

// packNodes cuts cells, which it sorts, into nodes of at most fill, all about as
// full. No cells give no nodes.
func packNodes(cells []cell, fill int) [][]cell {
	n := len(cells)
	nodes := (n + fill - 1) / fill
	slicesN := int(math.Ceil(math.Sqrt(float64(nodes))))
	slices.SortFunc(cells, func(a, b cell) int { return before(a.minX+a.maxX, b.minX+b.maxX, a.id, b.id) })
	cut := func(node int) int { return node * n / nodes }
	var wait sync.WaitGroup
	turn := make(chan struct{}, runtime.GOMAXPROCS(0))
	for s := range slicesN {
		turn <- struct{}{}
		wait.Go(func() {
			slice := cells[cut(s*nodes/slicesN):cut((s+1)*nodes/slicesN)]
			slices.SortFunc(slice, func(a, b cell) int { return before(a.minY+a.maxY, b.minY+b.maxY, a.id, b.id) })
			<-turn
		})
	}
	wait.Wait()
	out := make([][]cell, nodes)
	for k := range out {
		out[k] = cells[cut(k):cut(k+1)]
	}
	return out
}

// before compares middles, and ids where these are equal.
func before(a, b float32, idA, idB int64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return cmp.Compare(idA, idB)
}

// A packedTree is an R-tree as its shadow tables hold it. Node 1 is the root.
type packedTree struct {
	nodes   [][]byte   // node i+1
	parents []int64    // of node i+1; 0 for the root
	leafOf  [][2]int64 // row, node; by row
}

// packTree builds the tree of cells, whose order it changes, with nodes of nodeBytes.
func packTree(cells []cell, nodeBytes int) packedTree {
	most := (nodeBytes - 4) / cellBytes
	fill := max(2, int(float64(most)*fillShare))
	if len(cells) <= most {
		fill = most
	}
	tree := packedTree{nodes: [][]byte{nil}, parents: []int64{0}}
	depth := 0
	for ; len(cells) > most; depth++ {
		level := packNodes(cells, fill)
		above := make([]cell, 0, len(level))
		for _, node := range level {
			no := int64(len(tree.nodes) + 1)
			tree.nodes = append(tree.nodes, nodeData(node, 0, nodeBytes))
			tree.parents = append(tree.parents, 0)
			tree.own(node, no, depth == 0)
			box := node[0]
			for _, c := range node[1:] {
				box = box.join(c)
			}
			box.id = no
			above = append(above, box)
		}
		cells = above
	}
	tree.nodes[0] = nodeData(cells, depth, nodeBytes)
	tree.own(cells, 1, depth == 0)
	tree.leafOf = byRow(tree.leafOf)
	return tree
}

// byRow sorts rows, each of which is there once; those of a layer that only grew have no gaps, and take their places.
func byRow(list [][2]int64) [][2]int64 {
	if len(list) == 0 {
		return list
	}
	low, high := list[0][0], list[0][0]
	for _, r := range list {
		low, high = min(low, r[0]), max(high, r[0])
	}
	if high-low == int64(len(list)-1) {
		out := make([][2]int64, len(list))
		for _, r := range list {
			out[r[0]-low] = r
		}
		if !slices.ContainsFunc(out, func(r [2]int64) bool { return r[1] == 0 }) { // in a damaged index a row may stand twice
			return out
		}
	}
	slices.SortFunc(list, func(a, b [2]int64) int { return cmp.Compare(a[0], b[0]) })
	return list
}

// own notes that node no holds cells.
func (p *packedTree) own(cells []cell, no int64, leaf bool) {
	for _, c := range cells {
		if leaf {
			p.leafOf = append(p.leafOf, [2]int64{c.id, no})
		} else {
			p.parents[c.id-1] = no
		}
	}
}

// nodeData is a node as SQLite stores it: depth of the tree (in the root only),
// number of cells, cells, all big endian, zeros to the end.
func nodeData(cells []cell, depth, nodeBytes int) []byte {
	b := make([]byte, 0, nodeBytes)
	b = binary.BigEndian.AppendUint16(b, uint16(depth))
	b = binary.BigEndian.AppendUint16(b, uint16(len(cells)))
	for _, c := range cells {
		b = binary.BigEndian.AppendUint64(b, uint64(c.id))
		for _, v := range [4]float32{c.minX, c.maxX, c.minY, c.maxY} {
			b = binary.BigEndian.AppendUint32(b, math.Float32bits(v))
		}
	}
	return b[:nodeBytes]
}

// appendCells reads what nodeData writes, as far as the bytes go.
func appendCells(cells []cell, data []byte) []cell {
	if len(data) < 4 {
		return cells
	}
	n := int(binary.BigEndian.Uint16(data[2:]))
	for b := data[4:]; n > 0 && len(b) >= cellBytes; n, b = n-1, b[cellBytes:] {
		at := func(i int) float32 { return math.Float32frombits(binary.BigEndian.Uint32(b[8+4*i:])) }
		cells = append(cells, cell{int64(binary.BigEndian.Uint64(b)), at(0), at(1), at(2), at(3)})
	}
	return cells
}

// noteInserted counts a row that Insert has put in, and begins to collect when it
// is worth it.
func (tx *Tx) noteInserted(t *table, fid int64, e extent) error {
	if t.trigger != "" { // collecting
		if !e.empty() {
			t.pending = append(t.pending, newCell(fid, e))
		}
		return nil
	}
	if t.geom == "" {
		return nil
	}
	if t.inARow++; t.inARow != bulkAfter {
		return nil
	}
	index := "rtree_" + t.name + "_" + t.geom
	var trigger string
	found, err := tx.one([]any{&trigger},
		`SELECT sql FROM sqlite_master WHERE type = 'trigger' AND name = ? COLLATE NOCASE`, index+"_insert")
	if err != nil || !found {
		return err // a layer without index
	}
	if err := tx.run("DROP TRIGGER " + quote(index+"_insert")); err != nil {
		return err
	}
	t.trigger, t.index = trigger, index
	return nil
}

// settle brings every index up to date, so that what the caller does next sees it.
func (tx *Tx) settle() error {
	for _, t := range tx.order {
		t.inARow = 0
		if t.trigger == "" {
			continue
		}
		if err := tx.run(t.trigger); err != nil {
			return tx.spoil(err)
		}
		pending := t.pending
		t.trigger, t.pending = "", nil
		if err := tx.putInIndex(t.index, pending); err != nil {
			return tx.spoil(err)
		}
	}
	return nil
}

func (tx *Tx) putInIndex(index string, pending []cell) error {
	if len(pending) == 0 {
		return nil
	}
	var have, nodeBytes int
	if _, err := tx.one([]any{&have}, "SELECT count(*) FROM "+quote(index+"_rowid")); err != nil {
		return err
	}
	if _, err := tx.one([]any{&nodeBytes}, "SELECT length(data) FROM "+quote(index+"_node")+" WHERE nodeno = 1"); err != nil {
		return err
	}
	few := len(pending) < have/rebuildShare
	if few || nodeBytes < 4+4*cellBytes { // a node of fewer than four is none of SQLite's
		return tx.eachPrepared("INSERT OR REPLACE INTO "+quote(index)+" VALUES (?, ?, ?, ?, ?)", len(pending), func(i int) []any {
			c := pending[i]
			return []any{c.id, float64(c.minX), float64(c.maxX), float64(c.minY), float64(c.maxY)}
		})
	}
	fresh := len(pending)
	var leaf sql.RawBytes
	err := tx.query(func(scan func(...any) error) error {
		if err := scan(&leaf); err != nil {
			return err
		}
		pending = appendCells(pending, leaf)
		return nil
	}, "SELECT data FROM "+quote(index+"_node")+" WHERE nodeno NOT IN (SELECT parentnode FROM "+quote(index+"_parent")+") ORDER BY nodeno")
	if err != nil {
		return err
	}
	if len(pending) < have+fresh {
		return tx.failed(fmt.Errorf("index %s is damaged: it lists %d rows and holds fewer", index, have))
	}
	return tx.writeTree(index, packTree(pending, nodeBytes))
}

// writeTree replaces the shadow tables' rows.
func (tx *Tx) writeTree(index string, tree packedTree) error {
	for _, s := range []string{"_node", "_rowid", "_parent"} {
		if err := tx.run("DELETE FROM " + quote(index+s)); err != nil {
			return err
		}
	}
	err := tx.eachPrepared("INSERT INTO "+quote(index+"_node")+" (nodeno, data) VALUES (?, ?)", len(tree.nodes), func(i int) []any {
		return []any{int64(i + 1), tree.nodes[i]}
	})
	if err != nil {
		return err
	}
	err = tx.eachPrepared("INSERT INTO "+quote(index+"_parent")+" (nodeno, parentnode) VALUES (?, ?)", len(tree.nodes)-1, func(i int) []any {
		return []any{int64(i + 2), tree.parents[i+1]}
	})
	if err != nil {
		return err
	}
	return tx.writeRows(quote(index+"_rowid"), tree.leafOf)
}

// rowsAtOnce pairs are written by one statement, which saves most of the cost of
// each. The number hardly matters above 50.
const rowsAtOnce = 100

func (tx *Tx) writeRows(table string, rows [][2]int64) error {
	insert := "INSERT INTO " + table + " (rowid, nodeno) VALUES (?, ?)"
	whole := len(rows) / rowsAtOnce
	err := tx.eachPrepared(insert+strings.Repeat(", (?, ?)", rowsAtOnce-1), whole, func(i int) []any {
		args := make([]any, 0, 2*rowsAtOnce)
		for _, r := range rows[i*rowsAtOnce : (i+1)*rowsAtOnce] {
			args = append(args, r[0], r[1])
		}
		return args
	})
	if err != nil {
		return err
	}
	rest := rows[whole*rowsAtOnce:]
	return tx.eachPrepared(insert, len(rest), func(i int) []any { return []any{rest[i][0], rest[i][1]} })
}

// eachPrepared runs one statement n times.
func (tx *Tx) eachPrepared(query string, n int, args func(i int) []any) error {
	if n <= 0 {
		return nil
	}
	if err := tx.usable(true); err != nil {
		return err
	}
	stmt, err := tx.f.conn.PrepareContext(context.Background(), query)
	if err != nil {
		return tx.failed(err)
	}
	defer func(s *sql.Stmt) { s.Close() }(stmt)
	for i := range n {
		if err := tx.usable(true); err != nil {
			return err
		}
		if _, err := stmt.ExecContext(context.Background(), args(i)...); err != nil {
			return tx.failed(err)
		}
	}
	return nil
}
